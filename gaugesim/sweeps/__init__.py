"""Every fault in turn, alone and in pairs, as arrays from one factored solution a state and check."""

from gaugesim.sweeps.all_pairs import PairSweep, pairs
from gaugesim.sweeps.hiding import READING, Hiding, hidden
from gaugesim.sweeps.paired import PairRows
from gaugesim.sweeps.signature import Signature, signatures
from gaugesim.sweeps.singles import SEVERITIES, FaultSweep, graded, sweep

__all__ = [
    "READING",
    "SEVERITIES",
    "FaultSweep",
    "Hiding",
    "PairRows",
    "PairSweep",
    "Signature",
    "graded",
    "hidden",
    "pairs",
    "signatures",
    "sweep",
]
