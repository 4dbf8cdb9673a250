"""A plan in the words of its job: the next step, its check and its repair."""

from __future__ import annotations

from math import isfinite

from gaugesim.plan.advice import Advice, advice
from gaugesim.plan.decide import Action, next_action
from gaugesim.plan.follow import expected_minutes
from gaugesim.plan.job import Job, Option
from gaugesim.plan.policies import RepairsOnly
from gaugesim.plan.problem import CHECK, REPAIR, Step, needed_places
from gaugesim.scenario.caution import mending_cautions


def check_number(action: Action) -> int | None:
    """Number of the check to make if one is to be made: the step itself, or the best of the checks looked at.

    Parameters
    ----------
    action : Action

    Returns
    -------
    int or None
        None if no check is worth looking at.
    """
    checks = (choice.step.number for choice in action.alternatives if choice.step.kind == CHECK)
    return next(checks, None)


def best_check(work: Job, action: Action) -> Option | None:
    """The check to make if one is to be made, see `check_number`.

    Parameters
    ----------
    work : Job
    action : Action
        What `next_action` says of the job's problem.

    Returns
    -------
    Option or None
        None if no check is worth looking at.
    """
    number = check_number(action)
    return None if number is None else work.options[number]


def next_check(work: Job) -> Advice | None:
    """The check that is worth most now, told.

    Parameters
    ----------
    work : Job

    Returns
    -------
    Advice or None
        None if no check tells anything.
    """
    option = best_check(work, next_action(work.problem))
    return None if option is None else advice(work, option)


def mend_now(work: Job, action: Action) -> str:
    """The repair to make at once, in words.

    Parameters
    ----------
    work : Job
    action : Action

    Returns
    -------
    str
        Empty if a check comes first.
    """
    return remedy(work, action.step) if action.step.kind == REPAIR else ""


def mend_cautions(work: Job, action: Action) -> tuple[str, ...]:
    """Cautions of the repair that comes first, and of the place where it is made.

    Parameters
    ----------
    work : Job
    action : Action

    Returns
    -------
    tuple of str
        Empty if a check comes first.
    """
    if action.step.kind != REPAIR:
        return ()
    faults = [fault for entry in work.suspects for fault in entry.faults]
    parts = [
        one.part
        for entry, fault in zip(work.hypotheses, faults, strict=True)
        if entry.repair == work.repairs[action.step.number] and entry.circuit == work.circuit.id
        for one in fault.singles
    ]
    return tuple(caution.words for caution in mending_cautions(work.circuit, parts))


def remedy(work: Job, step: Step) -> str:
    """What a repair does, in words.

    Parameters
    ----------
    work : Job
    step : Step
        Of kind ``repair``.

    Returns
    -------
    str
    """
    return work.remedies[work.repairs[step.number]].words


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


def swapping_minutes(work: Job) -> float:
    """Expected minutes of replacing parts in order of likelihood, without another check.

    Parameters
    ----------
    work : Job

    Returns
    -------
    float
        [min]
    """
    return expected_minutes(work.problem, RepairsOnly())


def rate_per_hour(work: Job) -> float | None:
    """What an hour of work costs in the job, by which the prices of parts count as minutes.

    Parameters
    ----------
    work : Job

    Returns
    -------
    float or None
        None where prices do not count.
    """
    rate = 60.0 * work.problem.price_per_minute
    return rate if isfinite(rate) else None
