"""What is known at a moment of a task, by Bayes' rule: the yardstick of every decision, not its luck."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaugesim import vocabulary
from gaugesim.advice.jobs import Job, Option
from gaugesim.advice.remedy import Repair
from gaugesim.advice.telling import information
from gaugesim.arrays import Floats
from gaugesim.evidence import handling
from gaugesim.lessons.still_to_repair import Rest
from gaugesim.planning.decide import Action, next_action
from gaugesim.planning.problem import CHECK, Belief, Step, harms


@dataclass(frozen=True, eq=False)
class Knowledge:
    """What is known.

    Attributes
    ----------
    weight : ndarray, shape (hypotheses,)
        Probability of each hypothesis; all zero when none is possible any more.
    done : frozenset of int
        Numbers of the options that were done.
    cured_by : str
        The repair after which the complaint was gone for good; empty before.
    """

    rest: Rest
    weight: Floats
    opened: frozenset[str]
    done: frozenset[int] = frozenset()
    cured_by: str = ""

    @property
    def work(self) -> Job:
        """What the complaint alone told."""
        return self.rest.work

    @cached_property
    def possible(self) -> bool:
        """Whether any hypothesis is possible still."""
        return bool(self.weight.sum() > 0 and self.rest.repairs)

    @cached_property
    def state(self) -> Belief:
        """The same as a state of the planning problem."""
        problem = self.rest.problem
        state = Belief(self.weight, frozenset(map(self.work.places.index, self.opened)), frozenset())
        left = set(range(problem.checks)) - self.done
        safe = (number for number in left if not harms(problem, state, Step(CHECK, number)))
        return replace(state, remaining=frozenset(safe))

    def would_burn(self, option: str) -> bool:
        """Whether a check may not be made now, because something that is believed would make it burn.

        Parameters
        ----------
        option : str
            Its id and the state, see `Option.id`.
        """
        return not self.cured_by and self.work.would_burn(option, self.weight)

    @cached_property
    def action(self) -> Action | None:
        """What the planner would do, and what every other step would take; None if nothing is possible."""
        return next_action(self.rest.problem, self.state, every=True) if self.possible else None

    @cached_property
    def expected_minutes(self) -> float:
        """From now to the proven repair by the best plan that was found [min]."""
        return self.action.expected_minutes if self.action else 0.0

    def entries_of(self, step: Step) -> tuple[str, ...]:
        """Names of what a step of the plan does: one option's id, or its repairs."""
        if step.kind == CHECK:
            return (self.work.options[step.number].id,)
        return tuple(self.rest.repairs[step.number].split("+"))

    def setup_minutes(self, places: Collection[str]) -> float:
        """What it takes to open places that are not open yet."""
        sheet = self.work.circuit.sheet
        return sum(sheet.places[name].setup_minutes for name in {*places} - self.opened)

    def with_open(self, places: Collection[str]) -> Knowledge:
        """The same with more places open."""
        return replace(self, opened=self.opened | {*places})

    def after_check(self, option: Option, outcome: str) -> Knowledge:
        """What is known after a check. The same, with its places open, if the check had been done before."""
        opened = self.with_open(option.check.places)
        number = number_of(self.work, option)
        if number in self.done:
            return opened
        weight = normal(self.weight * option.table[:, option.classes.index(outcome)])
        done = self.done if number is None else self.done | {number}
        return replace(opened, weight=weight, done=done)

    def after_repair(self, repair: Repair, result: str) -> Knowledge:
        """What is known after a repair that has not ended the complaint.

        Parameters
        ----------
        result : str
            One of `vocabulary.RESULT.classes`.
        """
        chances = self.result_table(repair)[:, vocabulary.RESULT.classes.index(result)]
        rest = Rest(self.work, self.rest.replaced | {repair.name})
        possible = np.array([bool(names) for names in rest.left])
        return replace(
            self.with_open(repair.places),
            rest=rest,
            weight=normal(np.where(possible, self.weight * chances, 0.0)),
        )

    def after_cure(self, repair: Repair) -> Knowledge:
        """What is known after the repair that has ended the complaint: nothing more of which fault it was."""
        return replace(
            self.with_open(repair.places),
            rest=Rest(self.work, self.rest.replaced | {repair.name}),
            cured_by=repair.name,
        )

    def result_table(self, repair: Repair) -> Floats:
        """How likely each result of a repair is under each hypothesis, shape (hypotheses, results)."""
        faults = self.work.suspects[0].faults
        return handling.replaced_table(self.work.circuit, faults, repair.parts)

    def bits_of(self, option: Option) -> float:
        """Information that a check may be expected to give now. [bit]; none if it was done before."""
        if not self.possible or number_of(self.work, option) in self.done:
            return 0.0
        return information(self.weight, option.table)


def number_of(work: Job, option: Option) -> int | None:
    """The number of an option in the planning problem.

    None if it tells nothing on this complaint, and so is no part of the problem.
    """
    return next((i for i, each in enumerate(work.options) if each.id == option.id), None)


def normal(weight: Floats) -> Floats:
    """Weights as probabilities. Unchanged if they are all zero."""
    total = float(weight.sum())
    return weight / total if total > 0 else weight
