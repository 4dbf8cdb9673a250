"""Positive earth: what stands in the shared pieces for negative earth, with the poles exchanged."""

from __future__ import annotations

import re
from typing import Any

# longest first; each pair is exchanged both ways at once
_POLES = (
    ("battery_positive", "battery_negative"),
    ("battery positive", "battery negative"),
    ("Battery positive", "Battery negative"),
    ("positive bus", "negative bus"),
    ("positive cable", "negative cable"),
)
_EXCHANGE = {a: b for pair in _POLES for a, b in (pair, pair[::-1])}
_ANY = re.compile("|".join(_EXCHANGE))
_SOURCE = re.compile(r"^(V(?:battery|charging)) (\w+) (\w+) ", re.MULTILINE)


def other_pole(value: Any) -> Any:
    """A text, or all texts and keys in tables and lists, with the battery's poles exchanged.

    Parameters
    ----------
    value : object
        As TOML gives it.

    Returns
    -------
    object
        Of the same shape.

    Examples
    --------
    >>> other_pole({"targets": ["body:battery_negative"], "words": "Battery negative off first"})
    {'targets': ['body:battery_positive'], 'words': 'Battery positive off first'}
    """
    if isinstance(value, str):
        return _ANY.sub(lambda match: _EXCHANGE[match.group()], value)
    if isinstance(value, dict):
        return {other_pole(key): other_pole(entry) for key, entry in value.items()}
    return [other_pole(entry) for entry in value] if isinstance(value, list) else value


def swapped_supply(text: str) -> str:
    """A piece of a netlist with its sources turned round: node 0 becomes battery positive.

    Examples
    --------
    >>> swapped_supply("Vbattery battery_inside 0 {battery_volts}")
    'Vbattery 0 battery_inside {battery_volts}'
    """
    return str(_SOURCE.sub(r"\1 \3 \2 ", other_pole(text)))
