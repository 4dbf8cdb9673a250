"""How much a check tells, and whether that hangs on luck."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats


def information(weight: Floats, table: Floats) -> float:
    """Information that a check's outcome is expected to give about which hypothesis holds [bit].

    Parameters
    ----------
    weight : ndarray, shape (hypotheses,)
        Their probability; sums to 1 [1].
    table : ndarray, shape (hypotheses, outcomes)
        Probability of each outcome under each [1].

    Examples
    --------
    >>> information(np.array([0.5, 0.5]), np.array([[1.0, 0.0], [0.0, 1.0]]))
    1.0
    """

    def entropy(p: Floats) -> Floats:
        return np.asarray(-(p * np.log2(np.where(p > 0, p, 1.0))).sum(axis=-1))

    return max(0.0, float(entropy(weight @ table) - weight @ entropy(table)))


def tells_by_luck(weight: Floats, comes_and_goes: NDArray[np.bool_], table: Floats) -> bool:
    """Whether a check tells most of what it does only if a fault that comes and goes happens to be there.

    Never while such a fault is less likely than not.

    Parameters
    ----------
    weight : ndarray, shape (hypotheses,)
        Their probability, in any unit [1].
    comes_and_goes : ndarray of bool, shape (hypotheses,)
        Those faults: while they rest all of them show the same, so what tells them apart is luck.
    table : ndarray, shape (hypotheses, outcomes)
        Probability of each outcome under each [1].

    Examples
    --------
    >>> shows = np.array([[0.65, 0.35], [1.0, 0.0]])
    >>> tells_by_luck(np.array([0.5, 0.5]), np.array([True, True]), shows)
    True
    >>> tells_by_luck(np.array([0.5, 0.5]), np.array([True, False]), shows)
    False
    """
    weight = weight / weight.sum()
    share = float(weight[comes_and_goes].sum())
    if share <= 0.5:
        return False
    among = information(weight[comes_and_goes] / share, table[comes_and_goes])
    return share * among > 0.5 * information(weight, table)
