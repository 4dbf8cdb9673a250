"""Laws of the parts of a gauge circuit: pure functions over numbers and numpy arrays, with units and sources.

Every function takes numbers or arrays, which broadcast against each other, and gives numbers or arrays
of floats.

Modules
-------
constants
    Constants with unit, tolerance, source and standing.
conductor, contact
    Copper wires and windings; terminals and joints.
supply, regulator
    Battery and alternator; the thermal interrupter that feeds bimetal gauges.
thermistor, tank, float_sender, pressure_sender
    Senders, and the shape of the tank.
air_core, bimetal, bimetal_strip
    Movements: from currents and watts to the needle; how far a heated strip bends.
lamp, meter
    What a person measures with.
water, engine
    Boiling point, for the hot-water test of a sender; coolant that warms up until its thermostat opens.
"""
