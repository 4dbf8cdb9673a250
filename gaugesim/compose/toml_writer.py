"""A sheet's tables as the text of a TOML file."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

# tables whose entries stand on one line each, and keys whose lists have a line for each entry
_ONE_LINE = ("cautions", "points")
_LONG_LISTS = ("coils", "marks")
# from here a number is written with an exponent, as 1e9
_LONG = 1e7


def toml_text(head: Mapping[str, Any], tables: Mapping[str, Mapping[str, Any]]) -> str:
    """Write a sheet.

    Parameters
    ----------
    head : mapping
        Keys of the sheet as a whole.
    tables : mapping
        From table to entry to its content.

    Examples
    --------
    >>> print(toml_text({"words": "a gauge"}, {"points": {"body": {"words": "the body", "place": "engine"}}}))
    words = "a gauge"
    <BLANKLINE>
    [points]
    body = { words = "the body", place = "engine" }
    <BLANKLINE>
    """
    lines = [f"{key} = {_value(value)}" for key, value in head.items()]
    for table, entries in tables.items():
        if table in _ONE_LINE:
            lines += ["", f"[{table}]", *(f"{name} = {_value(entry)}" for name, entry in entries.items())]
            continue
        for name, entry in entries.items():
            lines += ["", *_entry(f"{table}.{name}", entry)]
    return "\n".join([*lines, ""])


def _entry(name: str, entry: Mapping[str, Any]) -> Iterator[str]:
    yield f"[{name}]"
    for key, value in entry.items():
        if key in _LONG_LISTS:
            yield f"{key} = ["
            yield from (f"  {_value(each)}," for each in value)
            yield "]"
        elif key != "modes":
            yield f"{key} = {_value(value)}"
    for mode, content in entry.get("modes", {}).items():
        yield from _entry(f"{name}.modes.{mode}", content)


def _value(value: Any) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value:.10g}" if abs(value) < _LONG else f"{value:g}".replace("e+0", "e")
    if isinstance(value, Mapping):
        return (
            f"{{ {', '.join(f'{key} = {_value(entry)}' for key, entry in value.items())} }}"
            if value
            else "{}"
        )
    return f"[{', '.join(_value(entry) for entry in value)}]"
