"""Which two faults at once are worth asking about."""

from __future__ import annotations

import numpy as np

from gaugesim.evidence.cells import pair_prior
from gaugesim.evidence.posterior import Posterior
from gaugesim.scenario.fault import Fault, Pair

# how many pairs are asked about
PAIRS = 60


def likely_pairs(rough: Posterior) -> tuple[Pair, ...]:
    """Pairs of faults that might explain what neither explains alone, or that one cause strikes together.

    Parameters
    ----------
    rough : Posterior
        Of single faults.

    Returns
    -------
    tuple of Pair
        The likeliest `PAIRS`, if each observation were explained by the better of the two.
    """
    faults = [fault for fault in rough.cells.faults if isinstance(fault, Fault)]
    steady = [i for i, fault in enumerate(faults) if fault.mode.id != "intermittent"]
    log = np.log(np.maximum(rough.explain()[:, steady], 1e-300)).reshape(-1, len(steady))
    best = np.zeros((len(steady), len(steady)))
    for row in log:
        best += np.maximum(row[:, None], row[None, :])
    total = sum(fault.weight for fault in faults)
    scored = []
    circuit = rough.cells.circuit
    for i, j in zip(*np.triu_indices(len(steady), 1), strict=True):
        pair = Pair(faults[steady[i]], faults[steady[j]])
        if pair.first.part.id != pair.second.part.id:
            scored.append(
                (float(best[i, j]) + np.log(max(pair_prior(circuit, pair, total), 1e-300)), int(i), int(j))
            )
    scored.sort(reverse=True)
    return tuple(Pair(faults[steady[i]], faults[steady[j]]) for _, i, j in scored[:PAIRS])
