"""A schematic and a dial as SVG whose every part can be found, touched and coloured by a page's script."""

from __future__ import annotations

import math
from collections.abc import Iterator

from markupsafe import Markup

from gaugesim.draw.dial import dial_degrees
from gaugesim.draw.geometry import INDENT, LETTERS, LINE, STRIP, SYMBOL, Geometry
from gaugesim.draw.layout import Chain
from gaugesim.draw.schematics import Schematic
from gaugesim.draw.style import amperes_text, volts_text
from gaugesim.draw.symbols import symbol
from gaugesim.sheet import Gauge
from gaugesim.solve.network import GROUND, Network

_WRAP = 15  # letters in a line beside a part


def schematic_svg(picture: Schematic, wiring: Network, words: str, values: bool = False) -> Markup:
    """Draw a schematic that stays the same whatever happens in it.

    Parameters
    ----------
    picture : Schematic
        Drawn ``fixed``.
    wiring : Network
        Whose branches and nodes the page's script numbers.
    values : bool
        Whether to write voltages and currents; left out, a script does.

    Returns
    -------
    Markup
        With ``data-branch`` on each part, ``data-lead`` on its lines, ``data-volts``, ``data-node`` at each
        node, ``data-amperes`` on each chain's current, with its sign.
    """
    return _Drawing(picture, wiring, values).whole(words)


class _Drawing:
    def __init__(self, picture: Schematic, wiring: Network, values: bool) -> None:
        self.picture, self.values = picture, values
        self.cells = Geometry(picture, _WRAP, inline=False)
        names = {name: k for k, name in enumerate(wiring.names)}
        self.branch = [names[branch.name] for branch in picture.branches]
        nodes = {name: k for k, name in enumerate((*wiring.nodes, GROUND))}
        self.node = [nodes[name] for name in picture.nodes]

    def whole(self, words: str) -> Markup:
        cells = self.cells
        # the strip for test leads and the legend below are not for a page
        width, height = cells.column_edges[-1] + 8.0, cells.height - 24.0
        assert width <= cells.width - STRIP + 8.0
        return Markup(
            '<svg xmlns="http://www.w3.org/2000/svg" width="{0:.0f}" height="{1:.0f}" '
            'viewBox="0 0 {0:.0f} {1:.0f}" role="group" aria-label="{2}">{3}</svg>'
        ).format(width, height, words, Markup("".join([*self._cells(), *self._bars()])))

    def _y(self, height: float) -> float:
        return self.cells.height - height

    def _cells(self) -> Iterator[str]:
        layout = self.picture.layout
        nodes = []
        for chain, column, top in zip(layout.chains, layout.columns, layout.rows, strict=True):
            for i, k in enumerate(chain.branches):
                yield from self._part(chain, i, k, column, top + i)
            for i, node in enumerate(chain.nodes):
                x, y = self.cells.x(column), self._y(self.cells.node(chain, top, i))
                if 0 < i < len(chain.nodes) - 1:
                    nodes.append(self._node(node, x, y, 1.8, (x + 4, y - 2)))
                else:
                    nodes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6"/>')
        yield from nodes

    def _part(self, chain: Chain, i: int, k: int, column: int, row: int) -> Iterator[str]:
        cells, branch, number = self.cells, self.picture.branches[k], self.branch[k]
        x, (upper, lower) = cells.x(column), cells.row(row)
        left, right = cells.column_edges[column : column + 2]
        middle = self._y((upper + lower) / 2)
        start, end = middle - SYMBOL / 2, middle + SYMBOL / 2
        lines = []
        top = row - i
        for j, edge in ((i, start), (i + 1, end)):
            lines.append([(x, self._y(cells.node(chain, top, j))), (x, edge)])
        drawn = symbol(branch.symbol)
        for line in drawn.lines:
            along = line[:, 0] if chain.downward[i] else 1.0 - line[:, 0]
            lines.append(
                [(x + SYMBOL * b, start + SYMBOL * a) for a, b in zip(along, line[:, 1], strict=True)]
            )
        path = "".join("M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in line) for line in lines)
        shade = ' class="inside"' if branch.gauge else ""
        corner, size = (left + 1, self._y(upper)), (right - left - 2, upper - lower)
        box = f'x="{corner[0]:.1f}" y="{corner[1]:.1f}" width="{size[0]:.1f}" height="{size[1]:.1f}"'
        yield f'<g class="part" data-branch="{number}"><rect {box}{shade}/>'
        yield f'<path d="{path}" data-lead="{number}"/>'
        if drawn.text:
            yield _write(x, middle + 2.3, drawn.text, ' text-anchor="middle"')
        texts = [*cells.labels[k]]
        y = middle - (len(texts) - (i != 0)) * LINE / 2 + LETTERS * 0.36
        if i == 0:
            sign = 1 if chain.downward[0] else -1
            flows = amperes_text(sign * float(self.picture.amperes[k])) if self.values else ""
            yield _write(x + INDENT, y, flows, f' data-amperes="{number}" data-sign="{sign}"')
            y += LINE
        for j, text in enumerate(texts):
            is_value = bool(branch.value) and j == len(texts) - 1
            mark = f' data-value="{number}"' if is_value else ""
            yield _write(x + INDENT, y + j * LINE, text, mark)
        yield Markup("<title>{}</title></g>").format(branch.words)

    def _node(self, node: int, x: float, y: float, size: float, text: tuple[float, float]) -> str:
        number = self.node[node]
        volts = volts_text(float(self.picture.volts[node])) if self.values else ""
        written = _write(*text, volts, f' data-volts="{number}"')
        return (
            f'<g class="point" data-node="{number}"><circle cx="{x:.1f}" cy="{y:.1f}" r="11" class="touch"/>'
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size}"/>'
            f"{written}</g>"
        )

    def _bars(self) -> Iterator[str]:
        cells = self.cells
        for bar in self.picture.layout.bars:
            y, left, right = self._y(cells.line(bar.gap, bar.track)), cells.x(bar.left), cells.x(bar.right)
            yield f'<path d="M{left:.1f} {y:.1f}L{right:.1f} {y:.1f}" data-bar="{self.node[bar.node]}"/>'
            words = cells.bar_lines(bar)
            for j, line in enumerate(words):
                at = y - 2 - (len(words) - j) * LINE
                yield _write(left + 4, at, line, ' class="name"')
            yield self._node(bar.node, left, y, 2.6, (left + 4, y - 2))
            if self.picture.nodes[bar.node] == GROUND:
                for stroke in symbol("ground").lines:
                    path = "L".join(f"{left + 14 * a:.1f} {y - 14 * b:.1f}" for a, b in stroke)
                    yield f'<path d="M{path}"/>'


