"""Looking ahead: each step that may come next is followed by simple policies to the end; the best is taken.

Taking the best first step of several policies, each time anew, never does worse than any of them. The leading
steps are looked at once more, with a free choice of the step after them as well.

Source: F. Tu, K. R. Pattipati, "Rollout strategies for sequential fault diagnosis", IEEE Transactions on
Systems, Man, and Cybernetics A 33 (2003) 86.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import Batch, Compact
from gaugesim.planning.expected_gain import (
    expected_bits,
    repair_minutes_after,
    setup_minutes,
    shared_setup_minutes,
)
from gaugesim.planning.following import REPAIRS_ONLY, Policy, after_steps, follow
from gaugesim.planning.policies import SAVING, InformationPerMinute, LeastMinutesNext, most_telling
from gaugesim.planning.problem import Integers
from gaugesim.planning.repairs import repair_minutes, urgency
from gaugesim.planning.shortlist import sketch

_BASES: tuple[Policy, ...] = (LeastMinutesNext(6), InformationPerMinute(careful=True))
# hardly worse, and much quicker: from every step, and from the leading ones too
_BASE, _LEADING_BASE = LeastMinutesNext(6), LeastMinutesNext()
_QUICK_BASE, _QUICK_LEADING_BASE = LeastMinutesNext(3, horizon=6), LeastMinutesNext(6, horizon=6)

# what is larger than this is looked at less closely
_CLOSEST, _CLOSE, _NEAR, _FAR = 1_000, 1_500, 3_000, 6_000


@dataclass(frozen=True)
class Rollout:
    """The step from which the best of several simple policies is expected to take least.

    Attributes
    ----------
    leading_bases : tuple of Policy
        More of them, followed from the leading steps alone.
    most_checks, most_repairs : int
        How many of each are looked at, the most promising ones.
    leading : int
        How many of them are looked at again, with a free choice of the next step too.
    most_next : int
        How many checks that choice has.
    least_share : float
        Continuations of a smaller share of the probability are taken to be finished by repairs alone.
    least_again : float
        So much of the probability a continuation must have for a free choice of its next step.
    repairs_last : bool
        Whether there is no going back to checks after a repair.
    """

    bases: tuple[Policy, ...] = _BASES
    leading_bases: tuple[Policy, ...] = ()
    most_checks: int = 8
    most_repairs: int = 4
    leading: int = 6
    most_next: int = 6
    least_share: float = 0.01
    least_again: float = 0.02
    repairs_last: bool = False

    def choose(self, compact: Compact, batch: Batch) -> Integers:
        """See `Policy.choose`."""
        best = np.full(len(batch), REPAIRS_ONLY)
        for i in range(len(batch)):
            small = sketch(compact, batch.take(np.array([i])))
            steps, minutes = self.values(small, small.initial)
            if not steps.size or (
                self.repairs_last and minutes.min() >= repair_minutes(small, small.initial)[0] * (1 - SAVING)
            ):
                continue
            best[i] = small.numbers_in(compact)[steps[np.argmin(minutes)]]
        return best

    def values(self, compact: Compact, state: Batch, every: bool = False) -> tuple[Integers, Floats]:
        """What each step that may come next is expected to lead to.

        Returns
        -------
        steps : ndarray of int, shape (m,)
        minutes : ndarray, shape (m,)
            Expected time to the proven repair, times the state's weight [min].
        """
        weight = float(state.weight.sum())
        least = self.least_share * weight
        most = (compact.checks, compact.repairs) if every else (self.most_checks, self.most_repairs)
        steps = self._candidates(compact, state, *most)[0]
        steps = steps[steps >= 0]
        minutes, parent, after, ahead = self._look(
            compact, state, np.zeros(len(steps), dtype=np.intp), steps, least
        )
        again = np.argsort(minutes, kind="stable")[: None if every else self.leading]
        if self.leading and len(steps) > 1:
            likely = after.weight.sum(axis=1) > self.least_again * weight
            rows = np.flatnonzero(np.isin(parent, again) & likely)
            likely_after = after.take(rows)
            choices = self._candidates(compact, likely_after, self.most_next, self.most_repairs // 2)
            row, column = np.nonzero(choices >= 0)
            better, *_ = self._look(compact, likely_after, row, choices[row, column], least)
            best = ahead[rows]
            for base in self.leading_bases:
                np.minimum(best, _followed(compact, likely_after, base, least), out=best)
            np.minimum.at(best, row, better)
            np.add.at(minutes, parent[rows], best - ahead[rows])
        return steps, minutes

    def _look(
        self, compact: Compact, batch: Batch, rows: Integers, steps: Integers, least: float
    ) -> tuple[Floats, Integers, Batch, Floats]:
        """Expected minutes of steps in rows, the states after them, what the best base takes from there."""
        before = batch.take(rows)
        parent, after = after_steps(compact, before, steps)
        ahead = np.min([_followed(compact, after, base, least) for base in self.bases], axis=0)
        own = before.weight.sum(axis=1) * compact.step_minutes(before, steps)
        return own + np.bincount(parent, ahead, len(steps)), parent, after, ahead

    def _candidates(self, compact: Compact, batch: Batch, most_checks: int, most_repairs: int) -> Integers:
        """The most promising steps in each state, shape (n, m); -1 fills up."""
        columns = []
        if compact.checks:
            columns.append(promising_checks(compact, batch, most_checks))
        if not self.repairs_last:
            columns.append(_promising_repairs(compact, batch, most_repairs))
        return np.concatenate(columns, axis=1) if columns else np.zeros((len(batch), 0), dtype=np.intp)


def _followed(compact: Compact, batch: Batch, base: Policy, least: float) -> Floats:
    if isinstance(base, LeastMinutesNext):
        return base.minutes(compact, batch, least)
    return follow(compact, batch, base, least)


def affordable(size: float, every: bool = False) -> Rollout:
    """As close a look as a person with a meter in the hand will wait for.

    Parameters
    ----------
    size : float
        Faults times checks times outcomes.
    """
    if size <= _CLOSEST:
        return Rollout()
    if size <= _CLOSE:
        return Rollout((_BASE,), (_LEADING_BASE,))
    ahead = Rollout((_QUICK_BASE,), (_QUICK_LEADING_BASE,), leading=3, most_next=5, least_again=0.1)
    if size <= _NEAR:
        return ahead
    ahead = replace(ahead, most_checks=5, most_repairs=3, most_next=2)
    return replace(ahead, leading=0, least_share=0.05) if every and size > _FAR else ahead


def promising_checks(compact: Compact, batch: Batch, most: int) -> Integers:
    """Those that lead in minutes with the place charged or shared out, or in information.

    Returns
    -------
    ndarray of int, shape (n, m)
        The best first; -1 fills up.
    """
    bits = expected_bits(compact, batch)
    looked_at = most_telling(compact, batch, bits, 2 * most)
    promise = np.take_along_axis(bits, looked_at, axis=1)
    after = repair_minutes_after(compact, batch, looked_at) / batch.weight.sum(axis=1)[:, None]
    own = compact.check_minutes[looked_at]
    charged = own + np.take_along_axis(setup_minutes(compact, batch), looked_at, axis=1)
    shared = own + np.take_along_axis(shared_setup_minutes(compact, batch, bits > 0), looked_at, axis=1)
    rank = np.minimum(_rank(charged + after), np.minimum(_rank(shared + after), _rank(-promise / shared)))
    order = np.argsort(np.where(promise > 0, rank, np.inf), axis=1, kind="stable")[:, :most]
    chosen = np.take_along_axis(looked_at, order, axis=1)
    return np.where(np.take_along_axis(promise, order, axis=1) > 0, chosen, -1)


def _promising_repairs(compact: Compact, batch: Batch, most: int) -> Integers:
    """Those that lead in probability over minutes, alone or as part of a job."""
    chance = compact.by_repair(batch.weight)
    opening = (batch.closed * compact.setup_minutes)[:, compact.repair_place]
    rank = np.minimum(_rank(-urgency(compact, batch)), _rank(-chance / (compact.repair_minutes + opening)))
    order = np.argsort(np.where(chance > 0, rank, np.inf), axis=1, kind="stable")[:, :most]
    return np.where(np.take_along_axis(chance, order, axis=1) > 0, order + compact.checks, -1)


def _rank(values: Floats) -> Integers:
    return np.argsort(np.argsort(values, axis=1, kind="stable"), axis=1, kind="stable")
