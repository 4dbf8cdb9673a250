"""The circuit as a schematic: the wiring says what stands where, the solution what is written there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.draw.branch_texts import Branch, branches
from gaugesim.draw.layout import Layout, arrange
from gaugesim.draw.scenes import Scene
from gaugesim.draw.style import LIVE_AMPERES, LIVE_VOLTS
from gaugesim.reading.exact import with_faults
from gaugesim.reading.names import node_words
from gaugesim.solve import nodal
from gaugesim.solve.network import GROUND, Integers, Network

LIVE, BACK, IDLE, DEAD, ADDED = "live", "back", "idle", "dead", "added"


# a current backwards is told from this share of the sound one on
_TELLING = 0.05


@dataclass(frozen=True)
class Hung:
    """What a check or a fault has put across two nodes of a picture in which all else stays where it is.

    Attributes
    ----------
    ends : (int, int)
        Node numbers; -1 for a node that is not drawn.
    amperes : float
        From the first to the second [A].
    """

    branch: Branch
    ends: tuple[int, int]
    amperes: float


@dataclass(frozen=True)
class Schematic:
    """A circuit laid out, with its voltages and currents.

    Attributes
    ----------
    nodes : tuple of str
        Ground last.
    ends : ndarray, shape (branches, 2)
        Node numbers of each branch.
    node_words : tuple of str
        Empty for a node that is no point of the sheet.
    volts : ndarray, shape (nodes,)
        Against battery negative [V]; NaN where cut off from everything.
    amperes : ndarray, shape (branches,)
        From the first node to the second [A].
    back : frozenset of int
        Branches through which the fault drives a current backwards: the other way than in the sound circuit.
    hung : tuple of Hung
        What a check and the faults have added, where the branches are the netlist's own only.
    """

    title: tuple[str, ...]
    nodes: tuple[str, ...]
    ends: Integers
    layout: Layout
    branches: tuple[Branch, ...]
    node_words: tuple[str, ...]
    volts: Floats
    amperes: Floats
    notes: tuple[str, ...]
    faults: tuple[str, ...] = ()
    back: frozenset[int] = frozenset()
    hung: tuple[Hung, ...] = ()

    @property
    def heading(self) -> tuple[str, ...]:
        """Lines above it: the title, then the faults."""
        return (*self.title, *(f"Fault: {words}" for words in self.faults))

    @property
    def back_words(self) -> tuple[str, ...]:
        """Where a current flows backwards, in a sentence; empty where none does."""
        names = [self.branches[k].words for k in sorted(self.back)]
        return (f"Current backwards through {', '.join(names)}.",) if names else ()

    def sound(self) -> Schematic:
        """Without the names and the marks of faults."""
        return replace(self, branches=tuple(replace(each, fault="") for each in self.branches), faults=())

    def bare(self) -> Schematic:
        """Without all that would give faults away: their names and marks, and the values of parts."""
        plain = tuple(replace(branch, value="", fault="", broken=False) for branch in self.branches)
        hung = tuple(each for each in self.hung if ":" not in each.branch.name)
        return replace(self, branches=plain, faults=(), back=frozenset(), hung=hung)

    def node_is_live(self, node: int) -> bool:
        """Whether a test lamp or a meter finds voltage at a node."""
        return bool(np.abs(np.nan_to_num(self.volts[node])) > LIVE_VOLTS)

    def node_look(self, node: int) -> str:
        """How a node is drawn: the liveliest look of what meets there."""
        return self._node_looks[node]

    @cached_property
    def _node_looks(self) -> dict[int, str]:
        looks: dict[int, str] = {}
        liveliest = (LIVE, BACK, IDLE, DEAD, ADDED)
        for k, pair in enumerate(self.ends.tolist()):
            for node in pair:
                look = self.look(k, node)
                looks[node] = min(looks.get(node, look), look, key=liveliest.index)
        return looks

    def look(self, branch: int, node: int | None = None) -> str:
        """How a branch is drawn, or its lead at one of its nodes.

        ``added`` for what a check or a fault has put there; ``back`` where a fault drives a current
        backwards, ``live`` where one flows, ``idle`` where there is voltage alone, else ``dead``.
        """
        if self.branches[branch].added:
            return ADDED
        if branch in self.back:
            return BACK
        if abs(self.amperes[branch]) > LIVE_AMPERES:
            return LIVE
        nodes = self.ends[branch] if node is None else [node]
        return IDLE if any(self.node_is_live(int(each)) for each in nodes) else DEAD


def schematic(scene: Scene, gauge: str | None = None, fixed: bool = False) -> Schematic:
    """Lay out what a scene shows.

    Parameters
    ----------
    gauge : str, optional
        Only this gauge's branch and what it shares with the others.
    fixed : bool
        Whether to lay out the netlist's own branches only, so that everything stays where it is whatever
        check is made and whatever fails; what these add is then in ``hung``.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.draw.scenes import scene
    >>> picture = schematic(scene(find("temp_two_coil"), faults=["sender_connector=open"]))
    >>> [branch.words for branch in picture.branches if branch.fault]
    ['connector on the sender']
    """
    circuit, situation = scene.circuit, scene.situation
    whole = with_faults(situation.network, scene.scenarios, 0, situation.decided(situation.network))
    keep, usual = _drawn(scene, whole, gauge, fixed), _drawn(scene, whole, gauge, True)
    drawn, number = _part_of(whole, keep)
    nodes = (*drawn.nodes, GROUND)
    before = None
    if keep != usual:
        # whatever is added or taken away, the rest keeps its order from left to right
        alone = _laid_out(circuit, whole, usual, gauge)
        placed = zip(alone.chains, alone.columns, strict=True)
        columns = {usual[k]: column for chain, column in placed for k in chain.branches}
        before = {i: columns[k] for i, k in enumerate(keep) if k in columns}
    return Schematic(
        () if fixed else tuple(scene.title.splitlines()),
        nodes,
        drawn.ends,
        _laid_out(circuit, whole, keep, gauge, before),
        branches(scene, whole, keep),
        tuple(node_words(circuit, node) for node in nodes),
        np.array([scene.point.voltages[node] for node in nodes[:-1]] + [0.0]),
        np.array([scene.point.currents[whole.names[k]] for k in keep]),
        _notes(scene, gauge),
        () if fixed else tuple(scene.faults.values()),
        frozenset(k for k, each in enumerate(keep) if _runs_back(scene, whole.names[each])),
        _hung(scene, whole, number) if fixed else (),
    )


def _part_of(whole: Network, keep: list[int]) -> tuple[Network, dict[int, int]]:
    """Some branches of a network, with the number of each node that is left."""
    used = sorted({int(node) for k in keep for node in whole.ends[k]} | {len(whole.nodes)})
    number = {node: i for i, node in enumerate(used)}
    ends = np.array([[number[int(node)] for node in whole.ends[k]] for k in keep], dtype=np.intp)
    nodes = tuple(whole.nodes[node] for node in used[:-1])
    values = (whole.ohms[keep], whole.volts[keep], whole.amperes[keep])
    return Network(nodes, tuple(whole.names[k] for k in keep), ends, *values), number


def _laid_out(
    circuit: Circuit,
    whole: Network,
    keep: list[int],
    gauge: str | None,
    before: Mapping[int, int] | None = None,
) -> Layout:
    drawn, number = _part_of(whole, keep)
    count = len(circuit.netlist.elements)
    every = whole.ends if max(keep, default=0) >= count else whole.ends[:count]
    cut = _cut(every, whole.ends[keep], number) if gauge else frozenset()
    volts = _usual_volts(circuit)
    return arrange(drawn, [volts[node] for node in (*drawn.nodes, GROUND)], cut, before)


def _notes(scene: Scene, gauge: str | None) -> tuple[str, ...]:
    notes = []
    unit = scene.circuit.sheet.regulator
    if unit and not unit.steady and len(scene.situation.phases) > 1 and scene.seen.response.duty[0] < 1:
        notes.append("the regulator pulses: volts and amperes are means over time")
    if gauge and len(scene.circuit.sheet.gauges) > 1:
        notes.append("the other gauges are not drawn")
    return tuple(notes)


def _runs_back(scene: Scene, name: str) -> bool:
    if not scene.faults:
        return False
    now, before = scene.point.currents[name], scene.usual.currents.get(name, 0.0)
    least = max(LIVE_AMPERES, _TELLING * abs(before))
    return now * before < 0 and abs(now) > least and abs(before) > LIVE_AMPERES


def _hung(scene: Scene, whole: Network, number: dict[int, int]) -> tuple[Hung, ...]:
    """What a check and the faults have put across the netlist's own nodes."""
    added = range(len(scene.circuit.netlist.elements), len(whole.names))
    hung = [
        Hung(branch, (number.get(a, -1), number.get(b, -1)), scene.point.currents[branch.name])
        for branch, (a, b) in zip(
            branches(scene, whole, added), whole.ends[added.start :].tolist(), strict=True
        )
    ]
    return tuple(hung)


