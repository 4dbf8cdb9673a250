"""Every key of every shipped sheet: without it, misspelt or of a wrong type, the sheet says what is wrong.

Only the keys in `OPTIONAL` may be left out. A table whose names are free (parts, states, ...) may lose or
rename an entry that nothing else speaks of; whatever else happens is a SheetError on one line that names it.
"""

import functools
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from gaugesim import netlist
from gaugesim.circuit import Circuit
from gaugesim.circuit.agreement import agree
from gaugesim.errors import SheetError
from gaugesim.sheet import reader
from gaugesim.table import load

NETLISTS = Path(__file__).resolve().parent.parent.parent / "netlists"
SHEETS = sorted(path for path in NETLISTS.glob("*.toml") if path.with_suffix(".cir").is_file())
TOP = set(reader.TABLES) - {"regulator"}
INNER = {"modes", "set", "plus_minus"}
OPTIONAL = set(
    """
    kinds.*.price kinds.*.modes kinds.*.modes.* kinds.*.modes.*.set kinds.*.modes.*.found
    kinds.*.modes.*.spacing kinds.*.modes.*.at_low kinds.*.modes.*.at_high kinds.*.together
    kinds.*.modes.*.after kinds.*.modes.*.after.gauge_work kinds.*.modes.*.after.sender_work
    kinds.*.modes.*.after.electrical_work kinds.*.modes.*.after.engine_work
    parts.*.modes.*.after parts.*.modes.*.after.engine_work
    kinds.*.modes.*.after.lay_up kinds.*.modes.*.after.nothing
    kinds.*.modes.*.at_times parts.*.modes.*.at_times
    kinds.*.modes.*.signs_of_heat parts.*.modes.*.signs_of_heat states.*.certain
    kinds.*.modes.*.coolant_low parts.*.modes.*.coolant_low
    parts.*.engine_runs parts.*.cranks parts.*.missed parts.*.pieces make_spread
    cautions.*.short cautions.*.engine kinds.*.cautions states.*.engine places.*.vapour places.*.battery_off
    scope.*.short scope.*.asks scope.*.craft
    parts.*.cautions parts.*.bridging checks.*.careful checks.*.short checks.*.stopped
    checks.*.key_off regulator.momentary
    places.*.cautions checks.*.cautions checks.*.targets states.*.set states.*.plus_minus states.*.cautions
    process.*.low process.*.high values.*.low values.*.high
    gauges.*.called gauges.*.rest gauges.*.winding_seconds gauges.*.marks.label
    parts.*.gauge parts.*.element parts.*.parameter parts.*.tolerance parts.*.source parts.*.weight
    parts.*.repair
    parts.*.repair_minutes parts.*.price parts.*.chafes parts.*.without parts.*.modes parts.*.modes.*
    parts.*.modes.*.set
    parts.*.modes.*.found parts.*.modes.*.spacing
    points.*.node points.*.gauge consumers.*.states
    """.split()
)
Key = tuple[str | int, ...]
# keys of one shape that are tried
MANY = 4


@functools.cache
def parsed(path: Path) -> dict[str, Any]:
    return load(path, SheetError)


@functools.cache
def wiring(path: Path) -> netlist.Netlist:
    return netlist.read(path)


def included() -> dict[Path, Path]:
    """From every file with keys to a sheet that it is part of."""
    files = {path: path for path in SHEETS}
    for sheet in SHEETS:
        for name in parsed(sheet).get("include", []):
            files.setdefault(NETLISTS / name, sheet)
    return files


def keys(value: Any, at: Key = ()) -> Iterator[Key]:
    for name, inner in value.items() if isinstance(value, dict) else []:
        yield (*at, name)
        yield from keys(inner, (*at, name))
        for i, entry in enumerate(inner if isinstance(inner, list) else []):
            yield from keys(entry, (*at, name, i))


def shape(key: Key) -> str:
    """The key with the names that a sheet is free to choose left open."""
    words = [word for word in key if isinstance(word, str)]
    free = {1} if words[0] in TOP else set()
    free |= {i + 1 for i, word in enumerate(words) if word in INNER and i not in free}
    return ".".join("*" if i in free else word for i, word in enumerate(words))


def changed(data: Any, key: Key, how: str) -> Any:
    """A copy of the data with one mistake; what the mistake does not touch is shared."""
    copy, name = data.copy(), key[0]
    if len(key) > 1:
        copy[name] = changed(data[name], key[1:], how)
        return copy
    value = copy.pop(name)
    if how == "misspelt":
        copy[f"{name}z"] = value
    elif how != "missing":
        # where a flag belongs a text is wrong
        copy[name] = {"list": [[]], "flag": "true" if isinstance(value, bool) else True}[how]
    return copy


@functools.cache
def mistakes() -> dict[Path, list[tuple[Key, str]]]:
    """All kinds of mistake in the first keys of one shape, in some that follow one in turn.

    The hundredth key of a shape is read by the same line as the third.
    """
    kinds = ("missing", "misspelt", "list", "flag")
    seen: dict[str, int] = {}
    found: dict[Path, list[tuple[Key, str]]] = {}
    for path in included():
        found[path] = []
        for key in keys(parsed(path)):
            count = seen[shape(key)] = seen.get(shape(key), -1) + 1
            some = kinds if count < 2 else kinds[count % 4 : count % 4 + 1] if count < MANY else ()
            found[path] += [(key, how) for how in some]
    return found


def complaint(monkeypatch: pytest.MonkeyPatch, file: Path, sheet: Path, data: dict[str, Any]) -> str:
    """What reading the circuit says when one file holds other data, nothing if it is content."""
    monkeypatch.setattr(reader, "load", lambda path, *_: data if path == file else parsed(path))
    try:
        agree(Circuit(wiring(sheet.with_suffix(".cir")), reader.read(sheet)))
    except SheetError as error:
        return str(error)
    return ""


@pytest.mark.parametrize("file", included(), ids=lambda path: path.relative_to(NETLISTS).as_posix())
def test_every_mistake_is_named(monkeypatch: pytest.MonkeyPatch, file: Path) -> None:
    sheet = included()[file]
    assert complaint(monkeypatch, file, sheet, parsed(file)) == ""
    wrong = []
    for key, how in mistakes()[file]:
        said = complaint(monkeypatch, file, sheet, changed(parsed(file), key, how))
        named = re.search(rf"\b{key[-1]}", said) is not None
        free = shape(key).endswith("*") and key[-2] != "modes"
        if how == "missing":
            # without a table or an entry something else may be at a loss, which is then named instead
            fine = named or len(key) == 1 or free or shape(key) in OPTIONAL
        else:
            fine = named or (how == "misspelt" and free)
        if not fine or "\n" in said:
            wrong.append((".".join(map(str, key)), how, said or "nothing"))
    assert wrong == []


def test_there_are_sheets_to_change() -> None:
    assert len(SHEETS) >= 4
    assert sum(map(len, mistakes().values())) > 1000
