"""A case: a complaint, and what has been seen, measured, looked at and replaced, as a person writes it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from gaugesim import vocabulary
from gaugesim.compose import Vehicle, load_kinds, read_vehicle
from gaugesim.errors import CaseError
from gaugesim.reading.words import SAME_WORDS
from gaugesim.scenario.tools import TOOLS
from gaugesim.sheet import AFTER, CONSUMERS, FOUND, GAUGES
from gaugesim.table import Table, load
from gaugesim.vocabulary import UNDRIVEN
from gaugesim.vocabulary.quantity import DialFigure, typed_figure, typed_quantity

ALL_NEEDLE_WORDS = (*vocabulary.NEEDLE.written, *SAME_WORDS, *vocabulary.JUDGED.written)
MOVES = vocabulary.MOVES.written
ENGINE = (*vocabulary.HEAT.written, *vocabulary.COOLANT.written, *vocabulary.CRANKING.written)
METER_KINDS, LAMP_KINDS = ("digital", "analogue"), ("filament", "led")
HOW = ("looked", "tugged", "measured")
MENDS = ("new", "used", "cleaned")
WHOLES = ("gauge", "panel")
MOST_ENTRIES = 200  # a minute of work

# a word, a number, or the two ends of a range
Value = str | float | tuple[float, float]
NeedleValue = Value | DialFigure


@dataclass(frozen=True)
class Entry:
    """What all entries of a case share.

    Attributes
    ----------
    stage : int
        Counts up when something has been changed on the vehicle.
    """

    where: str
    stage: int


@dataclass(frozen=True)
class Seen(Entry):
    """What the owner or the dial tells; attributes are the keys of ``[[seen]]``, None where not given."""

    state: str | None = None
    given: tuple[tuple[str, float], ...] = ()
    gauge: str | None = None
    needle: NeedleValue | None = None
    moves: str | None = None
    often: str | None = None
    between: tuple[str, str] | None = None
    by: float | None = None
    consumer: str | None = None
    looks: str | None = None
    engine: str | None = None
    after: str | None = None
    others: str | None = None
    truth: str | None = None


@dataclass(frozen=True)
class Tools:
    """What checks were made with, as far as it is told: kinds of meter and test lamp, empty where unknown."""

    meter: str = ""
    lamp: str = ""


@dataclass(frozen=True)
class Measured(Entry):
    """What a check gave; attributes are the keys of ``[[measured]]``, None where not given."""

    check: str = ""
    state: str | None = None
    given: tuple[tuple[str, float], ...] = ()
    gauge: str | None = None
    volts: Value | None = None
    ohms: Value | None = None
    amperes: Value | None = None
    lamp: str | None = None
    needle: NeedleValue | None = None
    moves: str | None = None
    tools: Tools = Tools()


@dataclass(frozen=True)
class Inspected(Entry):
    """What a part was found to be when it was uncovered, and how that is known, empty if that is not told."""

    part: str = ""
    found: str = ""
    how: str = ""


@dataclass(frozen=True)
class Replaced(Entry):
    """What a replacement did, and how it was done: by a new part, if that is not told."""

    part: str = ""
    result: str = ""
    how: str = "new"


@dataclass(frozen=True)
class Case:
    """A whole case file.

    Attributes
    ----------
    circuits : tuple of str
        Ids and patterns of the circuits that may be behind the dial.
    entries : tuple of Entry
        In the order of the file: seen, measured, inspected, replaced.
    vehicle : Vehicle or None
        What is said of the gauges where no circuit is named, or beside one.
    at_hand : tuple of str or None
        Some of `TOOLS`; None if that is not said, and all of it may be.
    driven_by : str
        What moves the needle: ``sender``, or what is not worked out here; empty if that is not said.
    """

    path: Path
    circuits: tuple[str, ...]
    gauge: str | None
    entries: tuple[Entry, ...]
    vehicle: Vehicle | None = None
    at_hand: tuple[str, ...] | None = None
    driven_by: str = ""


def read(path: Path | str) -> Case:
    """Read a case file.

    Raises
    ------
    CaseError
        By file and key: what is wrong and what would be right.
    """
    path = Path(path)
    return parse(load(path, CaseError), path)


def parse(data: dict[str, Any], path: Path | str = "case.toml") -> Case:
    """Read a case from the tables of a TOML file.

    Examples
    --------
    >>> parse({"circuit": "temp_*", "seen": [{"state": "key_on_cold", "needle": "half"}]}).entries[0].needle
    'half'
    """
    path = Path(path)
    top = Table(data, path.name, CaseError)
    gauge = top.choice("gauge", GAUGES, None)
    tools = Tools(top.choice("meter", METER_KINDS, ""), top.choice("lamp", LAMP_KINDS, ""))
    vehicle = read_vehicle(top.table("vehicle"), gauge) if top.has("vehicle") else None
    circuits = top.texts("circuit", ()) if vehicle else top.texts("circuit")
    if not circuits and not vehicle:
        raise top.fail("circuit", "is an empty list", "name a circuit, a pattern such as temp_*, or several")
    top.table("conversation", {})  # what has been said to the conversation and is no entry yet
    case = Case(
        path,
        circuits,
        gauge,
        _entries(top, tools),
        vehicle,
        top.texts("at_hand", choices=TOOLS) if top.has("at_hand") else None,
        top.choice("driven_by", load_kinds().driven_by, ""),
    )
    top.end()
    if len(case.entries) > MOST_ENTRIES:
        raise top.fail(
            "", f"has {len(case.entries)} entries", f"{MOST_ENTRIES} at most: leave out what says nothing new"
        )
    return placed(case)


def with_one_more(case: Case, table: str, fields: Mapping[str, Any]) -> Case:
    """A case with one entry more.

    Parameters
    ----------
    table : str
        ``seen``, ``measured``, ``inspected`` or ``replaced``.
    fields : mapping
        As in a case file.
    """
    top = Table({table: [dict(fields)]}, case.path.name, CaseError)
    entries = _entries(top, Tools("", ""))
    top.end()
    return placed(replace(case, entries=(*case.entries, *entries)))


def _entries(top: Table, tools: Tools) -> tuple[Entry, ...]:
    return (
        *(_seen(entry) for entry in top.list_of_tables("seen")),
        *(_measured(entry, tools) for entry in top.list_of_tables("measured")),
        *(_inspected(entry) for entry in top.list_of_tables("inspected")),
        *(_replaced(entry) for entry in top.list_of_tables("replaced")),
    )


def known_place(case: Case, gauge: str, complained: str) -> str:
    """Where a needle stands, if all that was seen of it says the same word. Empty if that is not known.

    Parameters
    ----------
    gauge, complained : str
        The gauge meant, and the one complained of.
    """
    words = {
        entry.needle
        for entry in case.entries
        if isinstance(entry, Seen) and entry.needle and (entry.gauge or complained) == gauge
    } - {UNDRIVEN}
    word = words.pop() if len(words) == 1 else ""
    return word if isinstance(word, str) and word in vocabulary.NEEDLE.classes else ""


def placed(case: Case) -> Case:
    """A case in which a needle that is where it was before is there, or, where that is not known, stays."""

    def meant(entry: Entry) -> Entry:
        if not isinstance(entry, Seen | Measured) or entry.needle != UNDRIVEN:
            return entry
        named = entry.check.split(":") if isinstance(entry, Measured) else []
        gauge = entry.gauge or next((name for name in named if name in GAUGES), case.gauge or "")
        stands = known_place(case, gauge, case.gauge or "")
        return replace(entry, needle=stands) if stands else replace(entry, needle=None, moves="never")

    return replace(case, entries=tuple(map(meant, case.entries)))


def _stage(entry: Table) -> int:
    stage = entry.number("stage", 1.0, low=1)
    if stage != int(stage):
        raise entry.fail("stage", f"is {stage:g}", "give a whole number, 1 for before anything was changed")
    return int(stage)


def _given(entry: Table) -> tuple[tuple[str, float], ...]:
    return tuple(entry.numbers("set").items())


def _value(entry: Table, key: str, words: Iterable[str], low: float, high: float, unit: str) -> Any:
    """A word, a number or a range, or what people write for a number."""
    spoken = tuple(words)
    wanted = f"a number of {unit}, a range [low, high], or one of {', '.join(spoken)}"

    def convert(value: Any) -> NeedleValue:
        if isinstance(value, str):
            word = value if value in spoken else vocabulary.meant(key, value, spoken)
            if word in spoken:
                return SAME_WORDS.get(word, word)
            typed = _typed(entry, key, value)
            if typed is None:
                raise entry.unknown(key, "word", value, spoken)
            return typed
        if isinstance(value, list):
            first, last = value
            return _number(first), _number(last)
        return _number(value)

    def _number(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
            raise ValueError
        if not low <= value <= high:
            raise entry.fail(key, f"is {value:g} {unit}", f"give a number from {low:g} to {high:g}")
        return float(value)

    value = entry.any(key, convert, wanted, None)
    if isinstance(value, tuple) and value[0] > value[1]:
        raise entry.fail(key, f"is [{value[0]:g}, {value[1]:g}]", "give the lower end first")
    return value


def _typed(entry: Table, key: str, written: str) -> float | tuple[float, float] | DialFigure | None:
    """A number with its unit, or a needle's place by the figures of its own dial; None if it is a word."""
    kind, such_as = ("position", "0.4, 3/4, 85 C") if key == "needle" else (key, "12.4 V, 68 ohm")
    try:
        return (typed_figure(written) if key == "needle" else None) or typed_quantity(written, kind)
    except ValueError as problem:
        raise entry.fail(
            key, f"is '{written}'", f"give a word, or a number with its unit, such as {such_as}"
        ) from problem


