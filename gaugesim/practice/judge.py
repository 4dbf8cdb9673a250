"""How good each decision was, given what was known: the decision is judged, not the luck."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.plan.decide import Action
from gaugesim.plan.job import Option
from gaugesim.plan.problem import CHECK, REPAIR, Step
from gaugesim.practice.course import CHECKED, REPLACED, VERDICT, Course, Done
from gaugesim.practice.knowledge import Knowledge, normal, number_of
from gaugesim.practice.rest import Repair, Rest

# a check that is expected to tell less than this is redundant [bit]
REDUNDANT_BITS = 0.005
# a replacement that loses more than this is unwarranted [min]
UNWARRANTED_MINUTES = 1.0
# a difference smaller than this is no loss [min]
ROUNDING = 1e-6


@dataclass(frozen=True, eq=False)
class Decision:
    """A decision beside the planner's.

    Attributes
    ----------
    number : int
        Which of the course's steps.
    best : tuple of str
        What the planner would have done: a check's id and state, or the names of repairs; empty where the
        complaint was gone already or nothing was possible any more.
    best_kind : str
        ``check`` or ``repair``; empty likewise.
    best_minutes, expected_minutes : float
        Expected from there to the proven repair, by the planner and with this decision [min].
    regret : float
        Their difference [min].
    bits : float
        Information that a check could be expected to give [bit].
    redundant : bool
        Whether it was a check that could tell nothing.
    unwarranted : bool
        Whether it was a replacement that could not be expected to pay.
    """

    number: int
    best: tuple[str, ...]
    best_kind: str
    best_minutes: float
    expected_minutes: float
    regret: float
    bits: float
    redundant: bool
    unwarranted: bool


def decisions(course: Course) -> tuple[Decision, ...]:
    """Judge all decisions of a course.

    Parameters
    ----------
    course : Course

    Returns
    -------
    tuple of Decision
        One for each check, replacement and verdict.
    """
    return tuple(
        decision(number, step)
        for number, step in enumerate(course.steps)
        if step.entry.kind in (CHECKED, REPLACED, VERDICT)
    )


def decision(number: int, step: Done) -> Decision:
    """Judge one decision.

    Parameters
    ----------
    number : int
        Which of the steps.
    step : Done
        A check, a replacement or a verdict.

    Returns
    -------
    Decision
    """
    known = step.before
    if step.cured_before or known.action is None:
        # there is nothing left to gain, so all of it is lost
        idle = step.option is not None
        return Decision(
            number, (), "", 0.0, step.minutes, step.minutes, 0.0, idle, bool(step.repairs) and not idle
        )
    action = known.action
    if step.option is not None:
        expected, bits = _with_check(known, action, step.option, step.minutes), known.bits_of(step.option)
    else:
        expected, bits = _with_repair(known, action, step.repairs, step.minutes), 0.0
    regret = max(expected - action.expected_minutes, 0.0)
    regret = 0.0 if regret < ROUNDING else regret
    return Decision(
        number,
        known.entries_of(action.step),
        action.step.kind,
        action.expected_minutes,
        action.expected_minutes + regret,
        regret,
        bits,
        step.option is not None and bits < REDUNDANT_BITS,
        step.option is None and regret > UNWARRANTED_MINUTES,
    )


def _with_check(known: Knowledge, action: Action, option: Option, minutes: float) -> float:
    """Expected minutes to the proven repair if a check is made next."""
    number = number_of(known.work, option)
    looked_at = {choice.step: choice.expected_minutes for choice in action.alternatives}
    if number is not None and Step(CHECK, number) in looked_at:
        return looked_at[Step(CHECK, number)]
    if known.bits_of(option) < REDUNDANT_BITS:
        return minutes + known.with_open(option.check.places).expected_minutes
    chances = known.weight @ option.table
    after = [known.after_check(option, word).expected_minutes for word in option.classes]
    return minutes + float(chances @ np.array(after))


def _with_repair(known: Knowledge, action: Action, repairs: tuple[Repair, ...], minutes: float) -> float:
    """Expected minutes to the proven repair if something is replaced next."""
    names = {repair.name for repair in repairs}
    for choice in action.alternatives:
        if choice.step.kind == REPAIR and {*known.entries_of(choice.step)} == names:
            return choice.expected_minutes
    rest = Rest(known.work, known.rest.replaced | names)
    left = np.array([bool(needed) for needed in rest.left]) * known.weight
    opened = known.opened | {repair.place for repair in repairs}
    after = Knowledge(rest, normal(left), opened, known.done)
    return minutes + float(left.sum() / known.weight.sum()) * after.expected_minutes
