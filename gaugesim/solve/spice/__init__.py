"""The reference engine: ngspice, through PySpice.

Nothing outside this package speaks to ngspice, and nothing reaches it that `gaugesim.netlist` has not read
first. What the embedded engine does not do is PySpice's with what `pyspice_circuit` gives: transients of any
circuit, parts that are not straight lines.
"""

from gaugesim.solve.spice.handover import pyspice_circuit
from gaugesim.solve.spice.operating_point import solve

__all__ = ["pyspice_circuit", "solve"]
