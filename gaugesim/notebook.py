"""How results show themselves: in a line or a table, in a notebook, as data for JSON, as a data frame."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from gaugesim.errors import MissingPackageError, unknown_name

# rows of a result that a prompt and a notebook show; columns, and letters in each, that a prompt has room for
PROMPT_ROWS, PAGE_ROWS = 8, 24
PROMPT_COLUMNS, PROMPT_LETTERS = 7, 44
_TABLE = (
    "{% for note in first %}<p>{{ note }}</p>{% endfor %}"
    "<table><caption>{{ caption }}</caption>"
    "<tr>{% for text in head %}<th>{{ text }}</th>{% endfor %}</tr>"
    "{% for row in rows %}<tr>{% for cell in row %}<td>{{ cell }}</td>{% endfor %}</tr>{% endfor %}</table>"
    "{% for note in notes %}<p>{{ note }}</p>{% endfor %}"
)
# what is closer to zero than this is zero
_SMALL = 1e-6


class Result(ABC):
    """What all results can do; a subclass says what its columns are."""

    @property
    @abstractmethod
    def caption(self) -> str:
        """What it is, in a line."""

    @property
    @abstractmethod
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """From a column's name to its values, all of one length."""

    @property
    def first(self) -> Sequence[str]:
        """What has to be done before anything else is read."""
        return ()

    @property
    def cautions(self) -> Sequence[str]:
        """What to beware of where it is acted upon."""
        return ()

    def to_dict(self) -> dict[str, Any]:
        """The same as plain data, as the command's ``--json`` has it.

        Returns
        -------
        dict
            Of dicts, lists, texts, finite numbers and None.
        """
        return {"caption": self.caption, "columns": encoded(self.columns), "cautions": list(self.cautions)}

    def to_frame(self) -> Any:
        """The columns as a data frame.

        Returns
        -------
        pandas.DataFrame

        Raises
        ------
        MissingPackageError
            If pandas is not installed.
        """
        try:
            import pandas
        except ImportError:
            raise MissingPackageError(
                "to_frame() needs pandas, which is not installed", "", "pip install pandas, or take to_dict()"
            ) from None
        return pandas.DataFrame(dict(self.columns))

    def __getitem__(self, name: str) -> Any:
        """A column by its name."""
        columns = self.columns
        if not isinstance(name, str) or name not in columns:
            raise unknown_name("column", str(name), columns)
        return columns[name]

    def __iter__(self) -> Iterator[dict[str, Any]]:
        """Each row, by the names of the columns."""
        return (dict(zip(self.columns, row, strict=True)) for row in zip(*self.columns.values(), strict=True))

    def __len__(self) -> int:
        """Number of rows."""
        return len(next(iter(self.columns.values()), ()))

    def __repr__(self) -> str:
        rows = [[*self.columns], *([_text(cell) for cell in row] for row in self._rows(PROMPT_ROWS))]
        rows = [[cell[:PROMPT_LETTERS] for cell in row[:PROMPT_COLUMNS]] for row in rows]
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        lines = [
            "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows
        ]
        return "\n".join(
            [
                *(f"! {text}" for text in self.first),
                self.caption,
                *(f"! {text}" for text in self.cautions if text not in self.first),
                *(f"  {line}".rstrip() for line in lines),
                *self._more(PROMPT_ROWS, PROMPT_COLUMNS),
            ]
        )

    def _repr_html_(self) -> str:
        more = self._more(PAGE_ROWS, len(self.columns))
        beware = (f"caution: {text}" for text in self.cautions if text not in self.first)
        notes = [*beware, *(text.strip() for text in more)]
        return html_table(self.caption, list(self.columns), self._rows(PAGE_ROWS), notes, self.first)

    def _rows(self, most: int) -> list[tuple[Any, ...]]:
        return list(islice(zip(*self.columns.values(), strict=True), most))

    def _more(self, rows: int, columns: int) -> list[str]:
        """What of it is not shown."""
        left = {"rows": len(self) - rows, "columns": len(self.columns) - columns}
        texts = [f"{n} more {what[: None if n > 1 else -1]}" for what, n in left.items() if n > 0]
        return [f"  {' and '.join(texts)}"] if texts else []


def encoded(value: Any) -> Any:
    """A value as JSON knows it; what is unknown or without end is None.

    Parameters
    ----------
    value
        Numbers, texts, arrays, dataclasses, and mappings and sequences of such.

    Raises
    ------
    TypeError
        For anything else.

    Examples
    --------
    >>> encoded({"volts": float("nan"), "ends": (1, 2.5)})
    {'volts': None, 'ends': [1, 2.5]}
    """
    if hasattr(value, "tolist"):  # an array, or one of its numbers
        value = value.tolist()
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Path):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: encoded(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): encoded(entry) for key, entry in value.items()}
    if isinstance(value, Iterable):
        return [encoded(entry) for entry in value]
    raise TypeError(f"no JSON for {type(value).__name__}")


def picked(value: object, names: str) -> dict[str, Any]:
    """Some attributes of a result as JSON knows them.

    Parameters
    ----------
    names : str
        With blanks between them.

    Examples
    --------
    >>> picked(Path("a/b.toml"), "name suffix")
    {'name': 'b.toml', 'suffix': '.toml'}
    """
    return {name: encoded(getattr(value, name)) for name in names.split()}


def html_table(
    caption: str,
    head: Sequence[str],
    rows: Iterable[Sequence[object]],
    notes: Iterable[str] = (),
    first: Iterable[str] = (),
) -> str:
    """A table in HTML with notes below it, and what comes first above it; every text is escaped.

    Parameters
    ----------
    head : sequence of str
        Of the columns.
    rows : iterable of sequence
        Numbers with two places, None and NaN as a dash, all else as it prints.

    Examples
    --------
    >>> html_table("Needles", ["gauge", "position"], [["<fuel>", 0.5]])
    '<table><caption>Needles</caption><tr><th>gauge</th><th>position</th></tr><tr><td>&lt;fuel&gt;</td><td>0.50</td></tr></table>'
    """
    from jinja2 import Template  # only a notebook needs it

    texts = [[_text(cell) for cell in row] for row in rows]
    made = Template(_TABLE, autoescape=True)
    return str(made.render(caption=caption, head=head, rows=texts, notes=notes, first=first))


def _text(cell: object) -> str:
    if cell is None or cell != cell:
        return "–"
    if not isinstance(cell, float):
        return str(cell)
    # milliohms keep two digits; the z leaves no minus before a zero
    return f"{cell:.2g}" if _SMALL < abs(cell) < 0.01 else f"{cell:z.2f}"
