"""The reference engine: ngspice, through PySpice.

It takes what the embedded one does not: transients, and any netlist file as it stands. Nothing outside this
package speaks to ngspice, and nothing reaches it that `gaugesim.netlist` has not read first.
"""

from gaugesim.solve.spice.decks import deck
from gaugesim.solve.spice.handover import pyspice_circuit
from gaugesim.solve.spice.operating_point import solve, solve_batch, solve_file
from gaugesim.solve.spice.transients import SpiceTransient, transient

__all__ = ["SpiceTransient", "deck", "pyspice_circuit", "solve", "solve_batch", "solve_file", "transient"]