def _drawn(scene: Scene, network: Network, gauge: str | None, fixed: bool) -> list[int]:
    """Numbers of the branches to draw."""
    circuit = scene.circuit
    count = len(circuit.netlist.elements)
    kept = scene.situation.check.setup.kept
    others = [each for each in circuit.sheet.gauges.values() if gauge and each.id != gauge]
    hidden = {name for each in others for name in circuit.gauge_elements(each)}
    hidden |= {
        part.element for part in circuit.sheet.parts.values() if part.gauge in {each.id for each in others}
    }
    if fixed:
        return [k for k, name in enumerate(network.names[:count]) if name not in hidden]
    return [
        k
        for k, name in enumerate(network.names)
        if k >= count or (name not in hidden if kept is None else name in kept)
    ]


def _cut(every: Integers, drawn: Integers, number: dict[int, int]) -> frozenset[int]:
    """Nodes at which some of the branches that meet there are not drawn."""
    most = int(every.max()) + 1
    meet, kept = (np.bincount(ends.ravel(), minlength=most) for ends in (every, drawn))
    return frozenset(number[int(node)] for node in np.flatnonzero((meet != kept) & (kept > 0)))


def _usual_volts(circuit: Circuit) -> dict[str, float]:
    """Voltages of the sound circuit in its default state: they say which node stands above which."""

    def solved() -> dict[str, float]:
        solution = nodal.solve(circuit.network(circuit.values(circuit.parameters())))
        # the fed end stands above whichever pole is on the body
        volts = np.abs(np.nan_to_num(solution.voltages)).tolist()
        return dict(zip((*solution.network.nodes, GROUND), volts, strict=True))

    return circuit.recall("usual volts", {}, solved)
