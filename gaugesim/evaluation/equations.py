"""Equations that hold exactly for a right posterior, on average over cases drawn from its own model.

For a posterior p of cases drawn from the joint distribution: how often the likeliest is right is the mean of
its probability; the mean of -log p(truth) is the mean entropy; the mean of p(truth) that of the sum of all
squares; and each fault's mean probability is how often it is the truth. Each follows by taking the
expectation over the truth first, given the data (A. P. Dawid, J. Amer. Statist. Assoc. 77 (1982) 605, from
memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.evaluation.scores import LEAST
from gaugesim.solve.network import Integers

# a fault that is expected less often than this among the cases is counted with the other rare ones
SELDOM = 25.0
_NORMAL = NormalDist()
# what each equation says, in words
WORDS = {
    "hits": "the likeliest fault is right as often as its probability says",
    "log_score": "it is as surprised at the truth as it expects to be",
    "probability_of_truth": "the truth has the probability that it expects it to have",
    "each_fault": "each fault is there as often as it is believed in (the worst of all)",
}


@dataclass(frozen=True)
class Tally:
    """Sums over cases from which the identities are judged; tallies of blocks add up.

    Attributes
    ----------
    first, second : ndarray, shape (3,)
        Sums of the differences, and of their squares: hits, log score, probability of the truth.
    chance, truth, square : ndarray, shape (faults,)
        Sums of each fault's probability, of how often it is the truth, and of the squared differences.
    """

    cases: int
    first: Floats
    second: Floats
    chance: Floats
    truth: Floats
    square: Floats

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            self.cases + other.cases,
            self.first + other.first,
            self.second + other.second,
            self.chance + other.chance,
            self.truth + other.truth,
            self.square + other.square,
        )


def tally(posterior: Floats, truth: Integers) -> Tally:
    """Count cases.

    Parameters
    ----------
    posterior : ndarray, shape (faults, cases)
        Probability of each fault; columns sum to 1 [1].
    truth : ndarray of int, shape (cases,)
        Which it was.

    Examples
    --------
    >>> even = tally(np.full((2, 4), 0.5), np.array([0, 1, 0, 1]))
    >>> even.first.round(9) + 0.0
    array([0., 0., 0.])
    """
    each = np.arange(len(truth))
    chance = posterior[truth, each]
    log = np.log(np.maximum(posterior, LEAST))
    leader = np.argmax(posterior, axis=0)
    differences = np.stack(
        [
            (leader == truth) - posterior[leader, each],
            (posterior * log).sum(axis=0) - log[truth, each],
            chance - (posterior**2).sum(axis=0),
        ]
    )
    is_truth = np.zeros_like(posterior)
    is_truth[truth, each] = 1.0
    return Tally(
        len(truth),
        differences.sum(axis=1),
        (differences**2).sum(axis=1),
        posterior.sum(axis=1),
        is_truth.sum(axis=1),
        ((posterior - is_truth) ** 2).sum(axis=1),
    )


def identities(counted: Sequence[Tally]) -> dict[str, float]:
    """How far the equations are missed, in standard errors.

    Parameters
    ----------
    counted : sequence of Tally
        One for each circuit.

    Returns
    -------
    dict
        Of ``hits``, ``log_score``, ``probability_of_truth`` and ``each_fault``; the last is the worst of all
        faults, counted down for being the worst of so many (Šidák 1967). A right posterior stays within 3 in
        all but 3 of 1000 cases of each.
    """
    cases = sum(each.cases for each in counted)
    mean = np.sum([each.first for each in counted], axis=0) / cases
    variance = np.sum([each.second for each in counted], axis=0) / cases - mean**2
    z = _standard(mean, variance / cases)
    return {
        "hits": float(z[0]),
        "log_score": float(z[1]),
        "probability_of_truth": float(z[2]),
        "each_fault": _worst(counted),
    }


def _standard(mean: Floats, variance: Floats) -> Floats:
    return np.asarray(np.where(variance > 0, mean / np.sqrt(np.where(variance > 0, variance, 1.0)), 0.0))


def _worst(counted: Sequence[Tally]) -> float:
    z = np.concatenate([_each_fault(each) for each in counted])
    worst = float(z[np.argmax(np.abs(z))])
    by_chance = 2 * _NORMAL.cdf(-abs(worst))
    corrected = -np.expm1(len(z) * np.log1p(-min(by_chance, 1 - 1e-16)))
    return float(np.copysign(_NORMAL.inv_cdf(1 - max(corrected, 1e-16) / 2), worst)) if corrected < 1 else 0.0


def _each_fault(counted: Tally) -> Floats:
    seldom = np.maximum(counted.chance, counted.truth) < SELDOM
    number = np.where(seldom, 0, np.cumsum(~seldom))

    def gathered(values: Floats) -> Floats:
        return np.asarray(np.bincount(number, values, number.max() + 1), dtype=float)

    return _standard(gathered(counted.truth - counted.chance), gathered(counted.square))
