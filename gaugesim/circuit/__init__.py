"""A circuit: a netlist and its sheet, checked against each other, with states and parameters to apply."""

from gaugesim.circuit.agree import GND
from gaugesim.circuit.finding import available, find, of_composed, of_texts, of_vehicle, read
from gaugesim.circuit.model import Circuit

__all__ = ["GND", "Circuit", "available", "find", "of_composed", "of_texts", "of_vehicle", "read"]