def _write(x: float, y: float, text: str, more: str = "") -> str:
    return Markup(f'<text x="{x:.1f}" y="{y:.1f}"{more}>{{}}</text>').format(text)


def dial_svg(gauge: Gauge) -> Markup:
    """Draw a dial whose needle a script turns about (0, 0).

    Returns
    -------
    Markup
        With ``data-needle``, which points to mid-scale, and ``data-truth``, a ring on the arc there.
    """

    def at(position: float, size: float) -> str:
        turn = math.radians(float(dial_degrees(position)))
        return f"{size * math.cos(turn):.2f} {-size * math.sin(turn):.2f}"

    low, high = gauge.stops
    lines = [f'<path d="M{at(low, 100)}A100 100 0 0 1 {at(high, 100)}"/>']
    for stop in gauge.stops:
        lines.append(f'<path d="M{at(stop, 93)}L{at(stop, 107)}" class="stop"/>')
    for mark in gauge.marks:
        lines.append(f'<path d="M{at(mark.position, 88)}L{at(mark.position, 100)}"/>')
        x, y = at(mark.position, 119).split()
        lines.append(Markup('<text x="{}" y="{}" dy="5">{}</text>').format(x, y, mark.label))
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-125 -135 250 150" role="img" '
        'aria-labelledby="word-{0}">{1}<circle r="6" cy="-100" class="truth" data-truth="{0}"/>'
        '<path d="M0 0L0 -95" class="needle" data-needle="{0}"/><circle r="8"/></svg>'
    ).format(gauge.id, Markup("".join(lines)))
