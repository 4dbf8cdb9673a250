"""A circuit: a netlist and its sheet, checked against each other, with states and parameters to apply."""

from gaugesim.circuit.agreement import WRITE_ZERO
from gaugesim.circuit.finding import available, find, of_composed, of_texts, of_vehicle, of_words, read
from gaugesim.circuit.model import Circuit

__all__ = [
    "WRITE_ZERO",
    "Circuit",
    "available",
    "find",
    "of_composed",
    "of_texts",
    "of_vehicle",
    "of_words",
    "read",
]
