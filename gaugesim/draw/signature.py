"""The signature map: what each check shows under each fault, and what it tells apart."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.draw.style import FAINT, new_page, points_per_unit, text_width
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.sweeps import Signature, signatures

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LETTERS = 6.5
_LINE = 8.0
_MARGIN = 8.0
_LABEL = 46  # letters in a line of a row's name
_CELL = 15  # letters in a line of a cell
_HEAD = 17
_SAME_SHADE, _DIFFERENT_SHADE = "white", "0.86"


@dataclass(frozen=True)
class SignatureMap:
    """What checks show under faults.

    Attributes
    ----------
    rows : tuple of Signature
        Faults that these checks cannot tell apart stand together; the first row is the sound circuit.
    bits : ndarray, shape (checks,)
        How much each check by itself tells about the fault: entropy of what it shows, by prior weight [1].
    """

    title: str
    checks: tuple[str, ...]
    rows: tuple[Signature, ...]
    bits: Floats

    @property
    def groups(self) -> tuple[int, ...]:
        """Into how many groups each check alone divides the rows."""
        return tuple(len({row.cells[k] for row in self.rows}) for k in range(len(self.checks)))


def signature_map(
    circuit: Circuit, checks: Sequence[str], state: str | None = None, gauge: str | None = None
) -> SignatureMap:
    """Work out what checks show under every fault.

    Parameters
    ----------
    checks : sequence of str
        Ids; ``""`` is looking at the needle.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> found = signature_map(find("temp_two_coil"), ["", "unplug_sender", "ground_sender_lead"])
    >>> found.groups[0] > 1 and bool(found.bits[0] > 0)
    True
    """
    meant = circuit.gauge(gauge)
    chosen = [find_check(circuit, check, meant.id) if check else NO_CHECK for check in checks]
    rows = signatures(circuit, meant, state, chosen)
    weight = np.array([sum(fault.weight for fault in row.faults) for row in rows])
    bits = []
    for k in range(len(chosen)):
        shown = sorted({row.cells[k] for row in rows})
        share = (
            np.array([weight[[row.cells[k] == cell for row in rows]].sum() for cell in shown]) / weight.sum()
        )
        share = share[share > 0]
        bits.append(-float((share * np.log2(share)).sum()))
    words = circuit.sheet.states[state or circuit.sheet.default_state].words
    return SignatureMap(
        f"{circuit.sheet.words}: {meant.words}, {words}",
        tuple(check.words for check in chosen),
        rows,
        np.array(bits),
    )


def draw_signature_map(table: SignatureMap, ax: Axes | None = None) -> Axes:
    """Draw the map as a table; what differs from the sound circuit is shaded and set in bold.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> ax = draw_signature_map(signature_map(find("temp_two_coil"), ["", "unplug_sender"]))
    >>> "sound" in [text.get_text() for text in ax.texts]
    True
    """
    from matplotlib.patches import Rectangle

    names = [_name(row) for row in table.rows]
    cells = [[textwrap.wrap(cell, _CELL) or [""] for cell in row.cells] for row in table.rows]
    heads = [textwrap.wrap(words, _HEAD) for words in table.checks]
    feet = [
        [f"{count} groups", f"{bits:.1f} bits"] for count, bits in zip(table.groups, table.bits, strict=True)
    ]
    lefts = _edges(names, cells, heads)
    heights = [
        (max(len(name), *(len(lines) for lines in row)) + 0.5) * _LINE
        for name, row in zip(names, cells, strict=True)
    ]
    top = (max(map(len, heads)) + 0.7) * _LINE
    width = lefts[-1] + _MARGIN
    title = textwrap.wrap(table.title, int(width / (0.62 * (_LETTERS + 1.5))))
    upper = _MARGIN + (len(title) + 0.5) * (_LINE + 2) + top
    height = upper + sum(heights) + 3.0 * _LINE + _MARGIN
    ax = ax if ax is not None else new_page(width / 72, height / 72)
    ax.set_axis_off()
    ax.set(xlim=(0, width), ylim=(height, 0), aspect="equal")
    scale = points_per_unit(ax, width, height)

    def write(x: float, y: float, lines: Sequence[str], **style: object) -> None:
        ax.text(x, y, "\n".join(lines), **({"fontsize": _LETTERS * scale, "va": "center"} | style))  # type: ignore[arg-type]

    write(_MARGIN, _MARGIN, title, va="top", fontsize=(_LETTERS + 1.5) * scale, weight="bold")
    for k, lines in enumerate(heads):
        write(lefts[k] + 2, upper - 0.35 * _LINE, lines, va="bottom")
    y = upper
    sound = table.rows[0].cells
    for i, (row, name, texts) in enumerate(zip(table.rows, names, cells, strict=True)):
        middle = y + heights[i] / 2
        write(_MARGIN, middle, name, weight="bold" if i == 0 else "normal")
        for k, lines in enumerate(texts):
            differs = row.cells[k] != sound[k]
            shade = _DIFFERENT_SHADE if differs else _SAME_SHADE
            corner, size = (lefts[k], y), (lefts[k + 1] - lefts[k], heights[i])
            ax.add_patch(Rectangle(corner, *size, facecolor=shade, edgecolor="0.6", linewidth=0.4 * scale))
            look = {"weight": "bold"} if differs else {"color": "black" if i == 0 else FAINT}
            write(lefts[k] + 2, middle, lines, **look)
        y += heights[i]
    write(_MARGIN, y + 1.3 * _LINE, ["tells apart, by itself"])
    for k, lines in enumerate(feet):
        write(lefts[k] + 2, y + 1.3 * _LINE, lines)
    return ax


def _name(row: Signature) -> list[str]:
    if not row.faults:
        return ["sound"]
    more = f", or {len(row.faults) - 1} more" if len(row.faults) > 1 else ""
    return textwrap.wrap(row.faults[0].words + more, _LABEL)


def _edges(names: list[list[str]], cells: list[list[list[str]]], heads: list[list[str]]) -> list[float]:
    """Left edge of each column of cells, and the right edge of the last."""

    def widest(lines: Sequence[str]) -> float:
        return max((text_width(line, _LETTERS, "bold") for line in lines), default=0.0)

    edges = [_MARGIN + max(*map(widest, names), widest(["tells apart, by itself"])) + 5.0]
    for k, head in enumerate(heads):
        column = max(widest(head), widest(["88 groups"]), *(widest(row[k]) for row in cells))
        edges.append(edges[-1] + column + 5.0)
    return edges