def _word(entry: Table, key: str, words: Iterable[str], default: Any = None) -> str:
    """One of some words, or what else people write for it."""
    possible = tuple(words)
    value = entry.text(key, default)
    word = value if value is default or value in possible else vocabulary.meant(key, value, possible)
    if word is not default and word not in possible:
        raise entry.unknown(key, "choice", value, possible)
    return word


def _needle(entry: Table) -> tuple[NeedleValue | None, str | None]:
    """Where the needle is, and how it moves; one that nothing drives does not move."""
    needle = _value(entry, "needle", (*ALL_NEEDLE_WORDS, UNDRIVEN), -0.5, 1.5, "the scale's length")
    moves = _word(entry, "moves", MOVES)
    if needle == UNDRIVEN and moves not in (None, "never"):
        raise entry.fail("moves", f"is {moves}, of a needle that is undriven", "leave one of the two out")
    return needle, moves


def _seen(entry: Table) -> Seen:
    between = entry.texts("between", ())
    if between and len(between) != 2:
        raise entry.fail(
            "between", f"has {len(between)} states", "give two, the first before, the second after"
        )
    if between and not entry.has("needle"):
        raise entry.fail("needle", "is missing", f"say what it does: {', '.join(vocabulary.CHANGE.written)}")
    needle, moves = (
        (_word(entry, "needle", vocabulary.CHANGE.written), _word(entry, "moves", MOVES))
        if between
        else _needle(entry)
    )
    seen = Seen(
        entry.where,
        _stage(entry),
        state=entry.text("state", None),
        given=_given(entry),
        gauge=entry.choice("gauge", GAUGES, None),
        needle=needle,
        moves=moves,
        often=_word(entry, "often", vocabulary.OFTEN.written),
        between=(between[0], between[1]) if between else None,
        by=entry.number("by", None, low=-1.5, high=1.5) if between else None,
        consumer=entry.choice("consumer", CONSUMERS, None),
        looks=_word(entry, "looks", vocabulary.LOOKS.written),
        engine=_word(entry, "engine", ENGINE),
        after=entry.choice("after", AFTER, None),
        others=_word(entry, "others", vocabulary.OTHERS.written),
        truth=_word(entry, "truth", vocabulary.TRUTH.written),
    )
    entry.end()
    if (seen.consumer is None) != (seen.looks is None):
        raise entry.fail("looks", "and consumer belong together", "give both")
    told = (seen.moves, seen.looks, seen.engine, seen.after, seen.others, seen.truth)
    if seen.needle is None and not any(told):
        raise entry.fail(
            "needle", "is missing", "an entry says what needle, consumer or engine did, or after what"
        )
    return seen


