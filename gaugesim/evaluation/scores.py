"""How good posteriors are, given what was really wrong."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.solve.network import Integers

# equally filled classes of certainty for the calibration error
BINS = 10
# how often hits are drawn from the certainties themselves
DRAWS = 200
# of 95 of 100
DEVIATIONS = 1.96
# two faults count as told apart when all answers together are this many times likelier under one of them
TOLD_APART = 1.5
# a probability below this is written as this in logarithms, as a person would who never says never
LEAST = 1e-12


@dataclass(frozen=True)
class Scores:
    """One number for each case, shape (cases,).

    Attributes
    ----------
    hit, hit3 : ndarray of bool
        Whether the fault is the likeliest, is among the three likeliest.
    repair_hit : ndarray of bool
        Whether the likeliest repair mends it.
    group_hit : ndarray of bool
        Whether the answers do not tell it apart from the likeliest fault.
    certainty : ndarray
        Probability of the likeliest fault [1].
    log_score : ndarray
        Negative natural logarithm of the fault's probability [1].
    prior_log_score : ndarray
        The same before anything was seen [1].
    entropy : ndarray
        Of the posterior [nat].
    chance : ndarray
        Probability of the fault [1].
    agreement : ndarray
        Sum of the squares of all faults' probabilities [1].
    none : ndarray
        Probability of none of these [1].
    none_leads : ndarray of bool
        Whether it is likelier than every fault.
    stratum : ndarray of int
        What kind of fault it is.
    block : ndarray of int
        Cases of one block were asked the same.
    """

    hit: np.ndarray
    hit3: np.ndarray
    repair_hit: np.ndarray
    group_hit: np.ndarray
    certainty: Floats
    log_score: Floats
    prior_log_score: Floats
    entropy: Floats
    chance: Floats
    agreement: Floats
    none: Floats
    none_leads: np.ndarray
    stratum: Integers
    block: Integers

    def __len__(self) -> int:
        return len(self.hit)

    @classmethod
    def summed(cls, parts: Iterable[Scores]) -> Scores:
        """Scores of several blocks one after another."""
        listed = list(parts)
        return cls(
            **{
                field.name: np.concatenate([getattr(part, field.name) for part in listed])
                for field in fields(cls)
            }
        )

    def take(self, chosen: np.ndarray) -> Scores:
        """Some of the cases.

        Parameters
        ----------
        chosen : ndarray of bool, shape (cases,)
        """
        return Scores(**{field.name: getattr(self, field.name)[chosen] for field in fields(self)})

    @property
    def brier(self) -> Floats:
        """Squared distance of the posterior from the truth (Brier 1950), shape (cases,)."""
        return self.agreement - 2 * self.chance + 1


@dataclass(frozen=True)
class Truth:
    """What was wrong with each vehicle.

    Attributes
    ----------
    faults : ndarray of int, shape (cases, k)
        Any of these counts as found; -1 fills up. All -1: none of the faults that the sheet lists.
    stratum : ndarray of int, shape (cases,)
    """

    faults: Integers
    stratum: Integers
    block: int = 0


def score(
    posterior: Floats, none: Floats, prior: Floats, none_prior: float, truth: Truth, repairs: Integers
) -> Scores:
    """Score posteriors.

    Parameters
    ----------
    posterior : ndarray, shape (faults, cases)
        Probability of each fault; with ``none`` they sum to 1 [1].
    none : ndarray, shape (cases,)
        Probability of none of these [1].
    prior : ndarray, shape (faults,)
        The same before anything was seen; sums to 1 - ``none_prior`` [1].
    repairs : ndarray of int, shape (faults,)
        Number of the repair that mends each.

    Examples
    --------
    >>> truth = Truth(np.array([[1]]), np.zeros(1, dtype=int))
    >>> posterior, none, prior = np.array([[0.2], [0.7]]), np.array([0.1]), np.array([0.5, 0.4])
    >>> known = score(posterior, none, prior, 0.1, truth, np.arange(2))
    >>> bool(known.hit[0]), known.brier.round(2)
    (True, array([0.14]))
    """
    cases = posterior.shape[1]
    each = np.arange(cases)
    listed = truth.faults[:, 0] >= 0
    right = np.zeros_like(posterior, dtype=bool)
    for column in truth.faults.T:
        right[column[column >= 0], each[column >= 0]] = True
    leader = np.argmax(posterior, axis=0)
    best = posterior[leader, each]
    three = np.argsort(-posterior, axis=0, kind="stable")[:3]
    none_leads = none > best
    by_repair = np.zeros((int(repairs.max()) + 1, cases))
    np.add.at(by_repair, repairs, posterior)
    likeliest_repair = np.argmax(by_repair, axis=0)
    mends = (repairs[:, None] == likeliest_repair[None]) & right
    with np.errstate(divide="ignore", invalid="ignore"):
        likelihood = posterior / prior[:, None]
        alike = likelihood[leader, each] / likelihood
    group = (alike < TOLD_APART) & (alike > 1 / TOLD_APART)
    group[leader, each] = True
    chance = np.where(listed, np.where(right, posterior, 0.0).sum(axis=0), none)
    before = np.where(listed, np.where(right, prior[:, None], 0.0).sum(axis=0), none_prior)
    every = np.concatenate([posterior, none[None]])
    return Scores(
        hit=np.where(listed, right[leader, each] & ~none_leads, none_leads),
        hit3=np.where(listed, right[three, each].any(axis=0), none_leads),
        repair_hit=np.where(listed, mends.any(axis=0) & ~none_leads, none_leads),
        group_hit=np.where(listed, (group & right).any(axis=0) & ~none_leads, none_leads),
        certainty=np.maximum(best, none),
        log_score=-np.log(np.maximum(chance, LEAST)),
        prior_log_score=-np.log(np.maximum(before, LEAST)),
        entropy=-(every * np.log(np.maximum(every, LEAST))).sum(axis=0),
        chance=chance,
        agreement=(every**2).sum(axis=0),
        none=none,
        none_leads=none_leads,
        stratum=truth.stratum,
        block=np.full(cases, truth.block),
    )


def standard_error(values: Floats, block: Integers) -> float:
    """Standard error of a mean of which the values come in blocks that have something in common.

    Parameters
    ----------
    values : ndarray, shape (n,)
    block : ndarray of int, shape (n,)
        Number of each value's block [1].

    Returns
    -------
    float
        In the unit of the values; if there is one block only, as if the values had nothing in common.

    Source
    ------
    W. G. Cochran, Sampling Techniques (1977), single-stage cluster sampling with the ratio to size; from
    memory, checked by the tests.

    Examples
    --------
    >>> standard_error(np.array([1.0, 1.0, 3.0, 3.0]), np.array([0, 0, 1, 1]))
    1.0
    """
    off = values - values.mean()
    blocks, number = np.unique(block, return_inverse=True)
    if len(blocks) < 2:
        return float(values.std() / np.sqrt(len(values)))
    sums = np.bincount(number, off)
    return float(np.sqrt(len(blocks) / (len(blocks) - 1) * (sums**2).sum()) / len(values))


def calibration_error(certainty: Floats, hit: np.ndarray) -> float:
    """Expected calibration error over equally filled classes of certainty.

    Mean distance of certainty from the share of hits [1].

    Parameters
    ----------
    certainty : ndarray, shape (cases,)
        Probability that was given to the likeliest [1].
    hit : ndarray of bool, shape (cases,)
        Whether it was right.

    Source
    ------
    R. Roelofs, N. Cain, J. Shlens, M. C. Mozer, "Mitigating bias in calibration error estimation", AISTATS
    2022: classes of equal mass. What it comes to for a perfectly calibrated posterior: see `noise_floor`.

    Examples
    --------
    >>> calibration_error(np.full(20, 0.5), np.arange(20) % 2 == 0)
    0.0
    """
    order = np.argsort(certainty, kind="stable")
    parts = zip(np.array_split(certainty[order], BINS), np.array_split(hit[order], BINS), strict=True)
    distance = sum(len(some) * abs(some.mean() - right.mean()) for some, right in parts if len(some))
    return float(distance / len(certainty))


def noise_floor(certainty: Floats) -> tuple[float, float]:
    """What the calibration error comes to if every certainty is exactly right.

    Parameters
    ----------
    certainty : ndarray, shape (cases,)
        [1].

    Returns
    -------
    mean : float
    high : float
        95 of 100 lie below.
    """
    random = np.random.default_rng(0)
    errors = [calibration_error(certainty, random.random(len(certainty)) < certainty) for _ in range(DRAWS)]
    return float(np.mean(errors)), float(np.quantile(errors, 0.95))


def share_limits(hit: np.ndarray) -> tuple[float, float]:
    """Limits of a share that was counted, within which it really is in 95 of 100.

    Parameters
    ----------
    hit : ndarray of bool, shape (cases,)
        At least one.

    Source
    ------
    E. B. Wilson, J. Amer. Statist. Assoc. 22 (1927) 209: the shares of which the one that was counted is so
    many deviations away. From memory, checked by the tests.

    Examples
    --------
    >>> low, high = share_limits(np.arange(100) < 90)
    >>> round(low, 3), round(high, 3)
    (0.826, 0.945)
    """
    count, share, square = len(hit), float(np.mean(hit)), DEVIATIONS**2
    middle = (share + square / (2 * count)) / (1 + square / count)
    half = DEVIATIONS / (1 + square / count) * np.sqrt(share * (1 - share) / count + square / (4 * count**2))
    return max(0.0, float(middle - half)), min(1.0, float(middle + half))
