"""A gauge as its sheet has it: its movement's numbers and its scale."""

from __future__ import annotations

from dataclasses import dataclass


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
        A key of `gaugesim.movement.MOVEMENTS`.
    instance : str
        Its instance in the netlist; the elements in it are the gauge off the panel.
    accuracy : float
        95 of 100 movements stand within this of where they should [position].
    bench_volts : float
        Supply for it alone on a bench [V].
    coils : tuple of Coil
        Of a movement whose needle follows a field.
    degrees_low, degrees_high : float
        Needle directions at positions 0 and 1, likewise.
    friction : float
        Field below which the needle is not driven [ampere-turns].
    rest : (float, float)
        Rest field [ampere-turns]; (0, 0) for none.
    element : str
        The winding of any other movement.
    low, high : float
        What drives it there at positions 0 and 1: power [W] or current [A].
    lag_seconds : float
        Time to 63.2 % of a step: of a damped needle, or of a strip once its winding is warm [s].
    winding_seconds : float
        The same of a winding that heats; 0 where it counts for nothing [s].
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
    lag_seconds: float
    source: str
    coils: tuple[Coil, ...] = ()
    degrees_low: float = 0.0
    degrees_high: float = 0.0
    friction: float = 0.0
    rest: tuple[float, float] = (0.0, 0.0)
    element: str = ""
    low: float = 0.0
    high: float = 0.0
    winding_seconds: float = 0.0
