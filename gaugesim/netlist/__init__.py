"""Read a parametric SPICE netlist: a safe subset, flattened, with its parameters still open.

The reader takes R, V, I, L, C, ``.param``, ``.subckt`` with parameters, X, ``.include`` of files in the
netlist's own folder and below, comments and continuation lines, and refuses everything else by line. What it
accepts, ngspice accepts as it stands and solves to the same numbers.
"""

from gaugesim.netlist.lines import Line
from gaugesim.netlist.model import KINDS, Element, Netlist, ParameterScope
from gaugesim.netlist.reader import read, read_text

__all__ = ["KINDS", "Element", "Line", "Netlist", "ParameterScope", "read", "read_text"]
