"""The expected minutes of following a policy to the proven repair, added up exactly over every outcome."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import NEGLIGIBLE, Batch, Compact, compact
from gaugesim.planning.problem import Belief, Integers, Problem, start
from gaugesim.planning.repairs import repair_minutes

# In place of a step: no more checks, repairs in their best order.
REPAIRS_ONLY = -1
# share of the least weight at which what finishes a rare state stops checking
_LAST = 0.1


class Policy(Protocol):
    """A rule that says what to do next, from the state alone."""

    def choose(self, compact: Compact, batch: Batch) -> Integers:
        """The next step in each state, shape (n,): numbers of steps, or `REPAIRS_ONLY`."""
        ...


def expected_minutes(
    problem: Problem,
    policy: Policy,
    state: Belief | None = None,
    least_probability: float = 0.0,
    rest: Policy | None = None,
) -> float:
    """Expected time from a state to the proven repair.

    Parameters
    ----------
    least_probability : float, optional
        What is reached less often is finished in another way, to save time [1].
    rest : Policy, optional
        In which way; left out, by repairs alone.

    Examples
    --------
    >>> from gaugesim.planning.policies import RepairsOnly
    >>> problem = Problem([0.7, 0.3], [], [], [], [2, 20], [15, 10], [0, 1])
    >>> expected_minutes(problem, RepairsOnly())  # 2 + 15, and in 3 of 10 cases 20 + 10 more
    26.0
    """
    what_matters = compact(problem, state or start(problem))
    weight = what_matters.initial.weight.sum()
    total = follow(what_matters, what_matters.initial, policy, least_probability * weight, rest)
    return float(total[0]) / float(weight)


def follow(
    compact: Compact, batch: Batch, policy: Policy, least_weight: float = 0.0, rest: Policy | None = None
) -> Floats:
    """Expected time to the proven repair from each of several states, times the state's weight.

    Parameters
    ----------
    least_weight : float, optional
        States of less weight are finished by ``rest``, and when it comes to a tenth of that by repairs alone.

    Returns
    -------
    ndarray, shape (n,)
        [min]
    """
    count = len(batch)
    total = np.zeros(count)
    origin = np.arange(count)
    least = max(least_weight, NEGLIGIBLE * float(batch.weight.sum(axis=1).max(initial=0.0)))
    while len(batch):
        weight = batch.weight.sum(axis=1)
        sure = weight <= compact.by_repair(batch.weight).max(axis=1) * (1 + NEGLIGIBLE)
        small = (weight <= least) & ~sure
        if rest is not None and small.any():
            total += np.bincount(
                origin[small], follow(compact, batch.take(small), rest, _LAST * least), count
            )
            batch, origin, weight, sure = batch.take(~small), origin[~small], weight[~small], sure[~small]
        going = (weight > least) & ~sure
        steps = np.full(len(batch), REPAIRS_ONLY)
        if going.any():
            steps[going] = policy.choose(compact, batch.take(going))
        over = steps == REPAIRS_ONLY
        if over.any():
            finished = repair_minutes(compact, batch.take(over))
            total += np.bincount(origin[over], finished, count)
        going = np.flatnonzero(~over)
        steps, batch, origin = steps[going], batch.take(going), origin[going]
        total += np.bincount(origin, weight[going] * compact.step_minutes(batch, steps), count)
        parent, batch = after_steps(compact, batch, steps)
        origin = origin[parent]
    return total


def after_steps(compact: Compact, batch: Batch, steps: Integers) -> tuple[Integers, Batch]:
    """The states that may follow when each state's step is done and the job is not over.

    Parameters
    ----------
    steps : ndarray of int, shape (n,)

    Returns
    -------
    parent : ndarray of int, shape (m,)
        The row that each state follows from.
    """
    check = steps < compact.checks
    rows = np.flatnonzero(check)
    seen = batch.weight[rows, None] * compact.likelihood[steps[rows]]
    possible = seen.sum(axis=2) > NEGLIGIBLE * batch.weight[rows].sum(axis=1)[:, None]
    which, outcome = np.nonzero(possible)
    tried = np.flatnonzero(~check)
    mended = compact.repair_of == (steps[tried] - compact.checks)[:, None]
    left = np.where(mended, 0.0, batch.weight[tried])
    unmended = left.sum(axis=1) > NEGLIGIBLE * batch.weight[tried].sum(axis=1)
    parent = np.concatenate([rows[which], tried[unmended]])
    remaining = batch.remaining[parent]
    remaining[np.arange(len(which)), steps[rows[which]]] = False
    after = Batch(
        np.concatenate([seen[which, outcome], left[unmended]]),
        compact.opened_by(batch.closed[parent], steps[parent]),
        remaining,
    )
    return parent, after
