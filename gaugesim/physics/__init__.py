"""Laws of the parts of a gauge circuit: pure functions over numbers and numpy arrays, with units and sources.

Every function takes numbers or arrays, which broadcast against each other, and gives numbers or arrays
of floats.

Modules
-------
constants
    Constants with unit, tolerance, source and standing.
regulator
    The thermal interrupter that feeds bimetal gauges.
thermistor
    The law of a temperature sender, to which the netlists' own is held by a test.
air_core, bimetal
    Movements: from currents and watts to the needle.
lamp, meter
    What a person measures with.
engine
    Coolant that warms up until its thermostat opens.
"""
