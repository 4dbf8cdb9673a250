"""Parts and how they fail: modes, severities, what kinds of parts have in common."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from gaugesim import vocabulary
from gaugesim.expression import Expression
from gaugesim.table import within_limits

MODES = (
    "open",
    "high",
    "intermittent",
    "to_ground",
    "to_feed",
    "to_battery",
    "second_gauge",
    "leak",
    "short",
    "drift_up",
    "drift_down",
    "wrong_range",
    "dead_spot",
    "stuck",
    "weak",
    "bypassed",
    "stuck_open",
    "stuck_closed",
    "no_ground",
    "crossed",
    "low_volts",
    "high_volts",
    "reversed",
    "real_high",
    "real_low",
    "real_none",
    "misjudged",
    "uncovered",
)
# what a trouble may have come after
AFTER, FOUND = vocabulary.AFTER.classes, vocabulary.FOUND.classes
QUANTITIES = ("ohms", "factor", "x")


@dataclass(frozen=True)
class Severity:
    """How bad a fault can be.

    Attributes
    ----------
    quantity : str
        ``ohms`` (added, or of a path), ``factor`` (times the sound value), ``x`` (what the mode's own
        expressions call it), or ``""`` for a fault that has no degrees.
    typical : float
        Taken where none is given; 0 ohms is a dead short.
    at_ends : (float, float)
        Shares of the prior at the low and at the high end; the rest lies evenly between.
    """

    quantity: str = ""
    low: float = 0.0
    high: float = 0.0
    typical: float = 0.0
    logarithmic: bool = True
    at_ends: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Mode:
    """One way in which a part fails.

    Attributes
    ----------
    id : str
        One of `MODES`, or a name of its own where `set` says all that it does.
    words : str
        As a person would say it after the part's name: "makes no contact".
    weight : float
        Share among the part's modes; any unit, they are normalised.
    source : str
        Where weight and severity come from, or "assumed".
    set : mapping
        Parameters that it changes, as expressions of ``x`` and of the other parameters.
    found : tuple of str
        What one sees when the part is uncovered, the likeliest first.
    signs_of_heat : float or None
        Chance that steam, smell or a hand near the hose tell of an overheated engine [1]; None for what it
        is with any fault that has nothing to do with it.
    coolant_low : float or None
        Chance that the coolant is seen to be low [1]; None likewise.
    after : mapping
        How many times likelier it is told to have come after something [1].
    at_times : float
        Share of such faults that come and go: there at one time, and not at another [1].
    """

    id: str
    words: str
    weight: float
    severity: Severity
    source: str
    set: Mapping[str, Expression] = field(default_factory=dict)
    found: tuple[str, ...] = ("sound",)
    signs_of_heat: float | None = within_limits(0, 1, default=None)
    coolant_low: float | None = within_limits(0, 1, default=None)
    after: Mapping[str, float] = field(default_factory=dict)
    at_times: float = within_limits(0, 1, default=0.0)


# kinds of parts inside a gauge, which is sealed and exchanged whole
GAUGE_KINDS = ("coil", "heater", "movement", "series_resistor")
# over what parts of one kind share its weight: those of one gauge, or those at one place
TOGETHER = ("gauge", "place")


@dataclass(frozen=True)
class PartKind:
    """What parts of one kind have in common: modes, tolerance, repair; see `Part` for the attributes.

    ``weight`` is that of one part, or, with ``together``, of all parts of the kind that belong to one gauge
    or stand at one place: a gauge with four studs is not four times as bad as one with one.
    """

    id: str
    words: str
    unit: str
    source: str
    weight: float
    repair: str
    repair_minutes: float
    modes: Mapping[str, Mode]
    tolerance: float = within_limits(0, 20)
    price: float = 0.0
    cautions: tuple[str, ...] = ()
    together: str = ""


@dataclass(frozen=True)
class Part:
    """A part that can fail.

    Attributes
    ----------
    id : str
        The same in every circuit, with the gauge's name in front where there are several.
    words : str
        What a mechanic calls it.
    gauge : str
        The gauge whose branch it belongs to, ``""`` if shared.
    element : str
        Its element in the netlist, ``""`` if it has no resistance of its own.
    parameter : str
        The ``.param`` that holds its sound value, ``""`` likewise.
    unit, tolerance, source : str, float, str
        Of the sound value: 95 of 100 lie within a factor of 1 + tolerance.
    weight : float
        How often parts of this kind fail, relative to the others [1].
    repair, repair_minutes, price : str, float, float
        What mends it, how long that takes once it can be reached, what it costs.
    cautions, bridging : tuple of str
        Of mending it, and of a wire across it, beside those of its place.
    chafes : str
        The node that touches the frame, or a feed, when its insulation fails; ``""`` if none can.
    crosses : tuple of str
        What mode ``crossed`` exchanges: the leads of two gauges, or those on two studs of one gauge, by the
        parts that join them; empty if it has no such mode.
    engine_runs, cranks : float
        Chance that the engine runs, and cranks well, although the part has failed [1].
    missed : float
        Chance that an owner tells of other things that have failed with it [1].
    pieces : tuple of str
        What of it people replace by itself, as the thermostat of what holds the coolant's temperature; a
        case may name it instead.
    """

    id: str
    words: str
    kind: str
    element: str
    parameter: str
    place: str
    unit: str
    source: str
    weight: float
    repair: str
    repair_minutes: float
    price: float
    cautions: tuple[str, ...]
    modes: Mapping[str, Mode]
    tolerance: float = within_limits(0, 20)
    gauge: str = ""
    bridging: tuple[str, ...] = ()
    chafes: str = ""
    crosses: tuple[str, ...] = ()
    engine_runs: float = within_limits(0, 1, default=1.0)
    cranks: float = within_limits(0, 1, default=1.0)
    missed: float = within_limits(0, 1, default=0.0)
    pieces: tuple[str, ...] = ()
