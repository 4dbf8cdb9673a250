"""What stands beside each branch of a schematic: its name, its symbol, its value, what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.draw.scene import Scene
from gaugesim.draw.style import number_text
from gaugesim.scenario.check import LAMP, METER
from gaugesim.sheet import Part
from gaugesim.solve.network import GROUND, OPEN_OHMS, Network

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
    ohms : float
        [ohm].
    fault : str
        What is wrong with it in words, else ``""``.
    added : bool
        Whether a check or a fault has put it there.
    broken : bool
        Whether a fault or a check has opened it.
    gauge : str
        The gauge it is inside of, ``""`` for none.
    """

    name: str
    words: str
    symbol: str
    value: str
    ohms: float
    fault: str
    added: bool
    broken: bool = False
    gauge: str = ""


def branches(scene: Scene, network: Network, drawn: Sequence[int], short: bool) -> tuple[Branch, ...]:
    """Describe branches.

    Parameters
    ----------
    scene : Scene
    network : Network
        With the faults of the scene in it.
    drawn : sequence of int
        Numbers of the branches.
    short : bool
        Whether to name parts by their ids, which take less room than their words.

    Returns
    -------
    tuple of Branch
    """
    parts = {part.element: part for part in scene.circuit.sheet.parts.values() if part.element}
    return tuple(_branch(scene, network, k, parts.get(network.names[k]), short) for k in drawn)


def node_words(circuit: Circuit, node: str) -> str:
    """What a node is called.

    Parameters
    ----------
    circuit : Circuit
    node : str

    Returns
    -------
    str
        Empty for one that is no point of the sheet.
    """
    for point in circuit.sheet.points.values():
        if point.node == node:
            return point.words
    return "battery negative" if node == GROUND else ""


def _branch(scene: Scene, network: Network, k: int, part: Part | None, short: bool) -> Branch:
    circuit, name = scene.circuit, network.names[k]
    ohms = float(network.ohms[k])
    ohms = np.inf if ohms >= OPEN_OHMS else ohms
    fault = scene.faults.get(scene.marks.get(name, ""), "")
    if k >= len(circuit.netlist.elements):
        words, symbol, value = _apparatus(scene, name)
        value = value or _value(ohms, symbol == "resistor" or bool(fault))
        return Branch(name, words, symbol, value, ohms, fault, True)
    element = circuit.netlist.elements[k]
    symbol = _symbol(name, element.kind, part, ohms)
    volts = float(network.volts[k])
    value = number_text(volts, "V") if element.kind == "v" else _value(ohms, bool(fault))
    inside = next((each.id for each in circuit.sheet.gauges.values() if f".{each.instance}." in name), "")
    opened = name in scene.place.check.setup.branches
    broken = bool(np.isinf(ohms)) and (bool(fault) or opened)
    return Branch(name, _words(circuit, k, part, short), symbol, value, ohms, fault, False, broken, inside)


def _words(circuit: Circuit, k: int, part: Part | None, short: bool) -> str:
    element = circuit.netlist.elements[k]
    if part:
        return circuit.short_name(part.id, part.gauge).replace("_", " ") if short else part.words
    if short:
        return element.name.rpartition(".")[2][1:].replace("_", " ")
    quantity = circuit.sheet.quantities.get(element.name.removeprefix("r"))
    words = (quantity.words if quantity else element.comment) or element.name
    return words.partition(":")[0].partition(";")[0]


def _symbol(name: str, kind: str, part: Part | None, ohms: float) -> str:
    if kind == "v":
        return "battery" if "battery" in name else "source"
    symbol = _SYMBOLS.get(part.kind, "resistor") if part else "resistor"
    if "lamps" in name:
        symbol = "lamp"
    if symbol == "switch" or "switch" in name:
        return "switch_open" if np.isinf(ohms) else "switch_closed"
    return symbol


def _value(ohms: float, always: bool) -> str:
    return number_text(ohms, "Ω") if always or ohms >= _WORTH_SAYING else ""


def _apparatus(scene: Scene, name: str) -> tuple[str, str, str]:
    """Words, symbol and reading of what a check or a fault has added."""
    node_a, joined, node_b = name.partition(":")
    if joined:
        ends = [node_words(scene.circuit, node) or node.replace("_", " ") for node in (node_a, node_b)]
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
