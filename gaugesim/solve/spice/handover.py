"""A circuit as a PySpice netlist, for whoever wants to go on with that."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from gaugesim.netlist import Netlist
from gaugesim.solve.spice.decks import title_line
from gaugesim.solve.spice.ngspice import engine


class HasNetlist(Protocol):
    """What is needed of a circuit."""

    @property
    def netlist(self) -> Netlist:
        """Its netlist."""


def pyspice_circuit(circuit: HasNetlist, parameters: Mapping[str, float] | None = None) -> Any:
    """Hand a circuit over to PySpice.

    Flat, all values worked out; its nodes and elements have the names that ngspice has for them. Values are
    bare numbers, as PySpice's units mean other things to newer versions of ngspice. Its
    ``simulator().operating_point()`` uses the ngspice that gaugesim uses.

    Raises
    ------
    NetlistError, UnknownNameError
        If a value is not a number, or there is no such parameter.
    EngineError
        If ngspice is missing.

    Examples
    --------
    >>> from gaugesim import circuit
    >>> handed = pyspice_circuit(circuit.find("temp_opposed_coil"))
    >>> float(handed.simulator().operating_point()["stud_feed"][0])
    13.5
    """
    engine()
    from PySpice.Spice.Netlist import Circuit

    netlist = circuit.netlist
    handed = Circuit(title_line(netlist.title))
    add = {"r": handed.R, "v": handed.V, "i": handed.I, "l": handed.L, "c": handed.C}
    for part in netlist.elements:
        value = float(netlist.values(parameters)[part.name])
        if value == 0 and part.kind in "rl":
            # ngspice makes a milliohm of a resistor of none
            handed.V(f"short.{part.name}", part.node_a, part.node_b, 0.0)
        elif value > 0 or part.kind != "c":
            add[part.kind](part.name[1:], part.node_a, part.node_b, value)
    return handed
