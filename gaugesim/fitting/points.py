"""Measured points of a gauge, as a person writes them down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gaugesim.errors import CaseError
from gaugesim.sheet import roles
from gaugesim.table import Table, load

PEGGED = ("pegged_low", "pegged_high")
# what a gauge reads, and the key under which a sender's true value is written
READS = {
    "temperature": "celsius",
    "fuel": "level",
    "oil_pressure": "bar",
    "voltmeter": "",
}
# an ohmmeter shows no more than this: the figure written for an open circuit
OPEN_OHMS = 1e6


@dataclass(frozen=True)
class NeedlePoint:
    """Where the needle stands with a resistor in place of the sender.

    Attributes
    ----------
    ohms : float
        From the sender's lead to ground [ohm]; ``inf`` for the lead off.
    position : float
        0 at the low mark, 1 at the top mark; NaN if only the volts were read.
    pegged : int
        -1 or 1 where the needle lies past the low or the top mark, so that only "at least" is known; else 0.
    volts : float
        From the lead to battery negative meanwhile; NaN if not read [V].
    supply_volts : float
        Of the battery meanwhile [V].
    """

    ohms: float
    position: float
    pegged: int
    volts: float
    supply_volts: float


@dataclass(frozen=True)
class CoilPoint:
    """Ohms between two studs of the gauge off the panel, or of one of its parts.

    Attributes
    ----------
    between : tuple of str
        Two of the studs, or empty.
    part : str
        A part of the movement, or ``""``.
    ohms : float
        ``inf`` for an open circuit [ohm].
    """

    between: tuple[str, ...]
    part: str
    ohms: float


@dataclass(frozen=True)
class SenderPoint:
    """Ohms of the sender at a true value.

    Attributes
    ----------
    at : float
        In the unit of what the gauge reads.
    ohms : float
        [ohm].
    """

    at: float
    ohms: float


@dataclass(frozen=True)
class Errors:
    """How far off what was read may be: 95 of 100 readings lie within.

    Attributes
    ----------
    needle : float
        [position].
    ohms : float
        Relative [1].
    volts : float
        Relative [1].
    at : float
        Of the true value at the sender, in its unit.
    """

    needle: float
    ohms: float
    volts: float
    at: float


@dataclass(frozen=True)
class Points:
    """A whole file of measured points.

    Attributes
    ----------
    gauge : str
        What it shows, one of `READS`.
    studs, coils : int or None
        How many it has, if they were counted.
    sweep_degrees : float or None
        Angle between the low and the top mark, if it was measured.
    ambient_celsius : float
        Air around the gauge while its ohms were measured.
    regulator_volts : float or None
        What an instrument voltage regulator in front of it holds.
    marks : mapping
        From true value to label, for the scale of the circuit that is written.
    """

    path: Path
    gauge: str
    words: str
    studs: int | None
    coils: int | None
    sweep_degrees: float | None
    ambient_celsius: float
    regulator_volts: float | None
    errors: Errors
    needle: tuple[NeedlePoint, ...]
    coil: tuple[CoilPoint, ...]
    sender: tuple[SenderPoint, ...]
    marks: Mapping[float, str]


def read_points(path: Path | str) -> Points:
    """Read a file of measured points.

    Parameters
    ----------
    path : path
        A ``.toml`` file, see the package's text.

    Raises
    ------
    CaseError
        By file and key: what is wrong and what would be right.
    """
    path = Path(path)
    return parse_points(load(path, CaseError), path)


def parse_points(data: dict[str, Any], path: Path | str = "points.toml") -> Points:
    """Read measured points from the tables of a TOML file.

    Raises
    ------
    CaseError
        By file and key: what is wrong and what would be right.

    Examples
    --------
    >>> parse_points({"gauge": "fuel", "needle": [{"ohms": 90, "position": 1}]}).needle[0].ohms
    90.0
    """
    path = Path(path)
    top = Table(data, path.name, CaseError)
    gauge = top.choice("gauge", READS)
    supply = top.number("supply_volts", 12.5, low=1, high=60)
    at_plus_minus = {"temperature": 1.0, "fuel": 0.03, "oil_pressure": 0.2}.get(gauge, 0.0)
    points = Points(
        path=path,
        gauge=gauge,
        words=top.text("words", ""),
        studs=_count(top, "studs", 2, 4),
        coils=_count(top, "coils", 1, 4),
        sweep_degrees=top.number("sweep_degrees", None, low=10, high=330),
        ambient_celsius=top.number("ambient_celsius", 20.0, low=-40, high=85),
        regulator_volts=top.number("regulator_volts", None, low=1, high=60),
        errors=Errors(
            needle=top.number("needle_plus_minus", 0.03, low=1e-4, high=0.5),
            ohms=top.number("ohms_tolerance", 0.02, low=1e-4, high=0.5),
            volts=top.number("volts_tolerance", 0.02, low=1e-4, high=0.5),
            at=top.number("sender_plus_minus", at_plus_minus, low=0),
        ),
        needle=tuple(_needle(entry, gauge, supply) for entry in top.list_of_tables("needle")),
        coil=tuple(_coil(entry) for entry in top.list_of_tables("coil")),
        sender=tuple(_sender(entry, gauge) for entry in top.list_of_tables("sender")),
        marks=dict(_mark(entry) for entry in top.list_of_tables("marks")),
    )
    top.end()
    if not (points.needle or points.coil or points.sender):
        raise top.fail("needle", "is missing", "give points: [[needle]], [[coil]] or [[sender]]")
    if points.marks and len(points.marks) < 3:
        raise top.fail("marks", f"has {len(points.marks)} entries", "three or more: low, middle and top")
    return points


def _count(top: Table, key: str, low: int, high: int) -> int | None:
    value = top.number(key, float("nan"), low=low, high=high)
    if value != value:
        return None
    if value != int(value):
        raise top.fail(key, f"is {value:g}", f"give a whole number from {low} to {high}")
    return int(value)


def _needle(entry: Table, gauge: str, supply: float) -> NeedlePoint:
    if gauge == "voltmeter":
        ohms, supply = float("inf"), entry.number("supply_volts", low=0, high=60)
    else:
        ohms, supply = (
            entry.number("ohms", low=0, high=float("inf")),
            entry.number("supply_volts", supply, low=1, high=60),
        )
    volts = entry.number("volts", float("nan"), low=0, high=60)

    def convert(value: Any) -> tuple[float, int]:
        if isinstance(value, str):
            if value not in PEGGED:
                raise ValueError
            return (0.0, -1) if value == PEGGED[0] else (1.0, 1)
        if isinstance(value, bool) or not -0.5 <= value <= 1.5:
            raise ValueError
        # past a mark the needle may rest on its stop, and then the movement would go further
        return float(value), int(value > 1.02) - int(value < -0.02)

    wanted = "a number from -0.5 to 1.5 (0 low mark, 1 top mark), pegged_low or pegged_high"
    if entry.has("position") or volts != volts:
        position, pegged = entry.any("position", convert, wanted)
    else:
        position, pegged = float("nan"), 0
    entry.end()
    return NeedlePoint(ohms, position, pegged, volts, supply)


def _coil(entry: Table) -> CoilPoint:
    between = entry.texts("between", (), roles().stud_ids)
    part = entry.text("part", "")
    if bool(between) == bool(part):
        raise entry.fail(
            "between", "or part is needed", 'write between = ["stud_feed", "stud_sender"], or a part'
        )
    if between and len({*between}) != 2:
        raise entry.fail("between", f"is {list(between)}", "name two different studs")
    point = CoilPoint(between, part, entry.number("ohms", low=1e-3, high=float("inf")))
    entry.end()
    return point


def _sender(entry: Table, gauge: str) -> SenderPoint:
    key = READS[gauge]
    if not key:
        raise entry.fail("ohms", "is given", "a voltmeter has no sender")
    low, high = {"celsius": (-60, 300), "level": (0, 1), "bar": (0, 1000)}[key]
    point = SenderPoint(entry.number(key, low=low, high=high), entry.number("ohms", low=0, high=OPEN_OHMS))
    entry.end()
    return point


def _mark(entry: Table) -> tuple[float, str]:
    mark = entry.number("at"), entry.text("label", "")
    entry.end()
    return mark
