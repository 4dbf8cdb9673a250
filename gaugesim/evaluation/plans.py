"""What the planner takes on generated complaints, against other ways to work and against any plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaugesim.advice.jobs import job
from gaugesim.case import Case, Entry, Inspected, Measured, Replaced, Seen
from gaugesim.diagnosis import diagnose
from gaugesim.evaluation.answers import draw_answers
from gaugesim.evaluation.block import CaseBlock
from gaugesim.evaluation.fleet import Fleet
from gaugesim.evaluation.interview import draw_interview
from gaugesim.evaluation.worlds import MODEL, draw_ailments
from gaugesim.evidence import behaviour
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.observable import Observable, Observation
from gaugesim.planning import Problem, lower_bound
from gaugesim.planning.comparison import Comparison, compare
from gaugesim.planning.decide import ending_with_repairs, looking_ahead
from gaugesim.planning.reduced_problem import MOST_ENTRIES, MOST_REPAIRS, reduced

# what is known when somebody begins to plan: what the owner told, and one check
CHECKS = (0, 1)
# sets the draws of complaints apart from those of blocks
PLAN = 7
# branches that are reached less often are finished by a simple rule: of the whole job, of its core
RARE, RARE_IN_CORE = 0.01, 1e-3
# the core of a job: repairs, and size of the table of its optimum, which takes a moment
REDUCED_REPAIRS, REDUCED_ENTRIES = 8, 1e6


@dataclass(frozen=True)
class PlanCost:
    """Expected minutes from one complaint to the proven repair.

    Attributes
    ----------
    reduced : Comparison
        Of the core of the job, with the optimum; looked ahead as on the whole job, nowhere exactly.
    whole : Comparison
        Of the whole job, with a certified bound from below for every plan.
    """

    reduced: Comparison
    whole: Comparison


def plan_cost(block: CaseBlock) -> PlanCost:
    """Draw a complaint and cost the ways to its repair."""
    problem = job(diagnose(drawn_case(block), [block.circuit])).problem
    return PlanCost(
        compare_reduced(problem, REDUCED_REPAIRS, REDUCED_ENTRIES),
        compare(problem, least_probability=RARE, best=(lower_bound(problem), False)),
    )


def compare_reduced(
    problem: Problem,
    repairs: int = MOST_REPAIRS,
    entries: float = MOST_ENTRIES,
    repairs_last: bool = False,
) -> Comparison:
    """Follow the planner through the core of a job, as it looks ahead on the whole of it, beside the optimum.

    Parameters
    ----------
    repairs : int, optional
        Of the core, at most.
    entries : float, optional
        Size of the table of the optimum.
    repairs_last : bool, optional
        Compare plans that never go back to checks after a repair; many more repairs are in reach then.
    """
    small = reduced(problem, repairs, entries, repairs_last)
    planner = ending_with_repairs(problem, small) if repairs_last else looking_ahead(problem, small)
    comparison = compare(small, None, RARE_IN_CORE, repairs_last, planner=planner)
    assert comparison.proven, "a core is small enough"
    return comparison


def drawn_case(block: CaseBlock) -> Case:
    """Draw a case as a person would write it: what the owner told, and perhaps one check."""
    random = np.random.default_rng((*block.key, PLAN))
    ailments, _ = draw_ailments(MODEL, Cells(block.circuit), 1, random)
    interview = draw_interview(block.circuit, random, CHECKS)
    fleet = Fleet(block.circuit, ailments, (*block.key, PLAN))
    observables = interview.observables(fleet)
    answers = draw_answers(fleet, observables, random)
    seen = [
        Observation(observable, answer[0].item(), "")
        for observable, answer in zip(observables, answers, strict=True)
    ]
    return written_case(interview.case, seen)


NOT_DEAD = behaviour.DEAD[1]
# what entries tell, in the order in which they ask
_TOLD = {
    Seen: ("needle", "moves", "looks", "engine"),
    Measured: ("volts", "ohms", "lamp", "needle", "moves"),
    Inspected: ("found",),
    Replaced: ("result",),
}


def written_case(case: Case, seen: Sequence[Observation]) -> Case:
    """A case with answers in place of its placeholders.

    Parameters
    ----------
    seen : sequence of Observation
        In the order in which the case asks.
    """
    answers = iter(seen)
    entries: list[Entry] = []
    for entry in case.entries:
        keys = [key for key in _TOLD[type(entry)] if getattr(entry, key) is not None]
        values = {key: _said(next(answers)) for key in keys}
        # that a needle is not dead goes without saying
        if NOT_DEAD in str(values.get("needle")):
            continue
        if isinstance(entry, Seen) and entry.often:
            values["needle"], values["often"] = str(values["needle"]).split(", ")
        entries.append(replace(entry, **values))  # type: ignore[arg-type]
    return replace(case, entries=tuple(entries))


def _said(seen: Observation) -> str | float:
    observable: Observable = seen.observable
    if not observable.is_number:
        word = observable.classes[int(seen.answer)]
        # an owner who moves a part says that nothing happened
        return "never" if word == "steady" else word
    if observable.unit == "log ohms":
        ohms = float(np.exp(seen.answer)) - like.OHMS_FLOOR
        return float("inf") if ohms > like.OPEN_FROM else max(ohms, 0.0)
    return float(seen.answer)
