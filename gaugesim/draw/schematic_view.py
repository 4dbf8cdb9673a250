"""Draws a schematic."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.draw.branch_texts import Branch
from gaugesim.draw.geometry import INDENT, LETTERS, LINE, MARGIN, SYMBOL, TITLE, Geometry
from gaugesim.draw.layout import Chain
from gaugesim.draw.schematics import ADDED, BACK, DEAD, IDLE, LIVE, Schematic
from gaugesim.draw.style import (
    COLOURS,
    FAINT,
    NO_CURRENT,
    NO_VOLTAGE,
    amperes_text,
    new_page,
    points_per_unit,
    text_width,
    volts_text,
)
from gaugesim.draw.symbols import symbol

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text

_LOOKS: dict[str, dict[str, Any]] = {
    LIVE: {"color": "black", "linewidth": 1.1, "linestyle": "-"},
    BACK: {"color": COLOURS[1], "linewidth": 2.4, "linestyle": "-"},
    IDLE: {"color": "black", "linewidth": 0.9, "linestyle": (0, (4, 1.6))},
    DEAD: {"color": FAINT, "linewidth": 0.9, "linestyle": (0, (1, 1.6))},
    ADDED: {"color": COLOURS[2], "linewidth": 2.2, "linestyle": "-"},
}
_WORDS = {
    LIVE: "current flows",
    BACK: "current backwards",
    IDLE: "voltage, no current",
    DEAD: "dead: no voltage, no current",
    ADDED: "added for this",
}
_INSIDE = "inside a gauge"
_SHADE = "0.91"
_FLAG: dict[str, Any] = {
    "color": "white",
    "weight": "bold",
    "bbox": {"facecolor": "black", "edgecolor": "none", "pad": 0.8},
}
_PAGES = ((297.0, 210.0), (210.0, 297.0))  # A4 both ways


def draw_schematic(picture: Schematic, ax: Axes | None = None, values: bool = True) -> Axes:
    """Draw a schematic.

    Parameters
    ----------
    ax : matplotlib.axes.Axes, optional
        New axes, large enough to read everything, if left out; letters shrink with smaller ones.
    values : bool
        Whether to write voltages, currents and ohms and to mark faults; without, it is the bare circuit.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.draw import draw_schematic, scene, schematic
    >>> ax = draw_schematic(schematic(scene(find("temp_two_coil"), faults=["sender_connector=open"])))
    >>> [text.get_text() for text in ax.texts if "FAULT" in text.get_text()]
    ['FAULT: open']
    """
    return SchematicView(picture if values else picture.bare(), ax, values).ax


class SchematicView:
    """A schematic on its axes."""

    inline = True  # whether a value may stand in the last line of a name

    def __init__(self, picture: Schematic, ax: Axes | None = None, values: bool = True) -> None:
        self.cells = _fitted(picture, ax, self.inline)
        width, height = self.cells.width, self.cells.height
        self.ax = ax if ax is not None else new_page(width / 72, height / 72)
        self.values = values
        self._names = picture.nodes
        self.ax.set_axis_off()
        self.ax.set(xlim=(0, width), ylim=(0, height), aspect="equal")
        self.scale = points_per_unit(self.ax, width, height)
        self._volts: dict[int, Any] = {}
        self._amperes: dict[int, Any] = {}
        self._lines = {look: self._collection(look) for look in _LOOKS}
        for chain, column, top in self._chains(picture):
            for i, k in enumerate(chain.branches):
                self._branch(picture.branches[k], k, column, top + i, first=i == 0)
            self._nodes(chain, column, top)
        self._bars(picture)
        self._heading()
        self._legend(picture)
        self._write(picture)

    def _chains(self, picture: Schematic) -> list[tuple[Chain, int, int]]:
        layout = picture.layout
        return list(zip(layout.chains, layout.columns, layout.rows, strict=True))

    def _collection(self, look: str) -> Any:
        from matplotlib.collections import LineCollection

        style = _LOOKS[look] | {"linewidth": _LOOKS[look]["linewidth"] * self.scale}
        return self.ax.add_collection(LineCollection([], zorder=2, capstyle="butt", **style))

    def _text(self, x: float, y: float, text: str, **more: Any) -> Text:
        style: dict[str, Any] = {"ha": "left", "va": "center", "fontsize": LETTERS * self.scale} | more
        return self.ax.text(x, y, text, **style)

    def _number(self, x: float, y: float, name: str, **more: Any) -> Any:
        """A text that is written later."""
        return self._text(x, y, "", gid=name, **more)

    def _rectangle(self, left: float, right: float, lower: float, upper: float, **style: Any) -> None:
        from matplotlib.patches import Rectangle

        self.ax.add_patch(Rectangle((left, lower), right - left, upper - lower, **style))

    def _branch(self, branch: Branch, k: int, column: int, row: int, first: bool) -> None:
        """What stays beside and behind a branch: its name, the gauge it is in, the mark of a fault."""
        cells = self.cells
        x, (upper, lower) = cells.x(column), cells.row(row)
        lines = cells.labels[k]
        y = (upper + lower) / 2 + (len(lines) - (not first)) * LINE / 2
        if first:
            if self.values:
                self._amperes[k] = self._number(x + INDENT, y, f"amperes-{branch.name}", style="italic")
            y -= LINE
        if branch.gauge:
            left, right = cells.column_edges[column : column + 2]
            self._rectangle(left + 1, right - 1, lower - 1, upper + 1, facecolor=_SHADE, zorder=1)
        if branch.fault:
            style = {"facecolor": "white", "edgecolor": "black", "linewidth": 1.8 * self.scale}
            self._rectangle(x - 9.5, x + 9.5, lower, upper, zorder=1.5, **style)
        alone = bool(branch.value) and not self.inline  # then the value has the last line
        for j, line in enumerate(lines[:-1] if alone else lines):
            flag = bool(branch.fault) and j == len(lines) - 1
            self._text(x + INDENT, y - j * LINE, line, **(_FLAG if flag else {}))
        self._text(x, (upper + lower) / 2, symbol(branch.symbol).text, ha="center")

    def _nodes(self, chain: Chain, column: int, top: int) -> None:
        x = self.cells.x(column)
        for i, node in enumerate(chain.nodes):
            inner = 0 < i < len(chain.nodes) - 1
            y = self.cells.node(chain, top, i)
            size = (1.6 if inner else 2.8) * self.scale
            self.ax.plot(x, y, "o", color="black", markersize=size, zorder=4)
            if inner and self.values:
                self._volts[node] = self._node_text(x, y, self._names[node])

    def _node_text(self, x: float, y: float, node: str) -> Any:
        return self._number(x + 4, y + 1.0, f"volts-{node}", va="bottom")

    def _bars(self, picture: Schematic) -> None:
        for bar in picture.layout.bars:
            x, y = self.cells.x(bar.left) + 4, self.cells.line(bar.gap, bar.track) + 1.0
            words = self.cells.bar_lines(bar)
            for j, line in enumerate(words):
                self._text(x, y + (len(words) - j) * LINE, line, va="bottom", weight="bold")
            if self.values:
                self._volts[bar.node] = self._node_text(x - 4, y - 1.0, self._names[bar.node])

    def _heading(self) -> None:
        for j, (line, weight) in enumerate(self.cells.title_lines):
            y = self.cells.height - MARGIN - (j + 0.5) * TITLE
            self._text(MARGIN + 2, y, line, fontsize=(LETTERS + 1.0) * self.scale, weight=weight)

    def _legend(self, picture: Schematic) -> None:
        x, y = MARGIN + 2.0, MARGIN + 2.0
        entries = dict(_WORDS) if self.values else {}
        if self.inline and not any(branch.added for branch in picture.branches):
            entries.pop(ADDED, None)
        if self.inline and not picture.back:
            entries.pop(BACK, None)
        if any(branch.gauge for branch in picture.branches):
            entries[_INSIDE] = _INSIDE
        for look, words in entries.items():
            if look == _INSIDE:
                self._rectangle(x, x + 18, y - 4, y + 4, facecolor=_SHADE)
            else:
                style = _LOOKS[look] | {"linewidth": _LOOKS[look]["linewidth"] * self.scale}
                self.ax.plot([x, x + 18], [y, y], **style)
            self._text(x + 22, y, words)
            x += 34 + text_width(words, LETTERS)
        for j, note in enumerate(picture.notes):
            self._text(MARGIN + 2.0, y + (j + 1) * LINE, note)

    def _write(self, picture: Schematic) -> None:
        """Voltages, currents and lines."""
        for node, written in self._volts.items():
            text = volts_text(float(picture.volts[node]))
            written.set_text(text)
            written.set_color(FAINT if picture.node_look(node) == DEAD else "black")
            written.set_fontstyle("italic" if text == NO_VOLTAGE else "normal")
        for chain in picture.layout.chains:
            k = chain.branches[0]
            if k in self._amperes:
                text = amperes_text(float(picture.amperes[k]) * (1.0 if chain.downward[0] else -1.0))
                self._amperes[k].set_text(text)
                self._amperes[k].set_color(FAINT if text == NO_CURRENT else "black")
        for look, lines in self._segments(picture).items():
            self._lines[look].set_segments(lines)

    def _segments(self, picture: Schematic) -> dict[str, list[Floats]]:
        """Every line, by how it is drawn."""
        cells = self.cells
        result: dict[str, list[Floats]] = {look: [] for look in _LOOKS}

        def look(branch: int, node: int | None = None) -> str:
            return picture.look(branch, node) if self.values else LIVE

        for chain, column, top in self._chains(picture):
            x = cells.x(column)
            for i, k in enumerate(chain.branches):
                middle = sum(cells.row(top + i)) / 2
                start, end = middle + SYMBOL / 2, middle - SYMBOL / 2
                for j, edge in ((i, start), (i + 1, end)):
                    lead = np.array([[x, cells.node(chain, top, j)], [x, edge]])
                    result[look(k, chain.nodes[j])].append(lead)
                branch = picture.branches[k]
                for line in symbol(branch.symbol).lines:
                    along = line[:, 0] if chain.downward[i] else 1.0 - line[:, 0]
                    result[look(k)].append(
                        np.stack([x + SYMBOL * line[:, 1], start - SYMBOL * along], axis=1)
                    )
                if branch.broken and self.values:
                    result[LIVE] += [np.array([x, middle]) + 26.0 * line for line in symbol("cross").lines]
        for bar in picture.layout.bars:
            y = cells.line(bar.gap, bar.track)
            line = np.array([[cells.x(bar.left), y], [cells.x(bar.right), y]])
            result[picture.node_look(bar.node) if self.values else LIVE].append(line)
            if bar.node == len(picture.nodes) - 1:
                result[LIVE] += [line[0] + 14.0 * stroke for stroke in symbol("ground").lines]
        return result


def _fitted(picture: Schematic, ax: Axes | None, inline: bool) -> Geometry:
    """Cells for the shape of the axes, or for the better way to turn a sheet of paper."""
    if ax is not None:
        box = ax.get_window_extent()
        return Geometry.fitting(picture, box.width, box.height, inline)
    geometries = [(Geometry.fitting(picture, *page, inline), page) for page in _PAGES]
    return max(geometries, key=lambda each: min(each[1][0] / each[0].width, each[1][1] / each[0].height))[0]
