"""The circuit as a schematic: the wiring says what stands where, the solution what is written there."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.draw.layout import Layout, arrange
from gaugesim.draw.scene import Scene
from gaugesim.draw.style import LIVE_AMPERES, LIVE_VOLTS, number_text
from gaugesim.reading.exact import with_faults
from gaugesim.scenario.check import LAMP, METER
from gaugesim.solve import nodal
from gaugesim.solve.network import GROUND, OPEN_OHMS, Floats, Integers, Network

LIVE, IDLE, DEAD, ADDED = "live", "idle", "dead", "added"

# symbol of a part by its kind; what is not here is a resistor
_SYMBOLS = {
    "battery": "resistor",
    "charging": "resistor",
    "cable": "wire",
    "wire": "wire",
    "feed_wire": "wire",
    "foil": "foil",
    "pin": "plug",
    "case_ground": "stud",
    "stud_nut": "stud",
    "fuse": "fuse",
    "switch": "switch",
    "regulator": "switch",
    "coil": "coil",
    "heater": "heater",
    "ntc_sender": "thermistor",
    "float_sender": "variable",
    "pressure_sender": "variable",
}
# what a check hangs on the circuit
_APPARATUS = {
    METER: ("meter", "meter"),
    LAMP: ("test lamp", "lamp"),
    "wire": ("test lead", "lead"),
    "resistor": ("resistor in place of the sender", "resistor"),
    "fused_lead": ("fused lead", "lead"),
    "bench_supply": ("bench supply", "source"),
    "ground_lead": ("lead to the bench supply", "lead"),
    "exchanged": ("lead exchanged with the other", "lead"),
    "bias_lead": ("lead to stud B", "lead"),
}
# ohms that a person reads off the picture; less is a sound joint
_WORTH_SAYING = 0.5


@dataclass(frozen=True)
class Branch:
    """A branch to draw.

    Attributes
    ----------
    name : str
        As in the netlist, or of what a check or a fault adds.
    words : str
    symbol : str
        See `symbols.symbol`.
    value : str
        What it has: ohms where they are worth saying, volts of a source.
    fault : str
        What is wrong with it in words, else ``""``.
    added : bool
        Whether a check or a fault has put it there.
    gauge : str
        The gauge it is inside of, ``""`` for none.
    """

    name: str
    words: str
    symbol: str
    value: str
    fault: str
    added: bool
    gauge: str = ""


@dataclass(frozen=True)
class Schematic:
    """A circuit laid out, with its voltages and currents.

    Attributes
    ----------
    title : tuple of str
        Lines: the circuit, its state, the check.
    nodes : tuple of str
        Ground last.
    ends : ndarray, shape (branches, 2)
        Node numbers of each branch.
    layout : Layout
    branches : tuple of Branch
    node_words : tuple of str
        Empty for a node that is no point of the sheet.
    volts : ndarray, shape (nodes,)
        Against battery negative [V]; NaN where cut off from everything.
    amperes : ndarray, shape (branches,)
        From the first node to the second [A].
    notes : tuple of str
        What the reader must know beside it.
    faults : tuple of str
        In words.
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

    @property
    def heading(self) -> tuple[str, ...]:
        """Lines above it: the title, then the faults."""
        return (*self.title, *(f"Fault: {words}" for words in self.faults))

    def bare(self) -> Schematic:
        """Without what would give faults away: their names and marks, and the values of parts."""
        plain = tuple(replace(branch, value="", fault="") for branch in self.branches)
        return replace(self, branches=plain, faults=())

    def node_is_live(self, node: int) -> bool:
        """Whether a test lamp or a meter finds voltage at a node."""
        return bool(np.abs(np.nan_to_num(self.volts[node])) > LIVE_VOLTS)

    def node_look(self, node: int) -> str:
        """How a node is drawn: the liveliest look of what meets there."""
        looks = {self.look(k, node) for k, pair in enumerate(self.ends) if node in pair}
        return next(look for look in (LIVE, IDLE, DEAD, ADDED) if look in looks)

    def look(self, branch: int, node: int | None = None) -> str:
        """How a branch is drawn, or its lead at one of its nodes.

        Parameters
        ----------
        branch : int
        node : int, optional

        Returns
        -------
        str
            ``added`` for what a check or a fault has put there; ``live`` where current flows, ``idle`` where
            there is voltage without current, else ``dead``.
        """
        if self.branches[branch].added:
            return ADDED
        if abs(self.amperes[branch]) > LIVE_AMPERES:
            return LIVE
        nodes = self.ends[branch] if node is None else [node]
        return IDLE if any(self.node_is_live(int(each)) for each in nodes) else DEAD


