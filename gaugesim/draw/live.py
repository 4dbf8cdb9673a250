"""A schematic whose voltages, currents, values and marks move while everything else stays."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.draw.branch_texts import Branch
from gaugesim.draw.geometry import INDENT, LETTERS, LINE
from gaugesim.draw.lettering import Lettered, Lettering
from gaugesim.draw.schematic_view import SchematicView
from gaugesim.draw.schematics import Schematic
from gaugesim.draw.style import number_text
from gaugesim.draw.test_leads import HungView

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes


class LiveSchematic(SchematicView):
    """A schematic of a circuit that stays the same, see ``fixed`` of `schematic`.

    Parameters
    ----------
    picture : Schematic
        With its faults, if any; they are marked by boxes that move.
    values : bool
        Whether to show voltages, currents, values and faults; without, it is the bare circuit.
    """

    inline = False

    def __init__(self, picture: Schematic, ax: Axes, values: bool = True) -> None:
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        self._lettering = Lettering(ax)
        self._values: dict[int, Lettered] = {}
        self._sound = picture.sound()
        super().__init__(self._sound if values else picture.bare(), ax, values)
        style: dict[str, Any] = {"facecolor": "none", "linewidth": 2.0 * self.scale, "zorder": 6}
        self._boxes = PathPatch(Path(np.zeros((0, 2))), gid="faults", **style)
        ax.add_patch(self._boxes)
        self._hung = HungView(ax, self.cells, self.scale, self._lettering)
        shapes = [*self._lines.values(), *self._lettering.shapes]
        self.moving: list[Artist] = [*shapes, self._boxes, *self._hung.moving]
        self._places = self._node_places(picture)
        self.shown = picture
        self.renew(picture)

    def _number(self, x: float, y: float, name: str, **more: Any) -> Lettered:
        # the foot of the letters against the middle, or against the lowest tail, of a line of text
        drop = -0.24 if more.get("va") == "bottom" else 0.36
        return self._lettering.add(x, y - drop * LETTERS, LETTERS)

    def _branch(self, branch: Branch, k: int, column: int, row: int, first: bool) -> None:
        super()._branch(branch, k, column, row, first)
        if branch.value:
            upper, lower = self.cells.row(row)
            foot = (upper + lower) / 2 - (len(self.cells.labels[k]) - (not first)) * LINE / 2
            self._values[k] = self._number(self.cells.x(column) + INDENT, foot, branch.name)

    def _node_places(self, picture: Schematic) -> dict[int, tuple[float, float]]:
        places = {}
        for chain, column, top in self._chains(picture):
            for i, node in enumerate(chain.nodes):
                places[node] = (self.cells.x(column), self.cells.node(chain, top, i))
        for bar in picture.layout.bars:
            places[bar.node] = (self.cells.x(bar.right), self.cells.line(bar.gap, bar.track))
        return places

    def texts(self) -> dict[str, str]:
        """What is written, for those who cannot see it.

        From ``volts-NODE``, ``amperes-BRANCH`` (the first of a chain) and ``value-BRANCH``.
        """
        names = [branch.name for branch in self._sound.branches]
        written = {f"volts-{self._names[node]}": entry for node, entry in self._volts.items()}
        written |= {f"amperes-{names[k]}": entry for k, entry in self._amperes.items()}
        written |= {f"value-{names[k]}": entry for k, entry in self._values.items()}
        return {name: entry.text for name, entry in written.items()}

    def hung_texts(self) -> list[str]:
        """What is written beside what a check and the faults have hung on the circuit."""
        return self._hung.texts()

    def renew(self, picture: Schematic) -> None:
        """Show other voltages, currents, values and faults of the same circuit.

        Parameters
        ----------
        picture : Schematic
            Drawn ``fixed`` too, of the same circuit and gauge.
        """
        self.shown = picture
        shown = picture if self.values else picture.bare()
        self._write(shown)
        for k, entry in self._values.items():
            branch = shown.branches[k]
            entry.set_text(branch.value or number_text(branch.ohms, "Ω"))
        self._hung.renew(shown.hung, self._places, self.values)
        self._lettering.refresh()
        self._boxes.set_path(self._fault_boxes(shown))

    def part_at(self, event: Any) -> str:
        """The element at the place of a mouse's event. ``""`` where there is none."""
        if event.inaxes is not self.ax:
            return ""
        for chain, column, top in self._chains(self._sound):
            left, right = self.cells.column_edges[column : column + 2]
            for i, k in enumerate(chain.branches):
                upper, lower = self.cells.row(top + i)
                if left <= event.xdata < right and lower <= event.ydata < upper:
                    return self._sound.branches[k].name
        return ""

    def _fault_boxes(self, picture: Schematic) -> Any:
        from matplotlib.path import Path

        boxes = [np.zeros((0, 2))]
        for chain, column, top in self._chains(picture):
            for i, k in enumerate(chain.branches):
                if picture.branches[k].fault:
                    x, (upper, lower) = self.cells.x(column), self.cells.row(top + i)
                    corners = [(-10, lower), (10, lower), (10, upper), (-10, upper), (-10, lower)]
                    boxes.append(np.array(corners) + np.array([x, 0.0]))
        codes = [Path.MOVETO, *[Path.LINETO] * 3, Path.CLOSEPOLY] * (len(boxes) - 1)
        return Path(np.concatenate(boxes), np.array(codes, dtype=np.uint8))
