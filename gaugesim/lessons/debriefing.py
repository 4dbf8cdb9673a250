"""The debrief: the learner's path beside the planner's, what was lost where, and the decisive check."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from gaugesim.lessons.course import CHECKED, REPLACED, VERDICT, Course, Done, LearnerAction, perform
from gaugesim.lessons.judge import UNWARRANTED_MINUTES, Decision, decisions, search_left
from gaugesim.lessons.score import BURNT_MARKS, Marks, marks
from gaugesim.lessons.task import Task
from gaugesim.planning.problem import CHECK
from gaugesim.scenario.caution import check_cautions

# the planner never needs more steps than this
MOST_STEPS = 60
# the search is taken to need at least so much, or one lost minute would weigh without end [min]
LEAST_SEARCH = 2.0


@dataclass(frozen=True)
class Decisive:
    """The check of the planner's path that told most of the hidden fault.

    Attributes
    ----------
    expected_true, expected_others : float
        How likely that is under the hidden fault, and under the others together.
    before, after : float
        Probability of the hidden fault.
    """

    check: str
    state: str
    words: str
    minutes: float
    shown: str
    expected_true: float
    expected_others: float
    before: float
    after: float
    cautions: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Debrief:
    """What there is to say of a course.

    Attributes
    ----------
    part_right, fault_right : bool
        Whether the verdict names the right part or parts, and the right modes too.
    regret_minutes : float
        Expected to be lost by the decisions that were made [min].
    search_minutes : float
        What a good search needs from the complaint on, without the right repair itself [min].
    """

    course: Course
    decisions: tuple[Decision, ...]
    part_right: bool
    fault_right: bool
    regret_minutes: float
    search_minutes: float
    marks: Marks

    @property
    def planner(self) -> Course:
        """The planner on the same vehicle, which takes as long to work out as all the rest."""
        return planner_course(self.course.task)

    @cached_property
    def decisive(self) -> Decisive | None:
        """The check that told most on its way; None if it makes none."""
        return decisive_check(self.planner)

    @property
    def score(self) -> float:
        """Marks of 100: 100 for a vehicle that works and no loss."""
        return self.marks.score

    @property
    def loss(self) -> float:
        """Minutes lost for each minute that a good search needs [1]."""
        return self.regret_minutes / self.search_minutes

    @property
    def redundant(self) -> tuple[Decision, ...]:
        """Checks that could tell nothing."""
        return tuple(decision for decision in self.decisions if decision.redundant)

    @property
    def unwarranted(self) -> tuple[Decision, ...]:
        """Replacements that could not be expected to pay."""
        return tuple(decision for decision in self.decisions if decision.unwarranted)

    @property
    def first_loss(self) -> Decision | None:
        """The first decision that lost more than a tenth of what a good search needs, and a minute."""
        least = max(0.1 * self.search_minutes, UNWARRANTED_MINUTES)
        return next((decision for decision in self.decisions if decision.regret > least), None)


def debrief(course: Course) -> Debrief:
    """Look back on a course."""
    task = course.task
    judged = decisions(course)
    regret = sum(decision.regret for decision in judged)
    search = max(task.difficulty.search_minutes, LEAST_SEARCH)
    verdict = course.steps[-1].action.what if course.steps and course.steps[-1].action.kind == VERDICT else ""
    named = {*verdict.split("+")}
    true = {*task.fault.split("+")}
    return Debrief(
        course=course,
        decisions=judged,
        part_right={name.partition("=")[0] for name in named} == {name.partition("=")[0] for name in true},
        fault_right=named == true,
        regret_minutes=regret,
        search_minutes=search,
        marks=BURNT_MARKS
        if course.burnt
        else marks(
            course.works,
            _found(course),
            search,
            regret,
            sum(decision.wasted for decision in judged),
            max((decision.doubt for decision in judged), default=0.0),
        ),
    )


def _found(course: Course) -> float:
    """Share of the search that is done."""
    needed = search_left(Course(course.task).knowledge)
    return min(max(1.0 - search_left(course.knowledge) / needed, 0.0), 1.0) if needed > 0 else 0.0


@lru_cache(maxsize=1)
def planner_course(task: Task) -> Course:
    """What the planner does about a task, up to the cure and the verdict."""
    course = Course(task)
    while not course.cured and len(course.steps) < MOST_STEPS:
        entries = planner_step(course)
        if not entries:
            break
        for entry in entries:
            course = perform(course, entry)
    return perform(course, LearnerAction(VERDICT, task.fault)) if course.cured else course


def planner_step(course: Course) -> tuple[LearnerAction, ...]:
    """What the planner would do next. Empty where nothing is possible any more."""
    knowledge = course.knowledge
    if knowledge.action is None:
        return ()
    step = knowledge.action.step
    if step.kind == CHECK:
        option = knowledge.work.options[step.number]
        return (LearnerAction(CHECKED, option.check.id, option.state),)
    return tuple(LearnerAction(REPLACED, name) for name in knowledge.entries_of(step))


def decisive_check(path: Course) -> Decisive | None:
    """The check of a path that told most of the hidden fault. None if it makes no check.

    Parameters
    ----------
    path : Course
        Up to the cure.
    """
    task = path.task
    true = np.array([entry.fault == task.fault for entry in task.work.hypotheses])
    checks = [step for step in path.steps if step.option is not None and not step.cured_before]

    def gain(step: Done) -> float:
        return float(np.log2(step.after.weight[true].sum() / step.before.weight[true].sum()))

    if not checks:
        return None
    step = max(checks, key=gain)
    option, shown = step.option, step.shown
    assert option is not None
    assert shown is not None
    column = option.table[:, option.classes.index(shown.outcome)]
    weight = step.before.weight
    others = float(weight[~true].sum())
    return Decisive(
        option.check.id,
        option.state,
        option.check.words,
        step.minutes,
        shown.words,
        float(weight[true] @ column[true] / weight[true].sum()),
        float(weight[~true] @ column[~true] / others) if others > 0 else 0.0,
        float(weight[true].sum()),
        float(step.after.weight[true].sum()),
        tuple(caution.words for caution in check_cautions(task.circuit, option.check, option.state)),
    )
