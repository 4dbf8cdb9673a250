"""The text of a case file, changed without touching what the person wrote in it, and kept on disk."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from gaugesim.case import Case, parse
from gaugesim.files import read_file, replace_file

Field = str | int | float | tuple[str, ...] | tuple[float, float]
HEADER = "# A case. Edit it as you like; `gaugesim diagnose FILE --ask` takes it up again.\n"


def case_of(text: str, path: Path) -> Case:
    """Read a case from its text.

    Parameters
    ----------
    path : Path
        What to call it in errors.
    """
    return parse(tomllib.loads(text), path)


def with_top(text: str, **values: str | Sequence[str]) -> str:
    """Set keys at the top of a case file; everything else stays as it is.

    Parameters
    ----------
    text : str
        Empty for a new file.
    **values : str or sequence of str
        One name stands without brackets.

    Examples
    --------
    >>> print(with_top('circuit = ["a", "b"]  # which?', circuit=["b"]))
    circuit = "b"  # which?
    """
    import tomlkit

    document = tomlkit.parse(text or HEADER)
    for key, value in values.items():
        names = [value] if isinstance(value, str) else list(value)
        document[key] = names[0] if len(names) == 1 else names
    return tomlkit.dumps(document)


def with_vehicle(text: str, values: Mapping[str, Any]) -> str:
    """Say something of the vehicle, in place of any circuit that was named.

    Parameters
    ----------
    values : mapping
        Keys of ``[vehicle]``, or of one of its gauges with its name in front: ``fuel.ohms``. A gauge of which
        ``{}`` is said is there, one of which None is said is not.

    Examples
    --------
    >>> print(with_vehicle('circuit = "a"', {"volts": 24, "fuel.ohms": [240, 33]}))
    <BLANKLINE>
    [vehicle]
    volts = 24
    <BLANKLINE>
    [vehicle.fuel]
    ohms = [240, 33]
    <BLANKLINE>
    """
    import tomlkit

    document = tomlkit.parse(text or HEADER)
    said = document.unwrap()
    document.pop("circuit", None)
    described = said.get("vehicle", {})
    for key, value in values.items():
        gauge, _, inner = key.partition(".")
        if inner:
            described.setdefault(gauge, {})[inner] = value
        elif value is None:
            described.pop(gauge, None)
        elif value == {}:
            described.setdefault(gauge, {})
        else:
            described[gauge] = value
    document.pop("vehicle", None)
    rest = tomlkit.dumps(document).rstrip("\n")
    return f"{rest}\n\n{tomlkit.dumps({'vehicle': described})}"


def with_conversation(text: str, **said: str | Sequence[str]) -> str:
    """Keep what was said and is no entry yet, in a table of its own, or take that away again.

    Parameters
    ----------
    **said
        Keys of ``[conversation]``; what is empty is left out, and with all of them the table.
    """
    import tomlkit

    document = tomlkit.parse(text)
    document.pop("conversation", None)
    rest = tomlkit.dumps(document) if "[conversation]" in text else text
    kept = {key: value if isinstance(value, str) else list(value) for key, value in said.items() if value}
    if not kept:
        return rest
    gap = "" if not rest or rest.endswith("\n\n") else "\n" if rest.endswith("\n") else "\n\n"
    return f"{rest}{gap}{tomlkit.dumps({'conversation': kept})}"


def with_entry(text: str, table: str, fields: Mapping[str, Field]) -> str:
    """Add an entry at the end of a case file.

    Parameters
    ----------
    table : str
        ``seen``, ``measured``, ``inspected`` or ``replaced``.

    Examples
    --------
    >>> print(with_entry('circuit = "a"', "seen", {"state": "key_off", "needle": (0.1, 0.2)}))
    circuit = "a"
    <BLANKLINE>
    [[seen]]
    state = "key_off"
    needle = [0.1, 0.2]
    <BLANKLINE>
    """
    import tomlkit
    from tomlkit.items import Array

    document = tomlkit.parse(text)
    plain = {key: list(value) if isinstance(value, tuple) else value for key, value in fields.items()}
    if isinstance(document.get(table), Array):  # written as seen = [{...}], which takes no [[seen]] after it
        document[table].append(plain)
        return tomlkit.dumps(document)
    end = "\r\n" if "\r\n" in text else "\n"
    gap = "" if text.endswith(("\n\n", "\n\r\n")) else end if text.endswith("\n") else 2 * end
    entry = f"[[{table}]]\n{tomlkit.dumps(plain)}"
    return f"{text}{gap}{entry.replace(chr(10), end)}"


class Kept:
    """A case file on disk.

    Parameters
    ----------
    original : bytes or None
        What it held before the conversation; None if it was not there.
    """

    def __init__(self, path: Path, original: bytes | None) -> None:
        self.path = path
        self._original = original
        self._last = original

    @property
    def changed_elsewhere(self) -> bool:
        """Whether somebody else has written the file since it was last read or written here."""
        content = _content(self.path)
        return content is not None and content != self._last

    def keep(self, text: str) -> None:
        """Write the file: all of it or nothing.

        Parameters
        ----------
        text : str
            Empty for the file as it was before the conversation.
        """
        content = text.encode() if text else self._original
        if content == self._last == _content(self.path):
            return
        if content is None:
            self.path.unlink(missing_ok=True)
        else:
            replace_file(self.path, content)
        self._last = content


def _content(path: Path) -> bytes | None:
    try:
        return read_file(path)
    except FileNotFoundError:
        return None
