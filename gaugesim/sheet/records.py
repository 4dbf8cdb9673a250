"""What a sheet holds beside its parts: states, places, points, checks, cautions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from gaugesim.movement import Gauge
from gaugesim.sheet.gauges import Regulator
from gaugesim.sheet.parts import Part
from gaugesim.table import LARGEST_NUMBER, within_limits

EARTHS = ("negative", "positive")
CONSUMERS = ("panel_lamps", "same_fuse", "same_ground")
# what a thing that is warned of can do, the worst first
CAN = ("fire", "burn", "injury", "damage", "mislead")
# how far an engine is from cold and still
ENGINE = ("cold", "warm", "running")
CRAFTS = ("boat", "land")


@dataclass(frozen=True)
class Quantity:
    """A value that is not a part's own: a process value or another ``.param``.

    Attributes
    ----------
    tolerance : float
        95 of 100 lie within a factor of 1 + tolerance [1].
    plus_minus : float
        95 of 100 lie within this of the nominal, in its unit.
    process : bool
        Whether it is what goes on outside the circuit (a temperature, a level), not a property of it.
    """

    id: str
    words: str
    unit: str
    source: str
    process: bool
    tolerance: float = within_limits(0, 20, default=0.0)
    plus_minus: float = 0.0
    low: float = within_limits(-LARGEST_NUMBER, default=-float("inf"))
    high: float = within_limits(-LARGEST_NUMBER, default=float("inf"))


@dataclass(frozen=True)
class Caution:
    """What can go wrong at some work, and how it is kept from going wrong.

    Attributes
    ----------
    short : str
        A name for it, once it has been told in full.
    can : str
        The worst that it can do, one of `CAN`.
    engine : str
        One of `ENGINE`: it holds where the engine is at least so; ``"cold"`` for always.
    """

    id: str
    words: str
    short: str
    can: str
    engine: str = ENGINE[0]


@dataclass(frozen=True)
class Scope:
    """What has to be known before the first check, or what it is not for.

    Attributes
    ----------
    short : str
        The same in a few words.
    asks : str
        The question that tells, ``""`` if nothing has to be asked.
    craft : str
        One of `CRAFTS` if it concerns only that, else ``""``.
    """

    id: str
    words: str
    short: str
    asks: str = ""
    craft: str = ""


@dataclass(frozen=True)
class State:
    """An operating condition: parameter values, in words.

    Attributes
    ----------
    plus_minus : mapping
        How well an owner's "engine warm" pins a process value down, where it differs from the usual.
    engine : str
        One of `ENGINE`; ``""`` where the sheet does not say, and it may be running.
    certain : tuple of str
        Process values that the state itself makes sure of, so that no complaint in it can be the truth about
        them: a tank just filled is full.
    """

    id: str
    words: str
    set: Mapping[str, float]
    plus_minus: Mapping[str, float]
    minutes: float
    cautions: tuple[str, ...] = ()
    engine: str = ""
    certain: tuple[str, ...] = ()

    @property
    def running(self) -> bool:
        """Whether the engine is known to run."""
        return self.engine == ENGINE[-1]


@dataclass(frozen=True)
class Place:
    """Where parts are, and what it takes to get there once.

    Attributes
    ----------
    vapour : bool
        Whether a spark there can set vapour alight: every joint is made and broken with the key off, and
        nothing is done with the engine running.
    battery_off : bool
        Whether the battery comes off before it is opened.
    """

    id: str
    words: str
    setup_minutes: float
    source: str
    cautions: tuple[str, ...] = ()
    vapour: bool = False
    battery_off: bool = False


@dataclass(frozen=True)
class Point:
    """A place for a probe: a node in words."""

    id: str
    words: str
    node: str
    place: str
    gauge: str = ""


@dataclass(frozen=True)
class CommonCauseGroup:
    """Parts that fail together from one cause.

    Attributes
    ----------
    factor : float
        How many times likelier a second fault in the group is than elsewhere [1].
    """

    id: str
    words: str
    parts: tuple[str, ...]
    source: str
    factor: float = within_limits(1)


@dataclass(frozen=True)
class Consumer:
    """Something else on the same wires, whose looks are evidence.

    Attributes
    ----------
    states : tuple of str
        States in which it is on; empty for all.
    """

    id: str
    words: str
    node_a: str
    node_b: str
    rated_volts: float = within_limits(0.1)
    states: tuple[str, ...] = ()


@dataclass(frozen=True)
class CheckRule:
    """What a kind of check costs and warns of.

    Attributes
    ----------
    kind, words, source : str
        In ``words``, ``{target}``, ``{gauge}``, ``{sender}``, ``{ground}``, ``{volts}``, ``{fuse}``,
        ``{watts}`` and ``{limit}`` are filled in.
    short : str
        Names it in a sentence about what it showed: "with the lead off the sender".
    careful : str
        The same where a spark can set vapour alight; ``""`` if it makes and breaks no joint.
    stopped : bool
        Whether the engine must not run meanwhile.
    key_off : str
        The same with the key off; ``""`` if it tells nothing then.
    targets : tuple of str
        Where it is worth doing; empty for wherever it can be done.
    """

    kind: str
    words: str
    minutes: float
    source: str
    cautions: tuple[str, ...] = ()
    targets: tuple[str, ...] = ()
    short: str = ""
    careful: str = ""
    stopped: bool = False
    key_off: str = ""


@dataclass(frozen=True)
class Sheet:
    """A whole sheet; the attributes are the tables of the file, by id.

    ``rate_per_hour`` is what an hour of work costs, in the currency of the prices of parts; None if the sheet
    does not say, and prices then do not count. ``craft`` is what it is fitted in, one of `CRAFTS`, ``""`` if
    the sheet does not say. ``volts`` is what the system is called (6, 12, 24), ``earth`` which pole of the
    battery is on the body; ``share`` how common the circuit is among candidates, in any unit; ``includes``
    are the files that it includes, relative to its folder. ``make_spread`` is by how much coils and senders
    of another make differ from the sheet's, as the standard deviation of a logarithm: 0 for one's own
    circuit, whose values are known.
    """

    path: Path
    id: str
    words: str
    movement: str
    default_state: str
    gauges: Mapping[str, Gauge]
    parts: Mapping[str, Part]
    quantities: Mapping[str, Quantity]
    states: Mapping[str, State]
    places: Mapping[str, Place]
    points: Mapping[str, Point]
    groups: Mapping[str, CommonCauseGroup]
    consumers: Mapping[str, Consumer]
    checks: Mapping[str, CheckRule]
    cautions: Mapping[str, Caution]
    regulator: Regulator | None
    rate_per_hour: float | None = None
    craft: str = ""
    volts: float = 12.0
    earth: str = "negative"
    share: float = 1.0
    includes: tuple[str, ...] = ()
    scope: Mapping[str, Scope] = field(default_factory=dict)
    make_spread: float = 0.0

    @property
    def own_scope(self) -> tuple[Scope, ...]:
        """What of the scope concerns this craft; all of it where the sheet does not say which it is."""
        entries = self.scope.values()
        return tuple(entry for entry in entries if not self.craft or entry.craft in ("", self.craft))

    @property
    def live_pole(self) -> str:
        """The pole of the battery that feeds the circuit, as its point is called."""
        return "battery_negative" if self.earth == "positive" else "battery_positive"

    @property
    def earthed_pole(self) -> str:
        """The pole of the battery that is on the body, node 0, as its point is called."""
        return "battery_positive" if self.earth == "positive" else "battery_negative"
