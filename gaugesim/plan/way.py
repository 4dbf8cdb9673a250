"""The way to the end: what to do next on a job, and the tree of what follows each outcome."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.plan.advice import outcome_words
from gaugesim.plan.compact import batch_of, compact, whole
from gaugesim.plan.follow import REPAIRS_ONLY
from gaugesim.plan.job import Job, Option
from gaugesim.plan.problem import (
    CHECK,
    REPAIR,
    State,
    Step,
    after_check,
    after_repair,
    needed_places,
    start,
    step_minutes,
)
from gaugesim.plan.repairs import urgency
from gaugesim.plan.rollout import Rollout

# branches that are reached less often than this are not drawn out
DRAWN = 0.03
# and none goes deeper than this
DEEPEST = 12


@dataclass(frozen=True)
class Branch:
    """What follows one outcome of a step.

    Attributes
    ----------
    outcome, words : str
        ``cured`` and ``not_cured`` after a repair.
    probability : float
        Of arriving here, from the start.
    then : Node or None
        None where the job is done, or too unlikely to draw out.
    """

    outcome: str
    words: str
    probability: float
    then: Node | None


@dataclass(frozen=True)
class Node:
    """A step of the way.

    Attributes
    ----------
    kind : str
        ``check`` or ``repair``.
    name : str
        Check id, or the part that is mended.
    state : str
        In which state the check is made; empty for a repair.
    words : str
        What to do.
    probability : float
        Of arriving here.
    minutes : float
        Of this step, set-up of places still closed included.
    so_far : float
        Minutes until it is done.
    branches : tuple of Branch
        Likeliest first.
    """

    kind: str
    name: str
    state: str
    words: str
    probability: float
    minutes: float
    so_far: float
    branches: tuple[Branch, ...]

    def __len__(self) -> int:
        """How many steps the tree has."""
        return 1 + sum(len(branch.then) for branch in self.branches if branch.then)


def next_step(work: Job, state: State | None = None) -> Step:
    """The step from which the job is expected to take least.

    Parameters
    ----------
    work : Job
    state : State, optional
        How far the job has come; its start if left out.

    Returns
    -------
    Step
    """
    everything = whole(work.problem)
    batch = batch_of(work.problem, state or start(work.problem))
    number = int(Rollout().choose(everything, batch)[0])
    if number == REPAIRS_ONLY:
        number = everything.checks + int(np.argmax(urgency(everything, batch)[0]))
    return everything.step(number)


def best_check(work: Job, step: Step) -> Option | None:
    """The check to make if one is to be made: the step itself, or the one that is expected to take least.

    Parameters
    ----------
    work : Job
    step : Step
        What `next_step` says.

    Returns
    -------
    Option or None
        None if no check tells anything.
    """
    if step.kind == CHECK:
        return work.options[step.number]
    small = compact(work.problem, start(work.problem))
    numbers, minutes = Rollout(leading=0).values(small, small.initial)
    checks = [(cost, small.step(int(n))) for n, cost in zip(numbers, minutes, strict=True)]
    able = [(cost, entry.number) for cost, entry in checks if entry.kind == CHECK]
    return work.options[min(able)[1]] if able else None


def tree(work: Job) -> Node:
    """The whole way, drawn out as far as it matters.

    Parameters
    ----------
    work : Job

    Returns
    -------
    Node
    """
    return _node(work, start(work.problem), 1.0, 0.0, 0)


def _node(work: Job, state: State, probability: float, so_far: float, depth: int) -> Node:
    problem = work.problem
    step = next_step(work, state)
    minutes = step_minutes(problem, state, step)
    whole_weight = float(state.weight.sum())
    branches: list[Branch] = []
    for outcome, words, after in _outcomes(work, state, step):
        chance = probability * (float(after.weight.sum()) if after else 0.0) / whole_weight
        if after is None:
            chance = probability - sum(branch.probability for branch in branches)
        if chance <= DRAWN / 3:
            continue
        deeper = after is not None and chance >= DRAWN and depth < DEEPEST
        then = _node(work, after, chance, so_far + minutes, depth + 1) if deeper and after else None
        branches.append(Branch(outcome, words, chance, then))
    name, state_id, told = _told(work, step)
    ordered = tuple(sorted(branches, key=lambda branch: -branch.probability))
    return Node(step.kind, name, state_id, told, probability, minutes, so_far + minutes, ordered)


def _outcomes(work: Job, state: State, step: Step) -> Sequence[tuple[str, str, State | None]]:
    """Each outcome with the state after it; None where the job is done (it comes last)."""
    if step.kind == REPAIR:
        failed = after_repair(work.problem, state, step.number)
        rest: list[tuple[str, str, State | None]] = []
        if failed.weight.sum() > 1e-9 * state.weight.sum():
            rest.append(("not_cured", "the complaint is still there", failed))
        return [*rest, ("cured", "the complaint is gone", None)]
    option = work.options[step.number]
    return [
        (name, outcome_words(option.check.reads, name), after_check(work.problem, state, step.number, k))
        for k, name in enumerate(option.classes)
    ]


def _told(work: Job, step: Step) -> tuple[str, str, str]:
    if step.kind == CHECK:
        option = work.options[step.number]
        return option.check.id, option.state, option.check.words
    repair = work.repairs[step.number]
    mends = [entry for entry in work.hypotheses if entry.repair == repair]
    return repair, "", f"Mend: {mends[0].remedy}" if mends else f"Mend the {repair}"


def opens(work: Job, step: Step) -> tuple[str, ...]:
    """Places that a step opens, in words.

    Parameters
    ----------
    work : Job
    step : Step

    Returns
    -------
    tuple of str
    """
    sheet = work.circuit.sheet
    closed = needed_places(work.problem, step) - work.problem.opened
    return tuple(sheet.places[work.places[k]].words for k in sorted(closed))
