"""What can be left out of a problem without loss: faults alike, dumb outcomes, checks that others outdo."""

from __future__ import annotations

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.problem import Booleans, Integers

# Probabilities closer than this are the same.
SAME = 1e-12


def alike(likelihood: Floats, repair_of: Integers, weight: Floats) -> tuple[Integers, Floats]:
    """First of each kind of fault with the same repair and the same rows, and the weight of the kind.

    Parameters
    ----------
    likelihood : ndarray, shape (checks, outcomes, faults)
        [1]
    repair_of : ndarray of int, shape (faults,)
    weight : ndarray, shape (faults,)
        [1]

    Returns
    -------
    first : ndarray of int, shape (kinds,)
    total : ndarray, shape (kinds,)
        [1]
    """
    rows = likelihood.reshape(-1, len(repair_of)).T
    # faults alike come to lie side by side when sorted by any mixture of their probabilities
    mixture = rows @ np.sin(np.arange(1.0, rows.shape[1] + 1))
    order = np.lexsort([mixture.round(10), repair_of])
    differ = np.any(abs(np.diff(rows[order], axis=0)) > SAME, axis=1) | (np.diff(repair_of[order]) > 0)
    kind = np.cumsum(np.concatenate([[0], differ]))
    begins = np.flatnonzero(np.concatenate([[True], differ]))
    total: Floats = np.bincount(kind, weight[order], len(begins)).astype(np.float64)
    return order[begins], total


def fewer_outcomes(likelihood: Floats, tells: Booleans) -> Floats:
    """Add up the outcomes of each check that are equally likely under every fault, and drop empty columns.

    Parameters
    ----------
    likelihood : ndarray, shape (checks, outcomes, faults)
        [1]
    tells : ndarray of bool, shape (checks, outcomes)
        Which outcomes are not equally likely under every fault.

    Returns
    -------
    ndarray, shape (checks, fewer outcomes, faults)
    """
    if tells.all() or not likelihood.size:
        return likelihood
    silent = np.where(tells, 0.0, likelihood[:, :, 0]).sum(axis=1)
    used = tells.sum(axis=1)
    width = int((used + (silent > 0)).max())
    columns = np.argsort(~tells, axis=1, kind="stable")[:, :width]
    likelihood = np.take_along_axis(likelihood, columns[:, :, None], axis=1)
    column = np.arange(width)
    likelihood[column >= used[:, None]] = 0.0
    likelihood[column == used[:, None]] = silent[used < width, None]
    return likelihood


def not_dominated(likelihood: Floats, minutes: Floats, needs: Booleans) -> Integers:
    """Checks to which no other is to be preferred. Rising.

    Another one is, if it takes no longer, needs no other place and tells every pair of faults apart at least
    as well. Where checks cannot err nothing is lost by leaving the first one out. Where they can it is a good
    guess for the next check, as it counts again once the other is done.

    Parameters
    ----------
    likelihood : ndarray, shape (checks, outcomes, faults)
        [1]
    minutes : ndarray, shape (checks,)
        [min]
    needs : ndarray of bool, shape (checks, places)
    """
    checks, _, faults = likelihood.shape
    first, second = np.triu_indices(faults, 1)
    apart = np.zeros((checks, len(first)))
    # one outcome at a time stays in a processor's cache
    for shows in likelihood.transpose(1, 0, 2):
        apart += abs(shows.take(first, axis=1) - shows.take(second, axis=1))
    total = apart.sum(axis=1)
    # the pair that a check tells apart best: most others fail there already
    best = np.argmax(apart, axis=1) if faults > 1 else np.zeros(checks, dtype=np.intp)
    kept: list[int] = []
    # whatever is preferred to a check comes before it
    for j in np.lexsort([np.arange(checks), needs.sum(axis=1), minutes, -total]):
        better = np.array(kept, dtype=np.intp)
        better = better[(minutes[better] <= minutes[j]) & ~(needs[better] & ~needs[j]).any(axis=1)]
        if faults > 1:
            better = better[apart[better, best[j]] >= apart[j, best[j]] - SAME]
        if not better.size or not np.any(np.all(apart[better] >= apart[j] - SAME, axis=1)):
            kept.append(int(j))
    return np.sort(np.array(kept, dtype=np.intp))
