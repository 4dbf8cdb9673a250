"""The whole plan as a tree: what to do, and where each outcome leads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from gaugesim.planning.compacted import all_of, batch_of
from gaugesim.planning.decide import Action, next_action
from gaugesim.planning.policies import LeastMinutesNext
from gaugesim.planning.problem import (
    CHECK,
    Belief,
    Problem,
    Step,
    after_check,
    after_repair,
    start,
    step_minutes,
)
from gaugesim.planning.shortlist import sketch

# outcomes of a repair
NOT_MENDED, MENDED = 0, 1
_PRUNED = 0.01


@dataclass(frozen=True)
class Node:
    """A state of the job, and what is to be done there.

    Attributes
    ----------
    probability : float
        Of getting there [1].
    minutes : float
        Spent by then [min].
    expected_minutes : float
        Still to come, up to the proven repair [min].
    action : Action or None
        None where the job is done, and where the tree is cut off.
    cut : bool
        Whether the tree goes on here, but is not shown.
    children : mapping of int to Node
        What follows each possible outcome of the check; of a repair `NOT_MENDED` and `MENDED`.
    """

    probability: float
    minutes: float
    expected_minutes: float
    action: Action | None = None
    cut: bool = False
    children: Mapping[int, Node] = field(default_factory=dict)


def tree(
    problem: Problem,
    depth: int | None = None,
    least_probability: float = _PRUNED,
    first: Step | None = None,
) -> Node:
    """The plan, with everything that is likely enough to matter.

    Parameters
    ----------
    depth : int, optional
        How many steps are shown at most; left out, all to the end.
    least_probability : float, optional
        What is less likely is cut off [1].

    Examples
    --------
    >>> problem = Problem([0.6, 0.4], [[[1, 0], [0, 1]]], [4], [[0]], [2, 20], [15, 10], [0, 1])
    >>> root = tree(problem)
    >>> root.action.step, root.expected_minutes
    (Step(kind='check', number=0), 27.0)
    >>> {outcome: (child.probability, child.action.step) for outcome, child in root.children.items()}
    {0: (0.6, Step(kind='repair', number=0)), 1: (0.4, Step(kind='repair', number=1))}
    """
    return _grow(problem, start(problem), 1.0, 0.0, -1 if depth is None else depth, least_probability, first)


def _grow(
    problem: Problem,
    state: Belief,
    probability: float,
    minutes: float,
    depth: int,
    least: float,
    first: Step | None = None,
) -> Node:
    if depth == 0 or probability < least:
        rest = sketch(all_of(problem), batch_of(problem, state))
        weight = float(rest.initial.weight.sum())
        ahead = float(LeastMinutesNext().minutes(rest, rest.initial, _PRUNED * weight)[0]) / weight
        return Node(probability, minutes, ahead, cut=True)
    action = next_action(problem, state)
    if first is not None and first != action.step:
        action = replace(action, step=first, minutes=step_minutes(problem, state, first), exact=False)
    step = action.step
    if step.kind == CHECK:
        outcomes = range(problem.outcomes[step.number].shape[1])
        states = {outcome: after_check(problem, state, step.number, outcome) for outcome in outcomes}
    else:
        states = {NOT_MENDED: after_repair(problem, state, step.number)}
    weight, later = state.weight.sum(), minutes + action.minutes
    children = {}
    for outcome, after in states.items():
        share = float(after.weight.sum() / weight)
        if share > 0:
            children[outcome] = _grow(problem, after, probability * share, later, depth - 1, least)
    if step.kind != CHECK:
        mended = probability - sum(child.probability for child in children.values())
        children[MENDED] = Node(mended, later, 0.0)
    ahead = sum(child.probability * child.expected_minutes for child in children.values()) / probability
    return Node(probability, minutes, action.minutes + ahead, action, children=children)
