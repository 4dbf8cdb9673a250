"""The wiring on the page of a job: its pictures, and where in them each check is made."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from markupsafe import Markup

from gaugesim.advice.jobs import Job
from gaugesim.circuit import Circuit
from gaugesim.draw.scenes import scene
from gaugesim.draw.schematics import Schematic, schematic
from gaugesim.draw.vector import schematic_svg
from gaugesim.scenario.check import LAMP, METER, Check
from gaugesim.solve.network import GROUND

# what is written at the two ends of what a check hangs on the circuit
_ENDS = {METER: ("red probe", "black probe"), LAMP: ("lamp", "its clip")}
# parts that have a colour of their own
_COLOURED = ("wire", "feed_wire", "cable")


@dataclass(frozen=True)
class PageMark:
    """A mark in the wiring.

    Attributes
    ----------
    point : bool
        Whether at a point; else at a part.
    number : int
        Of the circuit's nodes, ground last, or of its branches.
    """

    point: bool
    number: int
    words: str


@dataclass(frozen=True)
class PageName:
    """A point or a wire that a person may call by a name of his own."""

    point: bool
    number: int
    words: str


def page_names(work: Job) -> tuple[PageName, ...]:
    """The points and wires of the gauge complained of, and those that it shares."""
    circuit, own = work.circuit, ("", work.diagnosis.gauge)
    wires = [part for part in circuit.sheet.parts.values() if part.kind in _COLOURED and part.element]
    return (
        *(
            PageName(True, _node(circuit, point.node), point.words)
            for point in circuit.sheet.points.values()
            if point.gauge in own
        ),
        *(
            PageName(False, circuit.wiring.branch(part.element), part.words)
            for part in wires
            if part.gauge in own
        ),
    )


def page_marks(circuit: Circuit, check: Check) -> tuple[PageMark, ...]:
    """Where a check is made, what it is made for first."""
    branches = circuit.wiring.names
    marks = []
    for path in check.setup.paths:
        lead = "lead" if path.name == "wire" else path.name.replace("_", " ")
        words = _ENDS.get(path.name, (lead, "its other end"))
        marks += [
            PageMark(True, _node(circuit, node), word)
            for node, word in zip((path.node_a, path.node_b), words, strict=True)
        ]
    marks += [
        PageMark(False, circuit.wiring.branch(name), "off here")
        for name, ohms in check.setup.branches.items()
        if math.isinf(ohms) and name in branches
    ]
    part = circuit.sheet.parts.get(check.part)
    if part and part.element:
        marks.append(PageMark(False, circuit.wiring.branch(part.element), "here"))
    return tuple(marks)


def _node(circuit: Circuit, node: str) -> int:
    return (*circuit.wiring.nodes, GROUND).index(node)


class Pictures:
    """The wiring of each gauge, drawn when it is asked for."""

    def __init__(self, work: Job) -> None:
        self.circuit = work.circuit
        self._sound = scene(work.circuit, gauge=work.diagnosis.gauge)
        others = (name for name in work.circuit.sheet.gauges if name != work.diagnosis.gauge)
        self._gauges = (work.diagnosis.gauge, *others)
        self._used = {work.diagnosis.gauge}
        self._drawn = cache(self._draw)

    def _draw(self, gauge: str) -> Schematic:
        return schematic(self._sound, gauge, fixed=True)

    def showing(self, marks: Iterable[PageMark]) -> str:
        """The gauge whose wiring has all marks in it. Empty where there is none."""
        wiring = self.circuit.wiring
        nodes = (*wiring.nodes, GROUND)
        wanted = {nodes[mark.number] if mark.point else wiring.names[mark.number] for mark in marks}
        for gauge in self._gauges:
            picture = self._drawn(gauge)
            if wanted <= {*picture.nodes, *(branch.name for branch in picture.branches)}:
                self._used.add(gauge)
                return gauge
        return ""

    def svg(self) -> Markup:
        """All pictures that anything was shown in, the gauge complained of first."""
        gauges = [gauge for gauge in self._gauges if gauge in self._used]
        return Markup("").join(
            Markup('<div class="picture" data-picture="{}">{}</div>').format(gauge, self._svg(gauge))
            for gauge in gauges
        )

    def _svg(self, gauge: str) -> Markup:
        words = f"Wiring of the {self.circuit.sheet.gauges[gauge].called} gauge, with its voltages when sound"
        return schematic_svg(self._drawn(gauge), self.circuit.wiring, words, values=True)
