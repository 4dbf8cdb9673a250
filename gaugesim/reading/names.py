"""What branches and nodes are called, and currents as a class reckons with them."""

from __future__ import annotations

from gaugesim.circuit import Circuit
from gaugesim.reading.words import quantity
from gaugesim.scenario.check import LAMP, METER
from gaugesim.solve.network import GROUND

_APPARATUS = {
    METER: "the meter",
    LAMP: "the test lamp",
    "wire": "the test lead",
    "resistor": "the resistor in place of the sender",
    "fused_lead": "the fused lead",
    "bench_supply": "the bench supply",
    "ground_lead": "the lead to the bench supply",
    "exchanged": "the lead exchanged with the other",
    "bias_lead": "the lead to stud B",
}


def branch_words(circuit: Circuit, name: str) -> str:
    """What a branch is called.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> circuit = find("temp_opposed_coil")
    >>> branch_words(circuit, "rstud_bias"), branch_words(circuit, "test_lamp")
    ('nut on stud B (bias)', 'the test lamp')
    """
    part = next((part for part in circuit.sheet.parts.values() if part.element == name), None)
    if part:
        return part.words
    for element in circuit.netlist.elements:
        if element.name == name:
            quantity = circuit.sheet.quantities.get(name.removeprefix("r"))
            words = (quantity.words if quantity else element.comment) or name
            return words.partition(":")[0].partition(";")[0]
    node_a, joined, node_b = name.partition(":")
    if joined:
        ends = [node_words(circuit, node) or node.replace("_", " ") for node in (node_a, node_b)]
        return f"{ends[0]} touching {ends[1]}"
    return _APPARATUS.get(name.rstrip("_0123456789"), name.replace("_", " "))


def node_words(circuit: Circuit, node: str) -> str:
    """What a node is called. Empty for one that is no point of the sheet."""
    for point in circuit.sheet.points.values():
        if point.node == node:
            return point.words
    return circuit.sheet.earthed_pole.replace("_", " ") if node == GROUND else ""


def coil_words(circuit: Circuit, element: str) -> str:
    """What a coil or winding is called where it is known which gauge it is in."""
    return branch_words(circuit, element).partition(" in the ")[0].partition(" of the ")[0]


def amount(value: float, unit: str) -> str:
    """A current or a power to three digits: a class reckons with what it reads.

    Parameters
    ----------
    unit : str
        ``A`` or ``W``; other units as `quantity` gives them.

    Examples
    --------
    >>> amount(0.2647, "A"), amount(7.64, "A"), amount(7.14e-5, "A"), amount(0.0, "W")
    ('265 mA', '7.64 A', '0.0714 mA', '0 W')
    """
    if unit not in ("A", "W"):
        return quantity(value, unit)
    if abs(value) < 1e-9:
        return f"0 {unit}"
    return f"{value:.3g} {unit}" if abs(value) >= 0.9995 else f"{1e3 * value:.3g} m{unit}"
