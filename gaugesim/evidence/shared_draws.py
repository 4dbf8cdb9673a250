"""Draws of what answers share: few, always the same, and spread evenly over the normal distribution."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from random import Random
from statistics import NormalDist

import numpy as np

from gaugesim.arrays import Floats

# how many
DRAWS = 64

# how each of them lies among the others, from 0 to 1
_RANKS = (np.arange(DRAWS) + 0.5) / DRAWS
_NODES = np.array([NormalDist().inv_cdf((i + 0.5) / DRAWS) for i in range(DRAWS)])
_NODES /= _NODES.std()


@cache
def draws(name: str) -> Floats:
    """Draws of one variable: always the same, and spread evenly over the normal distribution.

    Returns
    -------
    ndarray, shape (DRAWS,)
        Mean 0, variance 1 [1]; not to be changed by the caller.

    Examples
    --------
    >>> round(float(draws("battery_volts").var()), 9)
    1.0
    """
    order = list(range(DRAWS))
    Random(name).shuffle(order)
    result = _NODES[order]
    result.flags.writeable = False
    return result


def shares(name: str) -> Floats:
    """Draws of one variable that is uniform from 0 to 1: always the same, and spread evenly.

    Returns
    -------
    ndarray, shape (DRAWS,)

    Examples
    --------
    >>> round(float(shares("rest@fuel").mean()), 9)
    0.5
    """
    order = list(range(DRAWS))
    Random(name).shuffle(order)
    return np.asarray(_RANKS[order])


def drawn(names: Sequence[str]) -> Floats:
    """Draws of several variables.

    Returns
    -------
    ndarray, shape (names, DRAWS)
        [1].
    """
    return np.stack([draws(name) for name in names]) if names else np.zeros((0, DRAWS))