def schematic(scene: Scene, gauge: str | None = None) -> Schematic:
    """Lay out what a scene shows.

    Parameters
    ----------
    scene : Scene
    gauge : str, optional
        Only this gauge's branch and what it shares with the others.

    Returns
    -------
    Schematic

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.draw.scene import scene
    >>> picture = schematic(scene(find("temp_two_coil"), faults=["sender_connector=open"]))
    >>> [branch.words for branch in picture.branches if branch.fault]
    ['connector on the sender']
    """
    circuit, place = scene.circuit, scene.place
    whole = with_faults(place.network, scene.scenarios, 0, place.decided(place.network))
    keep = _drawn(scene, whole, gauge)
    used = sorted({int(node) for k in keep for node in whole.ends[k]} | {len(whole.nodes)})
    number = {node: i for i, node in enumerate(used)}
    ends = np.array([[number[int(node)] for node in whole.ends[k]] for k in keep], dtype=np.intp)
    nodes = tuple([*whole.nodes, GROUND][node] for node in used)
    drawn = Network(
        nodes[:-1],
        tuple(whole.names[k] for k in keep),
        ends,
        *(values[keep] for values in (whole.ohms, whole.volts, whole.amperes)),
    )
    notes = []
    if len(place.phases) > 1 and scene.seen.response.duty[0] < 1:
        notes.append("the regulator pulses: volts and amperes are means over time")
    if gauge and len(circuit.sheet.gauges) > 1:
        notes.append("the other gauges are not drawn")
    return Schematic(
        tuple(scene.title.splitlines()),
        nodes,
        ends,
        arrange(drawn, _usual_volts(circuit, nodes), _cut(whole, keep, number) if gauge else frozenset()),
        tuple(_branch(scene, whole, k) for k in keep),
        tuple(_node_words(circuit, node) for node in nodes),
        np.array([scene.point.voltages[node] for node in nodes[:-1]] + [0.0]),
        np.array([scene.point.currents[whole.names[k]] for k in keep]),
        tuple(notes),
        tuple(scene.faults.values()),
    )


def _drawn(scene: Scene, network: Network, gauge: str | None) -> list[int]:
    """Numbers of the branches to draw."""
    circuit = scene.circuit
    count = len(circuit.netlist.elements)
    kept = scene.place.check.setup.kept
    others = [each for each in circuit.sheet.gauges.values() if gauge and each.id != gauge]
    hidden = {name for each in others for name in circuit.gauge_elements(each)}
    hidden |= {
        part.element for part in circuit.sheet.parts.values() if part.gauge in {each.id for each in others}
    }
    return [
        k
        for k, name in enumerate(network.names)
        if k >= count or (name not in hidden if kept is None else name in kept)
    ]


def _cut(network: Network, keep: list[int], number: dict[int, int]) -> frozenset[int]:
    """Nodes at which some of the branches that meet there are not drawn."""
    meet = np.bincount(network.ends.ravel(), minlength=len(network.nodes) + 1)
    drawn = np.bincount(network.ends[keep].ravel(), minlength=len(network.nodes) + 1)
    return frozenset(number[int(node)] for node in np.flatnonzero((meet != drawn) & (drawn > 0)))


def _usual_volts(circuit: Circuit, nodes: tuple[str, ...]) -> list[float]:
    """Voltages of the sound circuit in its default state: they say which node stands above which."""
    solution = nodal.solve(circuit.network(circuit.values(circuit.parameters())))
    usual = dict(
        zip((*solution.network.nodes, GROUND), np.nan_to_num(solution.voltages).tolist(), strict=True)
    )
    return [usual[node] for node in nodes]


def _branch(scene: Scene, network: Network, k: int) -> Branch:
    circuit, name = scene.circuit, network.names[k]
    ohms = float(network.ohms[k])
    ohms = np.inf if ohms >= OPEN_OHMS else ohms
    fault = scene.faults.get(scene.marks.get(name, ""), "")
    if k >= len(circuit.netlist.elements):
        words, symbol, value = _apparatus(scene, name)
        return Branch(
            name, words, symbol, value or _value(ohms, symbol == "resistor" or bool(fault)), fault, True
        )
    element = circuit.netlist.elements[k]
    part = next((each for each in circuit.sheet.parts.values() if each.element == name), None)
    quantity = circuit.sheet.quantities.get(name.removeprefix("r"))
    words = part.words if part else (quantity.words if quantity else element.comment) or name
    words = words.partition(":")[0].partition(";")[0]
    symbol = _SYMBOLS.get(part.kind, "resistor") if part else "resistor"
    if element.kind == "v":
        symbol = "battery" if "battery" in name else "source"
        return Branch(name, words, symbol, number_text(float(network.volts[k]), "V"), fault, False)
    if "switch" in name:
        symbol = "switch"
    elif "lamps" in name:
        symbol = "lamp"
    if symbol == "switch":
        symbol = "switch_open" if np.isinf(ohms) else "switch_closed"
    inside = next((each.id for each in circuit.sheet.gauges.values() if f".{each.instance}." in name), "")
    return Branch(name, words, symbol, _value(ohms, bool(fault)), fault, False, inside)


def _value(ohms: float, always: bool) -> str:
    return number_text(ohms, "Ω") if always or ohms >= _WORTH_SAYING else ""


def _apparatus(scene: Scene, name: str) -> tuple[str, str, str]:
    """Words, symbol and reading of what a check or a fault has added."""
    node_a, joined, node_b = name.partition(":")
    if joined:
        ends = [_node_words(scene.circuit, node) or node.replace("_", " ") for node in (node_a, node_b)]
        return f"{ends[0]} touches {ends[1]}", "lead", ""
    reading = scene.seen.reading
    words, symbol = _APPARATUS.get(name.rstrip("_0123456789"), (name.replace("_", " "), "lead"))
    if name == METER:
        words = symbol = "ohmmeter" if scene.place.check.reads == "ohms" else "voltmeter"
    if name not in (METER, LAMP) or reading is None:
        return words, symbol, ""
    unit = "Ω" if reading.kind == "ohms" else reading.unit
    value = float("inf") if reading.open else reading.value
    return words, symbol, value if isinstance(value, str) else number_text(value, unit)


def _node_words(circuit: Circuit, node: str) -> str:
    for point in circuit.sheet.points.values():
        if point.node == node:
            return point.words
    return "battery negative" if node == GROUND else ""
