"""Read a sheet and what it includes; each mistake is reported by its key."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from gaugesim.errors import SheetError
from gaugesim.sheet import _entries
from gaugesim.sheet.parts import Part, PartKind
from gaugesim.sheet.records import (
    CRAFTS,
    EARTHS,
    ENGINE,
    Caution,
    CheckRule,
    CommonCauseGroup,
    Place,
    Scope,
    Sheet,
    State,
)
from gaugesim.table import Table, load

# What a sheet, or a file that it includes, may hold beside the keys of the sheet as a whole.
TABLES = (
    "cautions",
    "checks",
    "consumers",
    "gauges",
    "groups",
    "kinds",
    "parts",
    "places",
    "points",
    "process",
    "regulator",
    "scope",
    "states",
    "values",
)


def read(path: Path) -> Sheet:
    """Read a sheet and the files that it includes.

    An entry of the sheet replaces an included one of the same name.

    Raises
    ------
    SheetError
        By file and key: what is wrong and what would be right.
    """
    return of_data(load(path, SheetError), path)


def of_data(data: dict[str, Any], path: Path) -> Sheet:
    """Read a sheet from the tables of a TOML file.

    Parameters
    ----------
    path : Path
        Where it stands, or would: the files that it includes lie there or below.

    Raises
    ------
    SheetError
        By file and key: what is wrong and what would be right.
    """
    top = Table(data, path.name, SheetError)
    names = top.texts("include", ())
    included = [_included(path, name, top) for name in names]
    tables = [*included, top]
    for table in included:
        table.allow(TABLES)
    top.allow(
        {
            *(*TABLES, "words", "movement", "include", "default_state"),
            *("rate_per_hour", "craft", "volts", "earth", "make_spread"),
        }
    )
    cautions: dict[str, Caution] = {}
    for table in tables:
        inner = table.table("cautions", {})
        cautions |= {name: _entries.read_caution(name, inner) for name in inner.data}
    kinds = _merged(tables, "kinds", lambda name, table: _entries.read_part_kind(name, table, cautions))
    beware = {"cautions": cautions}
    places = _merged(tables, "places", lambda name, table: table.record(Place, beware, id=name))
    checks = _merged(tables, "checks", lambda name, table: table.record(CheckRule, beware, kind=name))
    process = _merged(tables, "process", lambda name, table: _entries.read_quantity(name, table, True))
    values = _merged(tables, "values", lambda name, table: _entries.read_quantity(name, table, False))
    for name in process.keys() & values.keys():
        raise top.fail(f"values.{name}", "stands in [process] too", "keep one of them")
    quantities = process | values
    limited = {**beware, "engine": ENGINE}
    states = _merged(tables, "states", lambda name, table: table.record(State, limited, id=name))
    gauges = _merged(tables, "gauges", lambda name, table: _entries.read_gauge(name, table, quantities))
    parts = _merged(
        tables, "parts", lambda name, table: _entries.read_part(name, table, kinds, places, gauges, cautions)
    )
    parts = _shared_weights(parts, kinds)
    for part in parts.values():
        for name in part.crosses:
            if name not in {*gauges, *parts}:
                possible = [*gauges, *(other.id for other in parts.values() if other.kind == "stud_nut")]
                raise top.unknown(f"parts.{part.id}.crosses", "gauge or stud", name, possible)
    points = _merged(tables, "points", lambda name, table: _entries.read_point(name, table, places, gauges))
    group = {"parts": parts}
    groups = _merged(tables, "groups", lambda name, table: table.record(CommonCauseGroup, group, id=name))
    consumers = _merged(tables, "consumers", lambda name, table: _entries.read_consumer(name, table, states))
    regulators = [
        _entries.read_regulator(table.table("regulator"), cautions)
        for table in tables
        if table.has("regulator")
    ]
    sheet = Sheet(
        path=path,
        id=path.stem,
        words=top.text("words"),
        movement=top.text("movement"),
        default_state=top.choice("default_state", states),
        gauges=gauges,
        parts=parts,
        quantities=quantities,
        states=states,
        places=places,
        points=points,
        groups=groups,
        consumers=consumers,
        checks=checks,
        cautions=cautions,
        regulator=regulators[-1] if regulators else None,
        rate_per_hour=top.number("rate_per_hour", None, low=0.01),
        craft=top.choice("craft", CRAFTS, ""),
        scope=_merged(tables, "scope", _scope),
        volts=top.number("volts", 12.0, low=1, high=60),
        earth=top.choice("earth", EARTHS, "negative"),
        includes=names,
        make_spread=top.number("make_spread", 0.0, low=0, high=2),
    )
    for key, what in {"gauges": gauges, "parts": parts, "points": points}.items():
        if not what:
            raise top.fail(key, "is empty", "a circuit has at least one of them")
    return sheet


def _scope(name: str, table: Table) -> Scope:
    return table.record(Scope, {"craft": CRAFTS}, {"short": table.text("words")}, id=name)


_Entry = TypeVar("_Entry")


def _merged(tables: list[Table], key: str, make: Callable[[str, Table], _Entry]) -> dict[str, _Entry]:
    """Entries of one table over several files; an entry of a later file replaces the earlier one's."""
    return {name: make(name, entry) for table in tables for name, entry in table.tables(key)}


def _shared_weights(parts: Mapping[str, Part], kinds: Mapping[str, PartKind]) -> dict[str, Part]:
    """Parts of which those that share their kind's weight have each an equal piece of it."""

    def shares(part: Part) -> tuple[str, str]:
        kind = kinds[part.kind]
        if not kind.together or part.weight != kind.weight:
            return part.id, ""
        return part.kind, part.gauge if kind.together == "gauge" else part.place

    number = Counter(shares(part) for part in parts.values())
    return {name: replace(part, weight=part.weight / number[shares(part)]) for name, part in parts.items()}


def _included(path: Path, name: str, top: Table) -> Table:
    root = path.parent.resolve()
    target = (root / name).resolve()
    if root not in target.parents:
        raise top.fail(
            "include", f"{name!r} is outside {root.name}/", "a file in the sheet's own folder or below"
        )
    if not target.is_file():
        raise top.fail("include", f"{name!r} is not there", f"a file below {root.name}/")
    return Table(load(target, SheetError, _parsed), name, SheetError)


# many sheets include the same files
_parsed = lru_cache(maxsize=16)(tomllib.loads)
