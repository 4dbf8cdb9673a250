"""Labels beside curves and along scales: close to where they belong, but never over one another."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.draw.style import text_width
from gaugesim.sheet import Mark

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def apart(wanted: Sequence[float], heights: Sequence[float], low: float, high: float) -> Floats:
    """Places along a line for things that need room, as near as can be to where they belong.

    Middles, in the order given [1].

    Parameters
    ----------
    wanted : sequence of float
        Where their middles belong [1].
    heights : sequence of float
        Room each needs [1].
    low, high : float
        Ends of the line; if the room is not enough, the things stand evenly beyond its ends [1].

    Examples
    --------
    >>> apart([0.5, 0.5], [0.2, 0.2], 0.0, 1.0)
    array([0.4, 0.6])
    """
    order = np.argsort(wanted, kind="stable")
    # blocks of things that touch: first and last, and where their middle belongs
    blocks: list[list[float]] = []
    for k in order:
        size = heights[k]
        blocks.append(
            [float(np.clip(wanted[k], low + size / 2, max(high - size / 2, low + size / 2))), size, 1]
        )
        while (
            len(blocks) > 1 and blocks[-2][0] + blocks[-2][1] / 2 > blocks[-1][0] - blocks[-1][1] / 2 + 1e-12
        ):
            middle, size, count = blocks.pop()
            other = blocks[-1]
            whole = other[1] + size
            # each thing pulls equally at the block
            centre = (
                (other[0] - other[1] / 2 + whole / 2) * other[2] + (middle + size / 2 - whole / 2) * count
            ) / (other[2] + count)
            centre = float(np.clip(centre, low + whole / 2, max(high - whole / 2, low + whole / 2)))
            blocks[-1] = [centre, whole, other[2] + count]
    result = np.empty(len(order))
    taken = 0
    for middle, size, count in blocks:
        edge = middle - size / 2
        for k in order[taken : taken + int(count)]:
            result[k] = edge + heights[k] / 2
            edge += heights[k]
        taken += int(count)
    return result


def label_ends(
    ax: Axes,
    labels: Sequence[tuple[float, str, Mapping[str, object]]],
    x: float,
    size: float,
    span: tuple[float, float],
    wrap: int = 46,
    gap: float = 0.03,
) -> None:
    """Write labels to the right of curves, each joined to its curve's end.

    Parameters
    ----------
    labels : sequence of (float, str, mapping)
        Where each curve ends, its words and its marker, as for ``ax.plot``; NaN stands at the lower edge.
    size : float
        Of the letters [point].
    span : (float, float)
        Heights between which the labels stand, as far as there is room for all.
    wrap : int
        Letters in a line [1].
    gap : float
        Length of a joining line, as a share of the axes' width [1].
    """
    if not labels:
        return
    figure = ax.get_figure(root=True)
    if figure is None:
        return
    figure.draw_without_rendering()
    points = ax.get_window_extent().height * 72 / figure.dpi
    bottom, top = ax.get_ylim()
    line = size * 1.3 / points * (top - bottom)
    lines = [textwrap.wrap(words, wrap) for _, words, _ in labels]
    ends = [span[0] if math.isnan(end) else end for end, _, _ in labels]
    middles = apart(ends, [(len(each) + 0.6) * line for each in lines], *span)
    left, right = ax.get_xlim()
    for end, (_, _, marker), each, y in zip(ends, labels, lines, middles, strict=True):
        ax.plot([x, x + gap * (right - left)], [end, y], color="0.4", linewidth=0.6, zorder=2)
        style: dict[str, object] = {"color": "black", "markersize": size * 0.7, "zorder": 3, **marker}
        ax.plot(x + gap * (right - left), y, **style)  # type: ignore[arg-type]
        ax.text(x + 1.6 * gap * (right - left), y, "\n".join(each), va="center", fontsize=size)


def write_marks(
    ax: Axes, marks: Sequence[Mark], at: Callable[[float], Any], size: float, point: float = 1.0
) -> None:
    """Write the marks of a scale; a label that would touch another is left out, its mark stays.

    Parameters
    ----------
    at : callable
        From a position to where its label stands.
    size, point : float
        Of the letters [point], and of a point in the axes' own unit.
    """
    taken: list[tuple[float, float, float]] = []
    # the ends first
    for mark in sorted(marks, key=lambda mark: -abs(mark.position - 0.5)):
        x, y = at(mark.position)
        half, line = text_width(mark.label, size) * point / 2, 1.25 * size * point
        if all(abs(x - x1) > half + wide or abs(y - y1) > line for x1, y1, wide in taken):
            ax.text(x, y, mark.label, ha="center", va="center", fontsize=size)
            taken.append((x, y, half))
