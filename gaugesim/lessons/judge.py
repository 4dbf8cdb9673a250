"""How good each decision was, given what was known: the decision is judged, not the luck."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugesim.advice.jobs import Option
from gaugesim.advice.remedy import Repair
from gaugesim.lessons.course import CHECKED, CURED, REPLACED, VERDICT, Course, Done
from gaugesim.lessons.knowledge import Knowledge, normal, number_of
from gaugesim.lessons.still_to_repair import Rest
from gaugesim.lessons.task import repair_with_place
from gaugesim.planning.decide import Action
from gaugesim.planning.problem import CHECK, REPAIR, Step

# a check that is expected to tell less than this is redundant [bit]
REDUNDANT_BITS = 0.005
# a replacement that loses more than this is unwarranted [min]
UNWARRANTED_MINUTES = 1.0
# what costs no more is work and no part: a cleaned joint, a fuse; a sender is 25 [price, assumed]
MINOR_PRICE = 2.0
# a difference smaller than this is no loss [min]
ROUNDING = 1e-6


@dataclass(frozen=True, eq=False)
class Decision:
    """A decision beside the planner's.

    Attributes
    ----------
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
    wasted : float
        Parts of an unwarranted replacement that were bought on a guess: each counts by the odds that it was
        not needed, and whole from even odds on, so that a lucky one counts as any other [1].
    doubt : float
        Of a verdict, and of an unwarranted replacement that happened to be the cure, which is no better than
        a guess: how likely it was not what the complaint came from, after what was known [1].
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
    wasted: float = 0.0
    doubt: float = 0.0


def decisions(course: Course) -> tuple[Decision, ...]:
    """Judge all decisions of a course. One for each check, replacement and verdict."""
    return tuple(
        decision(number, step)
        for number, step in enumerate(course.steps)
        if step.action.kind in (CHECKED, REPLACED, VERDICT)
    )


def decision(number: int, step: Done) -> Decision:
    """Judge one decision.

    Parameters
    ----------
    step : Done
        A check, a replacement or a verdict.
    """
    knowledge = step.before
    doubt = _doubt(step) if step.action.kind == VERDICT else 0.0
    if step.cured_before or knowledge.action is None:
        # there is nothing left to gain, so all of it is lost
        idle = step.option is not None
        unwarranted = bool(step.repairs) and not idle
        wasted = float(sum(_is_bought(repair) for repair in step.repairs)) if step.cured_before else 0.0
        return Decision(
            number, (), "", 0.0, step.minutes, step.minutes, 0.0, idle, unwarranted, wasted, doubt
        )
    action = knowledge.action
    if step.option is not None:
        expected, bits = (
            _with_check(knowledge, action, step.option, step.minutes),
            knowledge.bits_of(step.option),
        )
    else:
        expected, bits = _with_repair(knowledge, action, step.repairs, step.minutes), 0.0
    # who takes no notice of what came of it, and does then what the planner would have, has lost what it took
    regret = min(max(expected - action.expected_minutes, 0.0), _spent(step))
    regret = 0.0 if regret < ROUNDING else regret
    unwarranted = step.option is None and regret > UNWARRANTED_MINUTES
    if unwarranted and step.result == CURED:
        doubt = 1.0 - max(_needed(knowledge, repair) for repair in step.repairs)
    return Decision(
        number,
        knowledge.entries_of(action.step),
        action.step.kind,
        action.expected_minutes,
        action.expected_minutes + regret,
        regret,
        bits,
        step.option is not None and bits < REDUNDANT_BITS,
        unwarranted,
        sum(_guessed(knowledge, repair) for repair in step.repairs) if unwarranted else 0.0,
        doubt,
    )


def _spent(step: Done) -> float:
    """What a decision took [min], with the price of parts where the sheet says what an hour costs."""
    rate = step.before.work.circuit.sheet.rate_per_hour
    return step.minutes + (60.0 * step.price / rate if rate else 0.0)


def _is_bought(repair: Repair) -> bool:
    return repair.price > MINOR_PRICE


def _guessed(knowledge: Knowledge, repair: Repair) -> float:
    """By what odds a part was bought for nothing, at most 1; work on what is there takes minutes alone."""
    needed = _needed(knowledge, repair)
    return min(1.0, (1.0 - needed) / max(needed, 1e-9)) if _is_bought(repair) else 0.0


def _needed(knowledge: Knowledge, repair: Repair) -> float:
    """How likely a repair is needed."""
    needs = np.array([repair.name in names for names in knowledge.rest.left])
    return float(knowledge.weight @ needs)


def _doubt(step: Done) -> float:
    """How likely what a verdict names is not what had to be mended.

    Before the cure it is what the evidence leaves open, as the repair might have been made and proved first.
    After it the repair that brought it is what a verdict has to name.
    """
    knowledge = step.before
    named = {each.partition("=")[0] for each in step.action.what.split("+")}
    repairs = [knowledge.rest.repair(name) for name in named]
    if step.cured_before:
        cure = knowledge.rest.repair(knowledge.cured_by)
        return 0.0 if any(repair.parts & cure.parts for repair in repairs) else 1.0
    enough = np.array([names <= {repair.name for repair in repairs} for names in knowledge.rest.left])
    return float(1.0 - knowledge.weight @ enough)


def search_left(knowledge: Knowledge) -> float:
    """What a good search would still need, without the right repair itself [min]."""
    if not knowledge.possible:
        return 0.0
    problem = replace(knowledge.rest.problem, opened=knowledge.state.opened)
    unavoidable = float(knowledge.weight @ repair_with_place(problem)[problem.repair_of])
    return max(knowledge.expected_minutes - unavoidable, 0.0)


def _with_check(knowledge: Knowledge, action: Action, option: Option, minutes: float) -> float:
    """Expected minutes to the proven repair if a check is made next."""
    number = number_of(knowledge.work, option)
    looked_at = {choice.step: choice.expected_minutes for choice in action.alternatives}
    if number is not None and Step(CHECK, number) in looked_at:
        return looked_at[Step(CHECK, number)]
    if knowledge.bits_of(option) < REDUNDANT_BITS:
        return minutes + knowledge.with_open(option.check.places).expected_minutes
    chances = knowledge.weight @ option.table
    after = [knowledge.after_check(option, word).expected_minutes for word in option.classes]
    return minutes + float(chances @ np.array(after))


def _with_repair(knowledge: Knowledge, action: Action, repairs: tuple[Repair, ...], minutes: float) -> float:
    """Expected minutes to the proven repair if something is replaced next."""
    names = {repair.name for repair in repairs}
    for choice in action.alternatives:
        if choice.step.kind == REPAIR and {*knowledge.entries_of(choice.step)} == names:
            return choice.expected_minutes
    rest = Rest(knowledge.work, knowledge.rest.replaced | names)
    left = np.array([bool(needed) for needed in rest.left]) * knowledge.weight
    opened = knowledge.opened | {place for repair in repairs for place in repair.places}
    after = Knowledge(rest, normal(left), opened, knowledge.done)
    return minutes + float(left.sum() / knowledge.weight.sum()) * after.expected_minutes
