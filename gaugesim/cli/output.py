"""What goes to standard output: JSON for programs, plain text of 80 columns for people."""

from __future__ import annotations

import re
import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

from gaugesim.plain import cut
from gaugesim.reading import Needle, Reading
from gaugesim.reading.words import marked, quantity, quantity_range, reading_value
from gaugesim.sheet import Gauge

WIDTH = 80
LONGEST_NOTE = 600  # characters
# between a number and its unit no line ends
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:%|[mk]?[VA]|[mk]?ohm|min|minutes?)(?!\w))")
_NO_BREAK = "\N{NO-BREAK SPACE}"


def print_json(data: Any) -> None:
    """Print JSON."""
    import json  # seldom wanted

    print(json.dumps(data, allow_nan=False, indent=1))


def note(text: str) -> None:
    """Say something beside the answer, on standard error."""
    print(f"gaugesim: {cut(text, LONGEST_NOTE)}", file=sys.stderr)


def dial(gauge: Gauge, needle: Needle, width: int) -> str:
    """A scale as one line of text, from stop to stop: marks ``|`` and ``+``, needle ``V`` in its band ``=``.

    Parameters
    ----------
    width : int
        Columns [1].
    """
    low, high = gauge.stops

    def column(position: float) -> int:
        return min(max(round((position - low) / (high - low) * (width - 1)), 0), width - 1)

    line = ["-"] * width
    if needle.low is not None and needle.high is not None:
        for k in range(column(needle.low), column(needle.high) + 1):
            line[k] = "="
    for position in (0.25, 0.5, 0.75):
        line[column(position)] = "+"
    line[column(0.0)] = line[column(1.0)] = "|"
    if needle.position is not None:
        line[column(needle.position)] = "V"
    return "".join(line)


def needle_lines(gauges: Iterable[Gauge], needles: dict[str, Needle]) -> list[str]:
    """Needles for a person, one line each."""
    names = list(gauges)
    texts = []
    for gauge in names:
        needle = needles[gauge.id]
        ends = [mark.label or f"{mark.at:g}" for mark in sorted(gauge.marks, key=lambda mark: mark.position)]
        figure = "" if needle.position is None else f" {needle.position:.2f}"
        texts.append((gauge.called, ends[0], ends[-1], marked(needle.word) + figure))
    name, low, high, word = (max(len(row[k]) for row in texts) for k in range(4))
    width = min(41, WIDTH - (2 + name + 2 + low + 1 + 1 + high + 2 + word))
    lines = []
    for gauge, row in zip(names, texts, strict=True):
        scale = dial(gauge, needles[gauge.id], width)
        lines.append(f"  {row[0]:<{name}}  {row[1]:>{low}} {scale} {row[2]:<{high}}  {row[3]}")
    return lines


def words_of(name: str) -> str:
    """An id as words.

    Examples
    --------
    >>> words_of("oil_pressure")
    'oil pressure'
    """
    return name.replace("_", " ")


def reading_text(reading: Reading) -> str:
    """A reading for a person."""
    value = reading_value(reading)
    if reading.kind == "lamp":
        return f"{value} ({quantity(reading.volts or 0.0, 'V')} across it)"
    ends = "" if reading.open else quantity_range(float(reading.low), float(reading.high), reading.unit)
    return f"{value}, {ends} in 90 of 100 circuits" if " to " in ends else value


def wrapped(text: str, indent: str = "", first: str | None = None) -> list[str]:
    """Fold a text into lines; a number stays beside its unit.

    Examples
    --------
    >>> wrapped("Most probably the nut on the stud in the middle is loose, with no contact (19 %).")
    ['Most probably the nut on the stud in the middle is loose, with no contact', '(19 %).']
    """
    fold = textwrap.TextWrapper(
        WIDTH,
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_NO_BREAK, " ") for line in fold.wrap(_BEFORE_UNIT.sub(_NO_BREAK, text))]


def paragraph(text: str) -> list[str]:
    """Fold a text into lines of which all but the first are set in."""
    return wrapped(text, "  ", "")


def caution_lines(texts: Iterable[str]) -> list[str]:
    """Cautions with an empty line before them; nothing where there are none."""
    lines = [line for text in texts for line in wrapped(text, "  ", "! ")]
    return ["", *lines] if lines else []


def table(
    rows: Sequence[Sequence[str]], indent: str = "  ", widths: Sequence[int] | None = None
) -> list[str]:
    """Lines of a table whose columns are as wide as they must be.

    Parameters
    ----------
    widths : sequence of int, optional
        Of the columns, where they are given [1].
    """
    if not rows:
        return []
    widths = widths or [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        (indent + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True))).rstrip()
        for row in rows
    ]
