"""The first steps of the plan, as they travel in the page: what to check next, and after each answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gaugesim.advice.jobs import Job
from gaugesim.advice.next_step import way
from gaugesim.advice.remedy import repair_cautions
from gaugesim.planning.problem import Belief, after_check, start

# so many answers are planned ahead, where they are at least so likely [1]
STEPS, LEAST = 3, 0.02


@dataclass(frozen=True)
class Planned:
    """What the plan says at one point of the job.

    Attributes
    ----------
    check : int
        Number of the check to make, -1 if none is worth making.
    mend : str
        What is quickest mended at once, without any further check; empty if a check comes first.
    then : tuple of (int, Planned)
        What follows the likelier answers.
    """

    check: int
    mend: str
    cautions: tuple[str, ...] = ()
    then: tuple[tuple[int, Planned], ...] = ()


def plan_ahead(work: Job) -> Planned:
    """Plan a few answers ahead.

    Returns
    -------
    Planned
        Its checks are numbered as the job's options.
    """
    return _planned(work, start(work.problem), 1.0, STEPS)


def _planned(work: Job, state: Belief, probability: float, steps: int) -> Planned:
    now = way(work, state)
    check, mend = now.check, now.mend.words if now.mend else ""
    beware = repair_cautions(work.circuit, now.mend) if now.mend else ()
    cautions = tuple(caution.words for caution in beware)
    if check is None:
        return Planned(-1, mend, cautions)
    then = []
    for outcome in range(work.problem.outcomes[check].shape[1]) if steps else ():
        after = after_check(work.problem, state, check, outcome)
        chance = probability * float(after.weight.sum() / state.weight.sum())
        if chance >= LEAST:
            then.append((outcome, _planned(work, after, chance, steps - 1)))
    return Planned(check, mend, cautions, tuple(then))


def checks_of(plan: Planned) -> Iterator[int]:
    """Numbers of all checks of a plan."""
    if plan.check >= 0:
        yield plan.check
    for _, after in plan.then:
        yield from checks_of(after)


def renumbered(plan: Planned, numbers: dict[int, int], outcomes: Sequence[int]) -> Planned:
    """The same plan with its checks numbered as they travel.

    Parameters
    ----------
    numbers : dict of int to int
        New number of each check.
    outcomes : sequence of int
        How many outcomes each of these has on the page; what follows others is left out.

    Examples
    --------
    >>> renumbered(Planned(7, "", (), ((1, Planned(-1, "tighten the nut")),)), {7: 0}, [2]).check
    0
    """
    check = numbers.get(plan.check, -1)
    then = tuple(
        (outcome, renumbered(after, numbers, outcomes))
        for outcome, after in plan.then
        if outcome < outcomes[check]
    )
    return Planned(check, plan.mend, plan.cautions, then)
