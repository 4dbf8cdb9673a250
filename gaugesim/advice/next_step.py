"""A plan in the words of its job: the check to make next, or the repair to make at once."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np

from gaugesim.advice.jobs import Job
from gaugesim.advice.remedy import Repair
from gaugesim.advice.telling import information
from gaugesim.planning.decide import Action, next_action
from gaugesim.planning.following import expected_minutes
from gaugesim.planning.policies import RepairsOnly
from gaugesim.planning.problem import CHECK, REPAIR, Belief, Step, harms, needed_places, start, step_minutes

# a repair is made at once only if it is this many times likelier than any at another place
STANDS_OUT = 2.0
# a check decides about a repair if what it shows differs by so much with it and without it [1]
DECIDES = 0.5
# and it halves what a wire may be if it differs by so much
HALVES = 0.25
# a share of a whole job's minutes that no estimate of it can tell apart: assumed, as ways in and out are
AS_SOON = 0.03
# a look comes before the best check if it tells so much of what that tells; assumed
AS_TELLING = 0.5
# kinds of parts that run through a harness
WIRES = ("wire", "feed_wire")


@dataclass(frozen=True)
class NextStep:
    """What to do at one point of a job.

    Attributes
    ----------
    action : Action
        What the planner says.
    check : int or None
        Number of the check to make if one is to be made; None if no check is worth making.
    mend : Repair or None
        The repair to make at once; None if a check comes first, or nothing is to be mended.
    """

    action: Action
    check: int | None
    mend: Repair | None

    @property
    def step(self) -> Step:
        """The step to take."""
        if self.mend is None and self.check is not None:
            return Step(CHECK, self.check)
        return self.action.step


def way(work: Job, state: Belief | None = None) -> NextStep:
    """What to do next.

    A repair comes first only where the plan says so, it mends something of the complaint's own circuit, it
    stands out, and no check decides about it for less than it takes to get at its place.

    Parameters
    ----------
    state : Belief, optional
        Of the job's problem; left out, nothing has been done yet.
    """
    state = state or start(work.problem)
    action = next_action(work.problem, state)
    planned = _soonest(work, state, action)
    first = next(iter(planned), None)
    if action.step.kind != REPAIR:
        return NextStep(action, _halving(work, state, first), None)
    number = action.step.number
    repair = work.remedies[work.repairs[number]]
    deciding = _deciding(work, state, number)
    if not deciding and repair.process:
        # whether a gauge is right is found out, and nothing mended meanwhile
        deciding = _telling_truth(work, state)
    if deciding:
        return NextStep(action, next((check for check in planned if check in deciding), deciding[0]), None)
    mends = _is_own(work, repair) and _stands_out(work, state, number)
    # with no check left there is nothing to do but to mend the likeliest
    return NextStep(action, first, repair if mends or (first is None and not repair.process) else None)


def _soonest(work: Job, state: Belief, action: Action) -> list[int]:
    """Checks, the best first, but for telling looks that lead as soon to the end: they open nothing."""
    checks = [choice for choice in action.alternatives if choice.step.kind == CHECK]
    numbers = [choice.step.number for choice in checks]
    if not checks:
        return []
    soon = (1 + AS_SOON) * checks[0].expected_minutes
    bits = [information(state.weight / state.weight.sum(), work.options[number].table) for number in numbers]
    looks = [
        (tells, number)
        for number, choice, tells in zip(numbers, checks, bits, strict=True)
        if work.options[number].check.kind.is_look
        and choice.expected_minutes <= soon
        and tells >= AS_TELLING * bits[0]
    ]
    first = [number for _, number in sorted(looks, key=lambda look: -look[0])]
    return [*first, *(number for number in numbers if number not in first)]


def _halving(work: Job, state: Belief, number: int | None) -> int | None:
    """The check to make instead of uncovering a wire: one that halves for less what it may be."""
    if number is None or not work.options[number].check.kind.inspects:
        return number
    part = work.options[number].check.part
    repairs = [r for r, name in enumerate(work.repairs) if part in work.remedies[name].parts]
    if work.circuit.sheet.parts[part].kind not in WIRES or not repairs:
        return number
    halving = _deciding(work, state, repairs[0], HALVES)
    return next((check for check in halving if not work.options[check].check.kind.inspects), number)


def _telling_truth(work: Job, state: Belief) -> list[int]:
    """Checks that ask whether the gauge tells the truth."""
    return [
        check
        for check in state.remaining
        if work.options[check].check.reads == "truth" and not harms(work.problem, state, Step(CHECK, check))
    ]


def _is_own(work: Job, repair: Repair) -> bool:
    """Whether a repair mends something of the circuit, and of the gauge complained of or what it shares."""
    parts, gauge = work.circuit.sheet.parts, work.diagnosis.gauge
    own = all(parts[name].gauge in ("", gauge) for name in repair.parts if name in parts)
    return own and not repair.process


def _stands_out(work: Job, state: Belief, number: int) -> bool:
    """Whether a repair is clearly likelier than any at another place."""
    problem = work.problem
    chance = np.bincount(problem.repair_of, state.weight, problem.repairs)
    elsewhere = problem.repair_places != problem.repair_places[number]
    return bool(chance[number] >= STANDS_OUT * chance[elsewhere].max(initial=0.0))


def _deciding(work: Job, state: Belief, number: int, least: float = DECIDES) -> list[int]:
    """Checks that decide about a repair for less than it takes to get at its place, the cheapest first."""
    problem = work.problem
    closed = needed_places(problem, Step(REPAIR, number)) - state.opened
    opening = float(problem.setup_minutes[sorted(closed)].sum())
    mended = problem.repair_of == number
    weights = [np.where(mended, state.weight, 0.0), np.where(mended, 0.0, state.weight)]
    if opening == 0 or not all(weight.sum() > 0 for weight in weights):
        return []
    with_it, without = (weight / weight.sum() for weight in weights)
    able = [check for check in state.remaining if not harms(problem, state, Step(CHECK, check))]
    minutes = {check: step_minutes(problem, state, Step(CHECK, check)) for check in able}
    quick = [
        check
        for check, took in minutes.items()
        if took < opening and 0.5 * np.abs((with_it - without) @ problem.outcomes[check]).sum() >= least
    ]
    return sorted(quick, key=lambda check: (minutes[check], check))


def swapping_minutes(work: Job) -> float:
    """Expected minutes of replacing parts in order of likelihood, without another check."""
    return expected_minutes(work.problem, RepairsOnly())


def rate_per_hour(work: Job) -> float | None:
    """What an hour of work costs in the job, by which the prices of parts count as minutes.

    None where prices do not count.
    """
    rate = 60.0 * work.problem.price_per_minute
    return rate if isfinite(rate) else None
