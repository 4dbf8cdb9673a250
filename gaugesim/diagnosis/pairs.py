"""Which two faults at once are worth asking about."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.evidence.bayes import Posterior
from gaugesim.evidence.cells import SECOND_FAULT
from gaugesim.scenario.fault import Fault, Pair

# how many pairs are asked about
PAIRS = 60


def likely_pairs(rough: Posterior) -> tuple[Pair, ...]:
    """Pairs of faults that might explain what neither explains alone, or that one cause strikes together.

    The likeliest `PAIRS`, if each observation were explained by the better of the two.

    Parameters
    ----------
    rough : Posterior
        Of single faults.
    """
    faults = [fault for fault in rough.cells.faults if isinstance(fault, Fault)]
    steady = [i for i, fault in enumerate(faults) if fault.mode.id != "intermittent"]
    log = np.log(np.maximum(rough.explained[:, steady], 1e-300)).reshape(-1, len(steady))
    best = np.zeros((len(steady), len(steady)))
    for row in log:
        best += np.maximum(row[:, None], row[None, :])
    entries = [faults[i] for i in steady]
    best += np.log(np.maximum(_priors(rough.cells.circuit, entries, faults), 1e-300))
    parts = np.array([fault.part.id for fault in entries])
    first, second = np.nonzero(np.triu(parts[:, None] != parts))
    order = np.lexsort((-second, -first, -best[first, second]))[:PAIRS]
    return tuple(Pair(entries[i], entries[j]) for i, j in zip(first[order], second[order], strict=True))


def _priors(circuit: Circuit, faults: Sequence[Fault], singles: Sequence[Fault]) -> Floats:
    """`pair_prior` of each two faults, shape (faults, faults)."""
    share = np.array([fault.weight for fault in faults]) / sum(fault.weight for fault in singles)
    together = np.ones((len(faults), len(faults)))
    for group in circuit.sheet.groups.values():
        struck = np.array([fault.part.id in group.parts for fault in faults])
        together = np.where(np.outer(struck, struck), np.maximum(together, group.factor), together)
    return 2.0 * SECOND_FAULT * together * np.outer(share, share)
