"""Read a TOML table key by key, so that each mistake is reported by its key with what would be right."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields
from pathlib import Path
from typing import Any, TypeVar

from gaugesim.errors import GaugesimError, nearest, unknown_name
from gaugesim.files import read_file
from gaugesim.plain import shown

# larger than anything here can be; what is reckoned from it still fits a float
LARGEST_NUMBER = 1e12
# a dotted key, each part of which is a table in the one before: a megabyte of it takes minutes
_MANY_KEYS = re.compile(r"""(?<![\w"'-])(?:[\w"'-]++[ \t]*+\.[ \t]*+){30}""")
_ID = re.compile(r"[a-z][a-z0-9_]*")
_MISSING: Any = MISSING
_Record = TypeVar("_Record")

Parse = Callable[[str], dict[str, Any]]


def load(path: Path, error: type[GaugesimError], parse: Parse = tomllib.loads) -> dict[str, Any]:
    """Read a TOML file.

    Raises
    ------
    GaugesimError
        Of the given type: unreadable, too large, not TOML (with line and column).
    """
    try:
        text = read_file(path).decode("utf-8-sig")
        if _MANY_KEYS.search(text):
            raise error(
                "is not TOML that anyone writes: a key of more than 30 parts",
                str(path),
                "a table has one key",
            )
        return parse(text)
    except OSError as cause:
        raise error(f"cannot be read ({cause.strerror})", str(path), "name a readable .toml file") from None
    except UnicodeDecodeError:
        raise error("is not plain text", str(path), "save it as UTF-8") from None
    except RecursionError:
        raise error("is nested too deeply", str(path), "a list holds no lists within lists") from None
    except tomllib.TOMLDecodeError as cause:
        raise error(
            f"is not TOML: {cause}", str(path), "texts stand in quotes, ohms and volts do not"
        ) from None
    except GaugesimError:
        raise
    except ValueError:  # a whole number of thousands of digits
        raise error("holds a number without end", str(path), f"{LARGEST_NUMBER:g} at most") from None


@dataclass
class Table:
    """A table that knows where it stands and which of its keys have been read."""

    data: Mapping[str, Any]
    where: str
    error: type[GaugesimError]
    read: set[str] = field(default_factory=set)

    def fail(self, key: str, problem: str, remedy: str) -> GaugesimError:
        """Make the error for one key (raise what it returns)."""
        return self.error(problem, self.place(key), remedy)

    def place(self, key: str) -> str:
        """File and key in one text."""
        if not key:
            return self.where
        return f"{self.where}.{key}" if ": " in self.where else f"{self.where}: {key}"

    def _take(self, key: str, default: Any, wanted: str) -> Any:
        self.read.add(key)
        if key in self.data:
            return self.data[key]
        if default is _MISSING:
            close = nearest(key, [name for name in self.data if name not in self.read], most=1)
            meant = f" (is {close[0]!r} meant for it?)" if close else ""
            raise self.fail(key, "is missing", f"give {wanted}{meant}")
        return default

    def has(self, key: str) -> bool:
        """Whether the key is there."""
        return key in self.data

    def text(self, key: str, default: Any = _MISSING) -> str:
        """A text that is not empty."""
        value = self._take(key, default, "a text in quotes")
        if value is default:
            return value  # type: ignore[no-any-return]
        if not isinstance(value, str) or not value.strip():
            raise self.fail(key, f"is {shown(value)}", "give a text in quotes")
        return value

    def choice(self, key: str, choices: Iterable[str], default: Any = _MISSING) -> str:
        """One of some words."""
        possible = list(choices)
        value = self.text(key, default)
        if value is not default and value not in possible:
            raise self.unknown(key, "choice", value, possible)
        return value

    def number(
        self, key: str, default: Any = _MISSING, low: float = -LARGEST_NUMBER, high: float = LARGEST_NUMBER
    ) -> float:
        """A number between two bounds, both allowed."""
        value = self._take(key, default, f"a number{_range(low, high)}")
        if value is default:
            return value  # type: ignore[no-any-return]
        # an open is a number where a bound allows it
        numeric = _is_number(value) or (value == high == float("inf"))
        if not numeric or not low <= value <= high:
            largest = f", {LARGEST_NUMBER:g} at most" if isinstance(value, int | float) else ""
            raise self.fail(key, f"is {shown(value)}", f"give a number{_range(low, high) or largest}")
        return float(value)

    def flag(self, key: str, default: bool = False) -> bool:
        """``true`` or ``false``."""
        value = self._take(key, default, "true or false")
        if not isinstance(value, bool):
            raise self.fail(key, f"is {shown(value)}", "give true or false, without quotes")
        return value

    def pair(self, key: str, default: Any = _MISSING) -> tuple[float, float]:
        """Two numbers, the first the smaller."""
        value = self._take(key, default, "[low, high]")
        if value is default:
            return value  # type: ignore[no-any-return]
        good = isinstance(value, list) and len(value) == 2 and all(_is_number(entry) for entry in value)
        if not good or value[0] > value[1]:
            raise self.fail(key, f"is {shown(value)}", "give two numbers, [low, high]")
        return float(value[0]), float(value[1])

    def texts(
        self, key: str, default: Any = _MISSING, choices: Iterable[str] | None = None
    ) -> tuple[str, ...]:
        """A list of texts; one text alone counts as a list of one."""
        value = self._take(key, default, "a list of texts")
        if value is default:
            return tuple(value)
        value = [value] if isinstance(value, str) else value
        if not isinstance(value, list) or not all(isinstance(entry, str) for entry in value):
            raise self.fail(key, f"is {shown(value)}", "give a list of texts")
        if choices is not None:
            possible = list(choices)
            for entry in value:
                if entry not in possible:
                    raise self.unknown(key, "choice", entry, possible)
        return tuple(value)

    def numbers(self, key: str, names: Iterable[str] | None = None) -> dict[str, float]:
        """A table of numbers, ``{ coolant_celsius = 20 }``."""
        inner = self.table(key, {})
        possible = None if names is None else list(names)
        result = {}
        for name in inner.data:
            if possible is not None and name not in possible:
                raise inner.unknown(name, "value", name, possible)
            result[name] = inner.number(name)
        return result

    def table(self, key: str, default: Any = _MISSING) -> Table:
        """A table inside this one."""
        value = self._take(key, default, "a table")
        if not isinstance(value, Mapping):
            raise self.fail(key, f"is {shown(value)}", f"make it a table, [{key}]")
        return Table(value, self.place(key), self.error)

    def tables(self, key: str) -> Iterator[tuple[str, Table]]:
        """The tables inside a table, by name; none where the key is missing."""
        outer = self.table(key, {})
        for name in outer.data:
            if not _ID.fullmatch(name):
                raise outer.fail(
                    "", f"has an entry called {shown(name)}", "small letters, digits and _, a letter first"
                )
            yield name, outer.table(name)

    def list_of_tables(self, key: str) -> list[Table]:
        """The tables of ``[[key]]``; none where the key is missing."""
        value = self._take(key, [], f"[[{key}]]")
        if not isinstance(value, list) or not all(isinstance(entry, Mapping) for entry in value):
            raise self.fail(key, "is not a list of tables", f"write [[{key}]] above each")
        return [Table(entry, self.place(f"{key}[{i + 1}]"), self.error) for i, entry in enumerate(value)]

    def any(self, key: str, convert: Callable[[Any], Any], wanted: str, default: Any = _MISSING) -> Any:
        """A value of several possible kinds; ``convert`` raises ValueError on a wrong one."""
        value = self._take(key, default, wanted)
        if value is default:
            return value
        try:
            return convert(value)
        except GaugesimError:
            raise
        except (ValueError, TypeError, OverflowError):
            raise self.fail(key, f"is {shown(value)}", f"give {wanted}") from None

    def record(
        self,
        kind: type[_Record],
        choices: Mapping[str, Iterable[str]] | None = None,
        usual: Mapping[str, Any] | None = None,
        /,
        **made: Any,
    ) -> _Record:
        """A dataclass of which what is not made already stands here: each field is a key, read as annotated.

        Parameters
        ----------
        choices : mapping
            What a text, or each of several, may be, by its key.
        usual : mapping
            What a key is where it is missing, beside the defaults of the class.
        """
        for entry in fields(kind):  # type: ignore[arg-type]
            name, default, of = entry.name, (usual or {}).get(entry.name, entry.default), str(entry.type)
            possible = (choices or {}).get(name)
            if name in made:
                continue
            if of.startswith("float"):
                made[name] = self.number(name, default, **{"low": 0.0, **entry.metadata})
            elif of == "bool":
                made[name] = self.flag(name, default is True)
            elif of == "tuple[str, ...]":
                made[name] = self.texts(name, default, possible)
            elif of == "Mapping[str, float]":
                made[name] = self.numbers(name)
            elif possible is not None:
                made[name] = self.choice(name, possible, default)
            else:
                made[name] = self.text(name, default)
        self.end()
        return kind(**made)

    def unknown(self, key: str, kind: str, name: str, choices: Iterable[str]) -> GaugesimError:
        """Make the error for a name that does not exist, with the nearest ones."""
        reason = unknown_name(kind, name, choices)
        return self.error(reason.problem, self.place(key), reason.remedy)

    def end(self) -> None:
        """Complain about a key that nothing has read."""
        self.allow(self.read)

    def allow(self, names: Iterable[str]) -> None:
        """Complain about a key that is none of these."""
        possible = set(names)
        for key in self.data:
            if key not in possible:
                raise self.unknown(key, "key here", key, possible)


def within_limits(low: float, high: float = LARGEST_NUMBER, **default: Any) -> Any:
    """A field of a `Table.record` that is a number with other limits than 0 or more."""
    return field(metadata={"low": low, "high": high}, **default)


def _is_number(value: Any) -> bool:
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and -LARGEST_NUMBER <= value <= LARGEST_NUMBER
    )


def _range(low: float, high: float) -> str:
    if low > -LARGEST_NUMBER and high < LARGEST_NUMBER:
        return f" from {low:g} to {high:g}"
    if low > -LARGEST_NUMBER:
        return f", {low:g} or more"
    return f", {high:g} or less" if high < LARGEST_NUMBER else ""
