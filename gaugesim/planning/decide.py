"""What to do next, what it is expected to take, and what every other step would take instead."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.errors import UnsolvableError
from gaugesim.planning.compacted import Batch, Compact, all_of, batch_of, restrict
from gaugesim.planning.exact import Certain
from gaugesim.planning.exact_erring import Erring, table_size
from gaugesim.planning.exact_leading import leading_values
from gaugesim.planning.problem import Belief, Integers, Problem, Step, harms, start, step_minutes
from gaugesim.planning.rollout import Rollout, affordable
from gaugesim.planning.shortlist import sketch

# so few faults with so much of the probability are planned exactly
FEW_FAULTS, NEARLY_ALL = 12, 0.999
# as far as that can be done while someone waits
_MOST_STATES, _MOST_ENTRIES, _MOST_LEADING = 400, 50_000, 20_000


@dataclass(frozen=True)
class Alternative:
    """A step that may be taken now.

    Attributes
    ----------
    minutes : float
        Of the step itself, opening places for it and the price of parts included [min].
    expected_minutes : float
        From now to the proven repair, if it is taken and all goes on well [min].
    """

    step: Step
    minutes: float
    expected_minutes: float


@dataclass(frozen=True)
class Action(Alternative):
    """The step to take now.

    Attributes
    ----------
    exact : bool
        Whether it is proven that no step is better; else the minutes are those of a plan that can be
        followed, and the best one may take less.
    alternatives : tuple of Alternative
        All steps that were looked at, the best first; this step is one of them.
    """

    exact: bool
    alternatives: tuple[Alternative, ...]

    def regret(self, step: Step) -> float:
        """Minutes that are expected to be lost by another step [min].

        Raises
        ------
        ValueError
            If that step was not looked at; `next_action` looks at every one if asked to.
        """
        for choice in self.alternatives:
            if choice.step == step:
                return choice.expected_minutes - self.expected_minutes
        raise ValueError(f"{step.kind} {step.number} was not looked at or can do nothing; ask for every step")


@dataclass(frozen=True)
class Planner:
    """Looks ahead as far as there is time for; where few faults are left it plans exactly.

    Where checks can err, and there are too many for a table of all that they may show, the plan is exact for
    those that lead. All are looked ahead at beside it, and the better step is taken.

    Attributes
    ----------
    few_faults : int
        Up to how many faults are planned exactly if they hold nearly all of the probability.
    times : float
        How many times as large a problem is taken to be when it is decided how closely to look [1].
    """

    few_faults: int = FEW_FAULTS
    times: float = 1.0

    def choose(self, compact: Compact, batch: Batch) -> Integers:
        """See `Policy.choose`."""
        best = np.empty(len(batch), dtype=np.intp)
        for i in range(len(batch)):
            steps, minutes, _ = self.values(compact, batch.take(np.array([i])))
            best[i] = steps[np.argmin(minutes)]
        return best

    def values(self, compact: Compact, state: Batch, every: bool = False) -> tuple[Integers, Floats, bool]:
        """What each step is expected to lead to.

        Returns
        -------
        steps : ndarray of int, shape (m,)
        minutes : ndarray, shape (m,)
            Expected time to the proven repair [min].
        """
        few = self._few(compact, state)
        if few is not None:
            small = restrict(compact, few)
            exactly = _optimum(small, every)
            if exactly is not None:
                return *_possible(compact, small, exactly), True
            state = state if every else few
        small = restrict(compact, state) if every else sketch(compact, state)
        ahead = affordable(small.likelihood.size * self.times, every)
        steps, minutes = ahead.values(small, small.initial, every)
        values = np.full(small.checks + small.repairs, np.inf)
        values[steps] = minutes
        if few is not None:
            values = np.minimum(values, leading_values(small, _MOST_LEADING))
        return *_possible(compact, small, values), False

    def _few(self, compact: Compact, state: Batch) -> Batch | None:
        """The likeliest faults alone, if few hold nearly all of the probability."""
        weight = state.weight[0]
        few = np.argsort(-weight, kind="stable")[: self.few_faults]
        if weight[few].sum() < NEARLY_ALL * weight.sum():
            return None
        alone = np.zeros((1, len(weight)))
        alone[0, few] = weight[few]
        return Batch(alone, state.closed, state.remaining)


def _optimum(small: Compact, every: bool) -> Floats | None:
    """Least expected time of each step over all checks, times weight; None if that takes too long."""
    if small.certain:
        pruned = small if every else restrict(small, small.initial, pruned=True)
        try:
            values = Certain(pruned, _MOST_STATES).step_values()
        except UnsolvableError:
            return None
        least = np.full(small.checks + small.repairs, np.inf)
        least[pruned.numbers_in(small)] = values
        return least
    return Erring(small).step_values() if table_size(small) <= _MOST_ENTRIES else None


def _possible(compact: Compact, small: Compact, values: Floats) -> tuple[Integers, Floats]:
    """Numbers of the steps that can do anything, and their expected minutes."""
    possible = np.flatnonzero(np.isfinite(values))
    return small.numbers_in(compact)[possible], values[possible] / small.initial.weight.sum()


def looking_ahead(problem: Problem, small: Problem) -> Planner:
    """The planner for a part of a problem: it looks ahead there no closer than in the whole, never exactly.

    Examples
    --------
    >>> problem = Problem([0.6, 0.4], [[[1, 0], [0, 1]]], [4], [[0]], [2, 20], [15, 10], [0, 1])
    >>> looking_ahead(problem, problem)
    Planner(few_faults=0, times=1.0)
    """
    return Planner(few_faults=0, times=_size(problem) / max(_size(small), 1))


def ending_with_repairs(problem: Problem, small: Problem) -> Rollout:
    """The same for plans that never go back to checks after a repair; it looks equally close to the end.

    Examples
    --------
    >>> problem = Problem([0.6, 0.4], [[[1, 0], [0, 1]]], [4], [[0]], [2, 20], [15, 10], [0, 1])
    >>> ending_with_repairs(problem, problem) == Rollout(repairs_last=True)
    True
    """
    return replace(affordable(_size(problem)), repairs_last=True)


def _size(problem: Problem) -> float:
    """How large a problem is when it is decided how closely to look."""
    return float(sketch(all_of(problem), batch_of(problem, start(problem))).likelihood.size)


def next_action(problem: Problem, state: Belief | None = None, every: bool = False) -> Action:
    """What to do next; what may do harm is not proposed, unless nothing else is left.

    Parameters
    ----------
    every : bool, optional
        Give the minutes of every step that can do anything, not only of the promising ones.

    Raises
    ------
    UnsolvableError
        If no fault is possible any more.

    Examples
    --------
    A jumper at the sender tells at once whether the sender is to blame, before the panel is taken out.

    >>> problem = Problem([0.6, 0.4], [[[1, 0], [0, 1]]], [4], [[0]], [2, 20], [15, 10], [0, 1])
    >>> action = next_action(problem)
    >>> action.step, action.minutes, action.expected_minutes
    (Step(kind='check', number=0), 6.0, 27.0)
    >>> action.regret(Step("repair", 0))  # a new sender first
    2.0
    """
    state = state or start(problem)
    if not state.weight.sum() > 0:
        raise UnsolvableError(
            "no fault is possible any more",
            remedy="look again at what was seen, or allow for a fault that is not listed",
        )
    steps, minutes, exact = Planner().values(all_of(problem), batch_of(problem, state), every)
    choices = []
    for k in np.argsort(minutes, kind="stable"):
        step = all_of(problem).step(int(steps[k]))
        choices.append(Alternative(step, step_minutes(problem, state, step), float(minutes[k])))
    allowed = [choice for choice in choices if not harms(problem, state, choice.step)] or choices
    best, exact = allowed[0], exact and len(allowed) == len(choices)
    return Action(best.step, best.minutes, best.expected_minutes, exact, tuple(allowed))
