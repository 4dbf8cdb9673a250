"""Test leads, meters and lamps beside a schematic in which all else stays where it is.

Each stands in a strip at the right edge, its two leads lie over the drawing as test leads do over a vehicle.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.draw.geometry import INDENT, LETTERS, LINE, MARGIN, STRIP, SYMBOL, Geometry
from gaugesim.draw.labels import apart
from gaugesim.draw.lettering import Lettered, Lettering
from gaugesim.draw.schematics import Hung
from gaugesim.draw.style import COLOURS, amperes_text
from gaugesim.draw.symbols import symbol

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

_MOST = 8  # pieces that have texts
_LINES = 6  # of text beside one
_WRAP = 17  # letters in a line
_ROOM = (_LINES + 1.5) * LINE  # height that one takes
_STUB = 14.0  # of a lead whose node is not drawn


class HungView:
    """What a check and the faults have hung on a circuit.

    Parameters
    ----------
    scale : float
        Points in a unit of the axes [1].
    """

    def __init__(self, ax: Axes, cells: Geometry, scale: float, lettering: Lettering) -> None:
        from matplotlib.collections import LineCollection

        self._cells = cells
        self._x = cells.width - MARGIN - STRIP + 24.0
        self._entries: list[list[Lettered]] = [
            [lettering.add(self._x + INDENT, 0.0, LETTERS) for _ in range(_LINES)] for _ in range(_MOST)
        ]
        # where a lead crosses a line it lies above it, where it crosses a text below it
        looks = (("white", 5.0, 2.5), (COLOURS[2], 1.9, 2.6))
        self._lines = [
            LineCollection([], colors=colour, linewidths=wide * scale, zorder=order, capstyle="round")
            for colour, wide, order in looks
        ]
        for collection in self._lines:
            ax.add_collection(collection)
        (self._clips,) = ax.plot(
            [], [], linestyle="none", marker="o", markersize=5 * scale, color=COLOURS[2], zorder=7
        )  # fmt: skip
        self.moving: list[Artist] = [*self._lines, self._clips]

    def renew(
        self, hung: Sequence[Hung], places: Mapping[int, tuple[float, float]], currents: bool = True
    ) -> None:
        """Show other pieces."""
        shown = hung[:_MOST]
        wanted = [
            float(np.mean([places[node][1] for node in each.ends if node in places] or [0.0]))
            for each in shown
        ]
        top = self._cells.height - MARGIN
        middles = apart(wanted, [_ROOM] * len(shown), 3 * LINE + MARGIN, top)
        lines: list[Any] = []
        clips: list[tuple[float, float]] = []
        for each, y in zip(shown, middles.tolist(), strict=True):
            for line in symbol(each.branch.symbol).lines:
                lines.append(
                    np.stack([self._x + SYMBOL * line[:, 1], y + SYMBOL * (0.5 - line[:, 0])], axis=1)
                )
            for node, side in zip(each.ends, (1.0, -1.0), strict=True):
                terminal = (self._x, y + side * SYMBOL / 2)
                lines.append(_lead(places.get(node), terminal, side))
                clips += [places[node]] if node in places else []
        for collection in self._lines:
            collection.set_segments(lines)
        self._clips.set_data([x for x, _ in clips], [y for _, y in clips])
        for k, entries in enumerate(self._entries):
            texts = _texts(shown[k], currents) if k < len(shown) else []
            foot = middles[k] + (len(texts) / 2 - 1) * LINE + 1.0 if texts else 0.0
            for j, entry in enumerate(entries):
                entry.baseline = foot - j * LINE
                entry.set_text(texts[j] if j < len(texts) else "")

    def texts(self) -> list[str]:
        """What is written, for those who cannot see it."""
        return [entry.text for entries in self._entries for entry in entries if entry.text]


def _texts(hung: Hung, currents: bool) -> list[str]:
    words = textwrap.wrap(hung.branch.words, _WRAP, max_lines=_LINES - 2, placeholder=" …")
    more = [hung.branch.value] * bool(hung.branch.value) + [amperes_text(hung.amperes)] * currents
    return [*words, *more]


def _lead(node: tuple[float, float] | None, terminal: tuple[float, float], side: float) -> Any:
    """A lead from a node to a terminal, which it reaches upright."""
    x, y = terminal
    if node is None:
        return np.array([(x, y), (x, y + side * _STUB)])
    bend = min(60.0, max(20.0, abs(node[0] - x) / 3))
    corners = np.array([node, ((node[0] + x) / 2, node[1]), (x, y + side * bend), terminal])
    t = np.linspace(0.0, 1.0, 33)[:, None]
    weights = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3]
    return sum(weight * corner for weight, corner in zip(weights, corners, strict=True))
