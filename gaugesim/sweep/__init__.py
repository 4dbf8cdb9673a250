"""Every fault in turn, alone and in pairs, as arrays from one factored solution a state and check."""

from gaugesim.sweep.hidden import READING, Hiding, hidden
from gaugesim.sweep.paired import PairRows
from gaugesim.sweep.pairs import PairSweep, pairs
from gaugesim.sweep.signature import Signature, signatures
from gaugesim.sweep.singles import SEVERITIES, Sweep, graded, sweep

__all__ = [
    "READING",
    "SEVERITIES",
    "Hiding",
    "PairRows",
    "PairSweep",
    "Signature",
    "Sweep",
    "graded",
    "hidden",
    "pairs",
    "signatures",
    "sweep",
]
