"""Rules that say what to do next from what is known now, without looking far ahead.

Each is a baseline, and some are what the planner looks ahead with. All of them check until they would rather
mend, and then mend in the best order.

Source: D. Heckerman, J. S. Breese, K. Rommelse, "Decision-theoretic troubleshooting", Communications of the
ACM 38:3 (1995) 49 (expected minutes of repairs after one more check).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import NEGLIGIBLE, Batch, Compact
from gaugesim.planning.expected_gain import (
    after_each,
    bundles,
    expected_bits,
    repair_minutes_after,
    setup_minutes,
    shared_setup_minutes,
)
from gaugesim.planning.following import REPAIRS_ONLY
from gaugesim.planning.problem import Booleans, Integers
from gaugesim.planning.repairs import repair_minutes, repairs_alone

# a saving smaller than this share is none
SAVING = 1e-12
# probability of one repair from which simple rules make it
SURE = 0.95
# share of the least weight below which an outcome leaves the order of repairs as it was
_UNCHANGED = 0.1


@dataclass(frozen=True)
class RepairsOnly:
    """Swap parts by likelihood for their minutes until the complaint is gone."""

    def choose(self, compact: Compact, batch: Batch) -> Integers:
        """See `Policy.choose`."""
        return np.full(len(batch), REPAIRS_ONLY)


@dataclass(frozen=True)
class FixedOrder:
    """Checks in the order of their numbers, those that cannot tell anything any more left out."""

    def choose(self, compact: Compact, batch: Batch) -> Integers:
        """See `Policy.choose`."""
        useful = expected_bits(compact, batch) > 0
        order = np.argsort(compact.check_number, kind="stable")
        first = (
            order[np.argmax(useful[:, order], axis=1)] if compact.checks else np.zeros(len(batch), np.intp)
        )
        return np.where(_is_sure(compact, batch) | ~useful.any(axis=1), REPAIRS_ONLY, first)


@dataclass(frozen=True)
class InformationPerMinute:
    """The check that is expected to tell most for its minutes.

    Time to open a place is charged to its first check, and one mends when sure of one repair.

    Attributes
    ----------
    careful : bool
        Share that time out among the useful checks of the place, and mend when no check or bundle lowers the
        expected minutes.
    """

    careful: bool = False

    def choose(self, compact: Compact, batch: Batch) -> Integers:
        """See `Policy.choose`."""
        bits = expected_bits(compact, batch)
        useful = bits > 0
        if self.careful:
            opening = shared_setup_minutes(compact, batch, useful)
        else:
            opening = setup_minutes(compact, batch)
        rate = bits / (compact.check_minutes + opening)
        best = np.argmax(rate, axis=1) if compact.checks else np.zeros(len(batch), np.intp)
        over = ~useful.any(axis=1)
        over |= ~_anything_saves(compact, batch, bits) if self.careful else _is_sure(compact, batch)
        return np.where(over, REPAIRS_ONLY, best)


@dataclass(frozen=True)
class LeastMinutesNext:
    """The check after which repairs alone are expected to take least, as long as that is less than now.

    Attributes
    ----------
    most_checks : int
        How many are looked at: those that are expected to tell most for their minutes, time to open a place
        shared out among its useful checks.
    horizon : int
        After so many checks, counted from where the compact form begins, only repairs follow.
    """

    most_checks: int = 1_000_000
    horizon: int = 1_000_000

    def choose(self, compact: Compact, batch: Batch) -> Integers:
        """See `Policy.choose`."""
        if not compact.checks:
            return np.full(len(batch), REPAIRS_ONLY)
        bits = expected_bits(compact, batch)
        checks = most_telling(compact, batch, bits, self.most_checks)
        minutes = _minutes_with(compact, batch, bits, checks)
        rows = np.arange(len(batch))
        which = np.argmin(minutes, axis=1)
        best, least = checks[rows, which], minutes[rows, which]
        saves = least < repair_minutes(compact, batch) * (1 - SAVING)
        return np.where(saves & self._within(compact, batch), best, REPAIRS_ONLY)

    def minutes(self, compact: Compact, batch: Batch, least_weight: float) -> Floats:
        """What `follow` gives for this rule, in less time: what repairs would take is worked out once.

        After an outcome that is hardly likely their order stays as it was, which may take a little longer.

        Parameters
        ----------
        least_weight : float
            States of less weight are finished by repairs alone.

        Returns
        -------
        ndarray, shape (n,)
            Expected time to the proven repair, times the state's weight [min].
        """
        total, times = repairs_alone(compact, batch)
        if not compact.checks:
            return total
        alone, origin, count = total.copy(), np.arange(len(batch)), len(batch)
        least_weight = max(least_weight, NEGLIGIBLE * float(batch.weight.sum(axis=1).max(initial=0.0)))
        while True:
            weight = batch.weight.sum(axis=1)
            going = (weight > least_weight) & self._within(compact, batch)
            going &= weight > compact.by_repair(batch.weight).max(axis=1) * (1 + NEGLIGIBLE)
            batch, origin, alone, weight = batch.take(going), origin[going], alone[going], weight[going]
            times = times[going]
            if not len(batch):
                return total
            bits = expected_bits(compact, batch)
            checks = most_telling(compact, batch, bits, self.most_checks)
            after = after_each(compact, batch, checks, times, _UNCHANGED * least_weight)
            own = weight[:, None] * (
                compact.check_minutes[checks]
                + np.take_along_axis(setup_minutes(compact, batch), checks, axis=1)
            )
            minutes = np.where(
                np.take_along_axis(bits, checks, axis=1) > 0, own + after.minutes_of_checks, np.inf
            )
            which = np.argmin(minutes, axis=1)
            rows = np.flatnonzero(minutes.min(axis=1, initial=np.inf) < alone * (1 - SAVING))
            which = which[rows]
            # what is ahead is put in place of repairs alone
            total += np.bincount(origin[rows], minutes[rows, which] - alone[rows], count)
            taken = np.zeros(checks.shape, dtype=np.bool_)
            taken[rows, which] = True
            ahead = np.flatnonzero(taken[after.row, after.column])
            alone, times, origin = after.minutes[ahead], after.times[ahead], origin[after.row[ahead]]
            batch = after.batch.take(ahead)

    def _within(self, compact: Compact, batch: Batch) -> Booleans:
        """Whether another check is within the horizon."""
        done: Integers = compact.checks - batch.remaining.sum(axis=1)
        return done < self.horizon


def most_telling(compact: Compact, batch: Batch, bits: Floats, most: int) -> Integers:
    """The checks that are expected to tell most for their minutes, set-up shared out.

    Parameters
    ----------
    bits : ndarray, shape (n, checks)
        [bit]

    Returns
    -------
    ndarray of int, shape (n, m)
        In no order.
    """
    if most >= compact.checks:
        return np.broadcast_to(np.arange(compact.checks), bits.shape)
    rate = bits / (compact.check_minutes + shared_setup_minutes(compact, batch, bits > 0))
    return np.argpartition(-rate, most - 1, axis=1)[:, :most]


def _minutes_with(compact: Compact, batch: Batch, bits: Floats, checks: Integers) -> Floats:
    """Expected minutes times weight of one more check, then repairs alone; infinite for a useless one."""
    own = compact.check_minutes[checks] + np.take_along_axis(setup_minutes(compact, batch), checks, axis=1)
    minutes = batch.weight.sum(axis=1)[:, None] * own + repair_minutes_after(compact, batch, checks)
    return np.where(np.take_along_axis(bits, checks, axis=1) > 0, minutes, np.inf)


def _is_sure(compact: Compact, batch: Batch) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    likeliest = compact.by_repair(batch.weight).max(axis=1)
    return np.asarray(likeliest >= SURE * batch.weight.sum(axis=1))


def _anything_saves(
    compact: Compact, batch: Batch, bits: Floats
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether a check or a bundle lowers the expected minutes of repairs alone."""
    every = np.broadcast_to(np.arange(compact.checks), bits.shape)
    group = bundles(compact, batch, bits)
    with_group = batch.weight.sum(axis=1)[:, None] * group.minutes + group.after
    least = np.concatenate([_minutes_with(compact, batch, bits, every), with_group], axis=1).min(
        axis=1, initial=np.inf
    )
    return np.asarray(least < repair_minutes(compact, batch) * (1 - SAVING))
