"""What stands beside each branch of a schematic: its name, its symbol, its value, what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.draw.scenes import Scene
from gaugesim.draw.style import number_text
from gaugesim.reading.names import branch_words
from gaugesim.scenario.check import LAMP, METER, Setup
from gaugesim.sheet import Part
from gaugesim.solve.network import OPEN_OHMS, Network
from gaugesim.vocabulary import TOPICS

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
    METER: "meter",
    LAMP: "lamp",
    "resistor": "resistor",
    "bench_supply": "source",
}
# ohms that a person reads off the picture; less is a sound joint
_WORTH_SAYING = 0.5
PARTED = "parted for this"  # what a check has opened


@dataclass(frozen=True)
class Branch:
    """A branch to draw.

    Attributes
    ----------
    value : str
        What it has: ohms where they are worth saying, volts of a source.
    ohms : float
        [ohm].
    fault : str
        What is wrong with it in words, else ``""``; also where a check has decided what the part does.
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


def branches(scene: Scene, network: Network, drawn: Sequence[int]) -> tuple[Branch, ...]:
    """Describe branches."""
    parts = {part.element: part for part in scene.circuit.sheet.parts.values() if part.element}
    return tuple(_branch(scene, network, k, parts.get(network.names[k])) for k in drawn)


def _branch(scene: Scene, network: Network, k: int, part: Part | None) -> Branch:
    circuit, name = scene.circuit, network.names[k]
    ohms = float(network.ohms[k])
    ohms = np.inf if ohms >= OPEN_OHMS else ohms
    # what a check has parted or joined is so whatever fault is in it
    fault = "" if name in scene.situation.fixed else scene.faults.get(scene.marks.get(name, ""), "")
    if k >= len(circuit.netlist.elements):
        words, symbol, value = _apparatus(scene, name)
        value = value or _value(ohms, symbol == "resistor" or bool(fault))
        return Branch(name, words, symbol, value, ohms, fault, True)
    element = circuit.netlist.elements[k]
    symbol = _symbol(name, element.kind, part, ohms)
    inside = next((each.id for each in circuit.sheet.gauges.values() if f".{each.instance}." in name), "")
    parted = _parted(scene.situation.check.setup, name, bool(network.volts[k]))
    if parted:
        value = parted
    elif element.kind == "v":
        value = number_text(float(network.volts[k]), "V")
    else:
        value = _value(ohms, bool(fault))
    broken = bool(np.isinf(ohms)) and (bool(fault) or parted == PARTED)
    return Branch(name, branch_words(circuit, name), symbol, value, ohms, fault, False, broken, inside)


def _parted(setup: Setup, name: str, source: bool) -> str:
    """What a check has done to a part of the circuit, if it has taken it apart."""
    if np.isinf(setup.branches.get(name, 0.0)):
        return PARTED
    if setup.kept is not None and name not in setup.kept:
        return "taken away"
    return "off" if setup.dead and source else ""


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
    reading = scene.seen.reading
    words = branch_words(scene.circuit, name).removeprefix("the ") if ":" not in name else ""
    words = words or branch_words(scene.circuit, name)
    symbol = _APPARATUS.get(name, "lead")
    if name == METER:
        words = TOPICS[scene.situation.check.reads].meter.removeprefix("the ")
        symbol = "ohmmeter" if words == "ohmmeter" else "voltmeter"
    if name not in (METER, LAMP) or reading is None:
        return words, symbol, ""
    unit = "Ω" if reading.kind == "ohms" else reading.unit
    value = float("inf") if reading.open else reading.value
    return words, symbol, value if isinstance(value, str) else number_text(value, unit)
