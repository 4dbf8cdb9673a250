"""A problem in the arrays that planning works on: only what can still matter, like faults merged."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.problem import (
    CHECK,
    NO_PLACE,
    REPAIR,
    Belief,
    Booleans,
    Integers,
    Problem,
    Step,
    start,
)
from gaugesim.planning.prune import SAME, alike, fewer_outcomes, not_dominated

# A fault that many times less likely than all together is ruled out.
NEGLIGIBLE = 1e-12


@dataclass(frozen=True, eq=False)
class Batch:
    """States of one compact problem, one in each row.

    Attributes
    ----------
    weight : ndarray, shape (n, faults)
        Probability of each fault and of all that was seen, up to a common factor [1].
    closed : ndarray of bool, shape (n, places)
        Whether opening the place still costs time.
    remaining : ndarray of bool, shape (n, checks)
        Whether the check has not been done.
    """

    weight: Floats
    closed: Booleans
    remaining: Booleans

    def __len__(self) -> int:
        return len(self.weight)

    def take(self, rows: Integers | Booleans | slice) -> Batch:
        """Some of the rows."""
        return Batch(self.weight[rows], self.closed[rows], self.remaining[rows])


@dataclass(frozen=True, eq=False)
class Compact:
    """What matters of a problem from some state on.

    Faults lie in the order of their repairs. The last place is nowhere: it is always open. A step is a
    number: a check its own, a repair its own and the number of checks.

    Attributes
    ----------
    likelihood : ndarray, shape (checks, outcomes, faults)
        Probability of an outcome under a fault [1]; zero where a check has fewer outcomes.
    check_minutes : ndarray, shape (checks,)
        [min]
    check_needs : ndarray of bool, shape (checks, places)
    setup_minutes : ndarray, shape (places,)
        [min]
    repair_minutes : ndarray, shape (repairs,)
        Price included [min].
    repair_place : ndarray of int, shape (repairs,)
    repair_of : ndarray of int, shape (faults,)
        Rising.
    check_number, repair_number : ndarray of int, shapes (checks,) and (repairs,)
        What the problem calls them, rising.
    """

    likelihood: Floats
    check_minutes: Floats
    check_needs: Booleans
    setup_minutes: Floats
    repair_minutes: Floats
    repair_place: Integers
    repair_of: Integers
    check_number: Integers
    repair_number: Integers
    initial: Batch

    @property
    def checks(self) -> int:
        """Number of checks."""
        return len(self.check_minutes)

    @property
    def faults(self) -> int:
        """Number of faults, those alike in everything counted once."""
        return len(self.repair_of)

    @property
    def repairs(self) -> int:
        """Number of repairs."""
        return len(self.repair_minutes)

    @cached_property
    def certain(self) -> bool:
        """Whether no check can err."""
        return bool(np.all((self.likelihood == 0) | (self.likelihood == 1)))

    @cached_property
    def flat(self) -> Floats:
        """Likelihoods so that one product gives every outcome's probability, shape (faults, all outcomes)."""
        return np.ascontiguousarray(self.likelihood.reshape(-1, self.faults).T)

    @cached_property
    def row_bits(self) -> Floats:
        """Entropy of what each check shows under each fault, shape (faults, checks) [bit]."""
        return np.ascontiguousarray(-plogp(self.likelihood).sum(axis=1).T)

    @cached_property
    def first_fault(self) -> Integers:
        """The first fault that each repair mends, shape (repairs,)."""
        return np.searchsorted(self.repair_of, np.arange(self.repairs))

    @cached_property
    def located(self) -> Floats:
        """One where a repair is at a place, shape (repairs, places)."""
        return np.eye(len(self.setup_minutes))[self.repair_place]

    @cached_property
    def by_place(self) -> Integers:
        """Repairs in the order of their places, shape (repairs,)."""
        return np.argsort(self.repair_place, kind="stable")

    @cached_property
    def place_begins(self) -> Integers:
        """Where each place that has a repair begins in that order."""
        return np.flatnonzero(np.diff(self.repair_place[self.by_place], prepend=-1))

    @cached_property
    def place_holds(self) -> Floats:
        """One where a place has a repair, repairs in that order, shape (places with repairs, repairs)."""
        places = np.eye(len(self.place_begins))
        return np.repeat(places, np.diff(self.place_begins, append=self.repairs), axis=1)

    @cached_property
    def place_lasts(self) -> Floats:
        """The same, each repair's minutes in place of one [min]."""
        return self.place_holds * self.repair_minutes[self.by_place]

    @cached_property
    def mends_by_place(self) -> Floats:
        """One where a repair mends a fault, repairs in that order, shape (repairs, faults)."""
        return np.eye(self.repairs)[self.by_place][:, self.repair_of]

    @cached_property
    def shared_places(self) -> tuple[Integers, ...]:
        """Checks that need the same places, for all places that more than one check needs."""
        alike: dict[bytes, list[int]] = {}
        for check in np.flatnonzero(self.check_needs.any(axis=1)):
            alike.setdefault(self.check_needs[check].tobytes(), []).append(int(check))
        return tuple(np.array(group, dtype=np.intp) for group in alike.values() if len(group) > 1)

    def by_repair(self, weight: Floats) -> Floats:
        """Probability that each repair helps, shape (n, repairs).

        Parameters
        ----------
        weight : ndarray, shape (n, faults)
        """
        if self.repairs == self.faults:
            return weight
        added: Floats = np.add.reduceat(weight, self.first_fault, axis=1)
        return added

    def step_minutes(self, batch: Batch, steps: Integers) -> Floats:
        """Time of a step in each state, places that must be opened for it included, shape (n,) [min].

        Parameters
        ----------
        steps : ndarray of int, shape (n,)
        """
        needs, own = self._steps
        return own[steps] + ((batch.closed & needs[steps]) @ self.setup_minutes)

    def opened_by(self, closed: Booleans, steps: Integers) -> Booleans:
        """Places still closed after a step, shape (n, places).

        Parameters
        ----------
        closed : ndarray of bool, shape (n, places)
        steps : ndarray of int, shape (n,)
        """
        return closed & ~self._steps[0][steps]

    @cached_property
    def _steps(self) -> tuple[Booleans, Floats]:
        """Places and own minutes of every step."""
        needs = np.concatenate([self.check_needs, self.located > 0])
        return needs, np.concatenate([self.check_minutes, self.repair_minutes])

    def step(self, number: int) -> Step:
        """What the problem calls a step."""
        if number < self.checks:
            return Step(CHECK, int(self.check_number[number]))
        return Step(REPAIR, int(self.repair_number[number - self.checks]))

    def numbers_in(self, other: Compact) -> Integers:
        """What another compact form of the same problem calls each step of this one.

        Returns
        -------
        ndarray of int, shape (checks + repairs,)
        """
        checks = np.searchsorted(other.check_number, self.check_number)
        repairs = np.searchsorted(other.repair_number, self.repair_number)
        return np.concatenate([checks, other.checks + repairs])