def _measured(entry: Table, tools: Tools) -> Measured:
    needle, moves = _needle(entry)
    measured = Measured(
        entry.where,
        _stage(entry),
        check=entry.text("check"),
        state=entry.text("state", None),
        given=_given(entry),
        gauge=entry.choice("gauge", GAUGES, None),
        volts=_value(entry, "volts", vocabulary.VOLTS.written, -60, 60, "volts"),
        ohms=_value(entry, "ohms", vocabulary.OHMS.written, 0, float("inf"), "ohms"),
        amperes=_value(
            entry, "amperes", vocabulary.written_words("amperes") or ("none",), -1000, 1000, "amperes"
        ),
        lamp=_word(entry, "lamp", vocabulary.LAMP.written),
        needle=needle,
        moves=moves,
        tools=tools,
    )
    entry.end()
    given = (measured.volts, measured.ohms, measured.amperes, measured.lamp, measured.needle, measured.moves)
    if all(value is None for value in given):
        raise entry.fail(
            "volts", "is missing", "say what was read: volts, ohms, amperes, lamp, needle or moves"
        )
    return measured


def _inspected(entry: Table) -> Inspected:
    part, condition, how = entry.text("part"), entry.choice("found", FOUND), entry.choice("how", HOW, "")
    inspected = Inspected(entry.where, _stage(entry), part, condition, how)
    entry.end()
    return inspected


def _replaced(entry: Table) -> Replaced:
    part, result = entry.text("part"), entry.choice("result", vocabulary.RESULT.written)
    replaced = Replaced(entry.where, _stage(entry), part, result, entry.choice("how", MENDS, "new"))
    entry.end()
    return replaced
