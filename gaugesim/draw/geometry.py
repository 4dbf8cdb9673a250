"""Sizes of the schematic's rows, gaps and columns, so that every text has a cell of its own."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass, replace
from functools import cached_property

from gaugesim.draw.branch_texts import Branch
from gaugesim.draw.layout import Bar, Chain
from gaugesim.draw.schematics import Schematic
from gaugesim.draw.style import NO_CURRENT, NO_VOLTAGE, text_width

LETTERS = 6.5  # size of the letters [point]
LINE = 8.2  # a line of text [point]
SYMBOL = 19.0  # length of a symbol [point]
LEFT = 12.0  # from a column's edge to its line [point]
INDENT = 13.0  # from its line to its texts [point]
RIGHT = 5.0
TRACK = 10.5  # height of a node's line with its voltage [point]
MARGIN = 8.0
STRIP = 104.0  # width of the strip for what a check hangs on a circuit that stays where it is [point]
_LEAST = 500.0  # width that the legend needs [point]
_WIDEST = "-888 mΩ"  # no value is wider than this
_WRAPS = range(12, 27, 2)  # letters in a line
TITLE = 9.5  # a line of the heading [point]


@dataclass(frozen=True)
class Geometry:
    """Where the cells of a schematic are, in points from the lower left corner.

    Parameters
    ----------
    inline : bool
        Whether a value may stand in the last line of a name; else it has a line of its own, and a strip at
        the right edge is left free.
    """

    picture: Schematic
    wrap: int
    inline: bool = True

    @classmethod
    def fitting(cls, picture: Schematic, width: float, height: float, inline: bool = True) -> Geometry:
        """The one whose letters are largest on a page of some shape.

        Parameters
        ----------
        width, height : float
            Of the page, in any unit [1].
        """
        layouts = [cls(picture, wrap, inline) for wrap in _WRAPS]
        return max(layouts, key=lambda each: min(width / each.width, height / each.height))

    @cached_property
    def labels(self) -> tuple[tuple[str, ...], ...]:
        """Lines of text beside each branch."""
        return tuple(label(branch, self.wrap, self.inline) for branch in self.picture.branches)

    @cached_property
    def title_lines(self) -> list[tuple[str, str]]:
        """The heading, wrapped to the width, with its weight."""
        letters = int(self.width / (0.62 * TITLE))
        return [
            (line, "normal" if i else "bold")
            for i, text in enumerate(self.picture.heading)
            for line in textwrap.wrap(text, letters)
        ]

    def bar_lines(self, bar: Bar) -> list[str]:
        """Name of a bar, wrapped."""
        return textwrap.wrap(self.picture.node_words[bar.node], self.wrap + 4)

    @cached_property
    def column_edges(self) -> list[float]:
        """Left edge of every column, and the right edge of the last."""
        layout = self.picture.layout
        widths = [text_width(f"{NO_VOLTAGE} ", LETTERS)] * layout.width
        for chain, column in zip(layout.chains, layout.columns, strict=True):
            for k in chain.branches:
                branch = self.picture.branches[k]
                weight = "bold" if branch.fault else "normal"
                wide = replace(branch, value=_WIDEST) if branch.value else branch
                widest = label(wide, self.wrap, self.inline)
                for line in (*widest, NO_CURRENT):
                    widths[column] = max(widths[column], text_width(line, LETTERS, weight))
        for bar in layout.bars:
            for line in self.bar_lines(bar):
                widths[bar.left] = max(widths[bar.left], text_width(line, LETTERS, "bold") - INDENT + 4.0)
        edges = [MARGIN]
        for width in widths:
            edges.append(edges[-1] + LEFT + INDENT + width + RIGHT)
        return edges

    @cached_property
    def _depths(self) -> tuple[list[tuple[float, float]], list[list[float]], float]:
        """Upper and lower edge of each row, line of each track, and the whole, downwards from the top."""
        layout = self.picture.layout
        row_heights = [SYMBOL + 3.0] * layout.height
        for chain, top in zip(layout.chains, layout.rows, strict=True):
            for i, k in enumerate(chain.branches):
                lines = len(self.labels[k]) + (i == 0)
                row_heights[top + i] = max(row_heights[top + i], lines * LINE + 3.0)
        rows, tracks, depth = [], [], MARGIN + TITLE * len(self.title_lines)
        for gap in range(layout.height + 1):
            heights = [TRACK] * layout.tracks[gap]
            for bar in layout.bars:
                if bar.gap == gap:
                    lines = len(self.bar_lines(bar)) + 1
                    heights[bar.track] = max(heights[bar.track], lines * LINE + 3.0)
            tracks.append([depth := depth + height for height in heights])
            if gap < layout.height:
                rows.append((depth + 2.0, depth := depth + 2.0 + row_heights[gap]))
        return rows, tracks, depth

    @cached_property
    def height(self) -> float:
        """Of the whole picture [point]."""
        return self._depths[2] + 24.0 + MARGIN + LINE * len(self.picture.notes)

    @property
    def width(self) -> float:
        """Of the whole picture, legend, heading and strip included [point]."""
        return max(_LEAST, self.column_edges[-1]) + MARGIN + (0.0 if self.inline else STRIP)

    def x(self, column: int) -> float:
        """Line of a column [point]."""
        return self.column_edges[column] + LEFT

    def row(self, row: int) -> tuple[float, float]:
        """Upper and lower edge of a row [point]."""
        top, bottom = self._depths[0][row]
        return self.height - top, self.height - bottom

    def line(self, gap: int, track: int = 0) -> float:
        """Height of a node's line [point]."""
        return self.height - self._depths[1][gap][track]

    def node(self, chain: Chain, top: int, i: int) -> float:
        """Height of the i-th node of a chain [point]."""
        if i in (0, len(chain.nodes) - 1):
            bar = self.picture.layout.bar(chain.nodes[i])
            return self.line(bar.gap, bar.track)
        return self.line(top + i)


def label(branch: Branch, wrap: int, inline: bool = True) -> tuple[str, ...]:
    """Lines of text beside a branch; how many does not depend on the number in them.

    The last one is the flag of a fault, if there is one.

    Parameters
    ----------
    wrap : int
        Letters in a line [1].
    inline : bool
        Whether the value may stand in the last line of the name.
    """
    lines = textwrap.wrap(branch.words, wrap)
    if branch.fault:
        return (*lines, f"FAULT: {branch.value}" if branch.value else "FAULT")
    if inline and branch.value and len(lines[-1]) + len(_WIDEST) + 2 <= wrap:
        return (*lines[:-1], f"{lines[-1]}, {branch.value}")
    return (*lines, branch.value) if branch.value else tuple(lines)
