"""How the needles answer: movements, their scales, the regulator that feeds them."""

from __future__ import annotations

from dataclasses import dataclass

MOVEMENTS = ("air_core", "bimetal", "moving_coil")
GAUGES = ("temperature", "fuel", "oil_pressure", "voltmeter", "temperature_second")
CONVENTIONS = ("rms", "mean")
# how many coils a movement of each kind has; a sheet may have one of its own as well
COILS = {
    "two-coil": 2,
    "two-coil series": 2,
    "three-coil": 3,
    "four-coil": 4,
    "opposed-coil": 3,
    "bridge": 2,
    "bimetal": 0,
    "moving-coil": 0,
}


@dataclass(frozen=True)
class Coil:
    """A coil of an air-core movement.

    Attributes
    ----------
    element : str
        In the netlist; its current, first node to second, counts as positive.
    turns : float
        Ampere-turn constant [1].
    degrees : float
        Direction of its axis, anticlockwise from the dial's right-hand side.
    """

    element: str
    turns: float
    degrees: float


@dataclass(frozen=True)
class Mark:
    """A mark of the scale: where the needle should stand at a true value.

    Attributes
    ----------
    at : float
        True value, in the unit of what the gauge reads.
    position : float
        0 at the low mark, 1 at the top mark.
    """

    at: float
    position: float
    label: str


@dataclass(frozen=True)
class Gauge:
    """A gauge: its movement and its scale.

    Attributes
    ----------
    called : str
        What it is called before "gauge", "needle" and "sender".
    movement : str
        ``air_core``, ``bimetal`` or ``moving_coil``.
    topology : str
        The movement's kind in words.
    instance : str
        Its instance in the netlist; the elements in it are the gauge off the panel.
    reads : str
        The process value that it shows.
    stops : (float, float)
        Positions at which the needle rests on a stop.
    accuracy : float
        95 of 100 movements stand within this of where they should [position].
    bench_volts : float
        Supply for it alone on a bench [V].
    coils : tuple of Coil
        Of an air-core movement.
    degrees_low, degrees_high : float
        Needle directions at positions 0 and 1, air-core.
    friction : float
        Field below which the needle is not driven [ampere-turns].
    rest : (float, float)
        Rest field [ampere-turns]; (0, 0) for none.
    element : str
        Heater of a bimetal movement or coil of a moving-coil one.
    low, high : float
        Heater power [W] or coil current [A] at positions 0 and 1.
    lag_seconds : float
        Time to 63.2 % of a step: of a damped needle, or of a strip once its winding is warm [s].
    winding_seconds : float
        The same of the heater winding of a bimetal movement; 0 where it counts for nothing [s].
    """

    id: str
    words: str
    called: str
    movement: str
    topology: str
    instance: str
    reads: str
    marks: tuple[Mark, ...]
    stops: tuple[float, float]
    accuracy: float
    bench_volts: float
    coils: tuple[Coil, ...]
    degrees_low: float
    degrees_high: float
    friction: float
    rest: tuple[float, float]
    element: str
    low: float
    high: float
    lag_seconds: float
    winding_seconds: float
    source: str


@dataclass(frozen=True)
class Regulator:
    """An instrument voltage regulator that pulses the supply by its own heater.

    Attributes
    ----------
    contact, heater : str
        Elements in the netlist.
    design_volts : str
        The parameter that holds what its heater keeps [V].
    convention : str
        ``rms`` or ``mean``: which figure of the pulses is held.
    momentary : tuple of str
        Cautions of what gives a gauge behind it more than the top of its scale.
    """

    contact: str
    heater: str
    design_volts: str
    convention: str
    source: str
    momentary: tuple[str, ...] = ()
