"""Choosing from a long list by a few letters."""

from __future__ import annotations

from collections.abc import Mapping


def found_by(typed: str, entries: Mapping[str, str]) -> str | None:
    """The first entry that a few letters mean. An id; None where nothing is typed or nothing fits.

    Parameters
    ----------
    typed : str
        The beginnings of some words, in any order.
    entries : mapping
        From id to words; both are looked at.

    Examples
    --------
    >>> entries = {"stud_feed=open": "nut on stud I is loose", "stud_bias=open": "nut on stud B is loose"}
    >>> found_by("b stud", entries), found_by("zz", entries), found_by("", entries)
    ('stud_bias=open', None, None)
    """
    wanted = typed.lower().split()
    for name, words in entries.items():
        text = f"{words} {name}".lower().replace("_", " ").replace("=", " ").replace(":", " ")
        starts = [word.strip("(),") for word in text.split()]
        if wanted and all(any(word.startswith(part) for word in starts) for part in wanted):
            return name
    return None


def next_of(now: str, entries: list[str]) -> str:
    """The entry after one, round and round, with none at all between the last and the first.

    Parameters
    ----------
    now : str
        ``""`` for none, or what is not in the list.

    Examples
    --------
    >>> next_of("", ["open", "high"]), next_of("open", ["open", "high"]), next_of("high", ["open", "high"])
    ('open', 'high', '')
    """
    if now not in entries:
        return entries[0] if entries else ""
    return [*entries, ""][entries.index(now) + 1]