def plogp(probability: Floats) -> Floats:
    """Each number times its binary logarithm [bit]."""
    return probability * np.log2(np.where(probability > 0, probability, 1.0))


@lru_cache(maxsize=8)
def all_of(problem: Problem) -> Compact:
    """All of a problem."""
    most = max((rows.shape[1] for rows in problem.outcomes), default=1)
    order = _by_repair(problem)
    likelihood = np.zeros((problem.checks, most, problem.faults))
    for j, rows in enumerate(problem.outcomes):
        likelihood[j, : rows.shape[1]] = rows[order].T
    needs = np.zeros((problem.checks, problem.places + 1), dtype=np.bool_)
    for j, places in enumerate(problem.check_places):
        needs[j, list(places)] = True
    return Compact(
        likelihood,
        problem.check_minutes,
        needs,
        np.append(problem.setup_minutes, 0.0),
        problem.repair_cost,
        np.where(problem.repair_places == NO_PLACE, problem.places, problem.repair_places),
        problem.repair_of[order],
        np.arange(problem.checks),
        np.arange(problem.repairs),
        batch_of(problem, start(problem)),
    )


def compact(problem: Problem, state: Belief) -> Compact:
    """What matters of a problem from a state on."""
    return restrict(all_of(problem), batch_of(problem, state))


def _by_repair(problem: Problem) -> Integers:
    return np.argsort(problem.repair_of, kind="stable")


def batch_of(problem: Problem, state: Belief) -> Batch:
    """A state as a row of `all_of`. One row."""
    setup = np.append(problem.setup_minutes, 0.0)
    closed = (setup > 0) & ~np.isin(np.arange(len(setup)), list(state.opened))
    remaining = np.isin(np.arange(problem.checks), list(state.remaining))
    return Batch(state.weight[_by_repair(problem)][None], closed[None], remaining[None])


def restrict(
    everything: Compact, batch: Batch, checks: Integers | None = None, pruned: bool = False
) -> Compact:
    """What matters from one state on: faults not ruled out, checks that can tell some of them apart.

    Parameters
    ----------
    checks : ndarray of int, optional
        Which of its checks are considered; left out, all that remain.
    """
    weight, closed = batch.weight[0], batch.closed[0]
    faults = np.flatnonzero(weight > NEGLIGIBLE * weight.sum())
    checks = np.flatnonzero(batch.remaining[0]) if checks is None else checks
    likelihood = everything.likelihood[np.ix_(checks, np.arange(everything.likelihood.shape[1]), faults)]
    tells = np.ptp(likelihood, axis=2) > SAME if faults.size else np.zeros(likelihood.shape[:2], np.bool_)
    useful = tells.any(axis=1)
    checks, likelihood = checks[useful], fewer_outcomes(likelihood[useful], tells[useful])
    needs = everything.check_needs[checks] & closed
    if pruned and len(checks) > 1:
        kept = not_dominated(likelihood, everything.check_minutes[checks], needs)
        checks, likelihood, needs = checks[kept], likelihood[kept], needs[kept]
    present = np.bincount(everything.repair_of[faults]) > 0
    repairs, repair_of = np.flatnonzero(present), (np.cumsum(present) - 1)[everything.repair_of[faults]]
    first, total = alike(likelihood, repair_of, weight[faults])
    return Compact(
        np.ascontiguousarray(likelihood[:, :, first]),
        everything.check_minutes[checks],
        needs,
        everything.setup_minutes,
        everything.repair_minutes[repairs],
        everything.repair_place[repairs],
        repair_of[first],
        everything.check_number[checks],
        everything.repair_number[repairs],
        Batch(total[None], closed[None], np.ones((1, len(checks)), dtype=np.bool_)),
    )
