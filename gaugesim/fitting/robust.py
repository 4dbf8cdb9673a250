"""Least squares that one bad point does not spoil."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats

# where the robust loss bends away from a square, in deviations
CAUCHY_SCALE = 2.0
# a point is bad when leaving it out betters the fit by more than this many deviations
BAD_DEVIATIONS = 3.5
# and when leaving out any other betters it by less, by this much of the sum of squares
CLEARLY = 6.0
# a sum of squares beyond its expectation by this many of its own deviations starts the search
SUSPICIOUS = 2.0


@dataclass(frozen=True)
class Sifted:
    """Which points to believe.

    Attributes
    ----------
    keep : ndarray of bool, shape (points,)
        False for a bad point.
    suspects : tuple of int
        Points of which one is bad, though nothing tells which; they are kept.
    """

    keep: NDArray[np.bool_]
    suspects: tuple[int, ...]


def cauchy(count: int) -> Callable[[Floats], Floats]:
    """The robust loss on the first rows and plain squares on the others, which are priors.

    For the argument ``loss`` of ``scipy.optimize.least_squares``.

    Parameters
    ----------
    count : int
        How many rows are points [1].

    Source
    ------
    Holland & Welsch, Communications in Statistics A6 (1977) 813–827, weight functions (from memory).

    Examples
    --------
    >>> cauchy(1)(np.array([4.0, 4.0]))[0].round(3)
    array([2.773, 4.   ])
    """

    def loss(squares: Floats) -> Floats:
        result = np.stack([squares, np.ones_like(squares), np.zeros_like(squares)])
        scaled = squares[:count] / CAUCHY_SCALE**2
        result[0, :count] = CAUCHY_SCALE**2 * np.log1p(scaled)
        result[1, :count] = 1 / (1 + scaled)
        result[2, :count] = -1 / CAUCHY_SCALE**2 / (1 + scaled) ** 2
        return result

    return loss


def scatter(off: Floats, freedom: float) -> float:
    """How many times wider than stated readings scatter.

    At least 1: a lucky fit is no better than its readings [1].

    Parameters
    ----------
    off : ndarray
        Their residuals in standard deviations [1].
    freedom : float
        How many of them are left over once the parameters are settled [1].

    Examples
    --------
    >>> scatter(np.array([3.0, -3.0, 3.0, -3.0]), 4.0)
    3.0
    """
    if freedom < 1:
        return 1.0
    return float(max(1.0, np.sqrt(np.sum(off**2) / freedom)))


def good_points(
    count: int, solve: Callable[[NDArray[np.bool_]], Floats], freedom: Callable[[NDArray[np.bool_]], float]
) -> Sifted:
    """Leave out points one by one while that is what betters the fit beyond chance.

    At most a third of the points are bad.

    Parameters
    ----------
    count : int
        How many points there are [1].
    solve : callable
        From which points to fit to the residuals of all, in standard deviations.
    freedom : callable
        From which points are fitted to how many are left over once the parameters are settled.

    Examples
    --------
    >>> heights = np.array([1.0, 1.1, 0.9, 9.0])
    >>> mean = lambda keep: (heights - heights[keep].mean()) / 0.1
    >>> good_points(4, mean, lambda keep: keep.sum() - 1.0).keep
    array([ True,  True,  True, False])
    """
    keep = np.ones(count, dtype=bool)
    for _ in range(count // 3):
        left_over = freedom(keep)
        squares = float(np.sum(solve(keep)[keep] ** 2))
        if left_over < 0.5 or squares < left_over + SUSPICIOUS * np.sqrt(2 * left_over):
            break
        without: dict[int, float] = {}
        for k in np.flatnonzero(keep):
            others = keep & (np.arange(count) != k)
            without[int(k)] = float(np.sum(solve(others)[others] ** 2))
        worst, runner_up = sorted(without, key=lambda k: without[k])[:2]
        enough = left_over >= 1.5  # with less, whatever is left out leaves a perfect fit
        scale = np.sqrt(max(1.0, without[worst] / (left_over - 1))) if enough else 1.0
        gain = np.sqrt(max(squares - without[worst], 0.0))
        if gain < BAD_DEVIATIONS * scale:
            break
        limit = without[worst] + CLEARLY * scale**2
        if without[runner_up] < limit or not enough:
            return Sifted(keep, tuple(k for k in without if without[k] < limit))
        keep[worst] = False
    return Sifted(keep, ())
