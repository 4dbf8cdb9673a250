"""The course of a task: what was done, what came of it, and what it took."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from gaugesim import vocabulary
from gaugesim.advice.check_advice import needle_place
from gaugesim.advice.jobs import Option, check_states, option_of
from gaugesim.advice.remedy import Repair, repair_named
from gaugesim.errors import CaseError, GaugesimError, WouldBurnError, unknown_name
from gaugesim.evidence import handling
from gaugesim.lessons.chance import generator
from gaugesim.lessons.knowledge import Knowledge
from gaugesim.lessons.still_to_repair import Rest
from gaugesim.lessons.task import Task
from gaugesim.lessons.vehicle import Shown
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids, looks

CHECKED, REPLACED, HINT, EXPLAIN = "check", "replace", "hint", "explain"
VERDICT, GAVE_UP, BURNT = "verdict", "give up", "burnt"  # each ends a task
NO_CHANGE, CHANGED, FOR_A_WHILE, CURED = "no_change", "changed", "cured_for_a_while", "cured"
# a contact that the work has disturbed may be good for a while, from this chance on
DISTURBED = 0.1


@dataclass(frozen=True)
class LearnerAction:
    """One thing that the learner does.

    Attributes
    ----------
    what : str
        Check, part or fault; empty for what needs none.
    suspects : tuple of str
        Parts that the learner names beforehand.
    predicted : str
        What the learner expects to read, in words of a case file or as a number.
    """

    kind: str
    what: str = ""
    state: str = ""
    suspects: tuple[str, ...] = ()
    predicted: str = ""


@dataclass(frozen=True, eq=False)
class Done:
    """An action, what came of it and what it took.

    Attributes
    ----------
    minutes : float
        Opening places included [min].
    result : str
        What a replacement did, one of `vocabulary.RESULT.classes`; empty for what was none.
    repairs : tuple of Repair
        What was mended, or what the verdict would have mended.
    cured_before : bool
        Whether the complaint was gone for good already.
    """

    action: LearnerAction
    minutes: float
    price: float
    opened: tuple[str, ...]
    shown: Shown | None
    result: str
    option: Option | None
    repairs: tuple[Repair, ...]
    before: Knowledge
    after: Knowledge
    cured_before: bool


@dataclass(frozen=True, eq=False)
class Course:
    """A task and what has been done about it so far."""

    task: Task
    steps: tuple[Done, ...] = ()

    @cached_property
    def knowledge(self) -> Knowledge:
        """What a good diagnostician would know now."""
        return self.steps[-1].after if self.steps else _begun(self.task)

    @property
    def minutes(self) -> float:
        """What all of it took [min]."""
        return sum(step.minutes for step in self.steps)

    @property
    def price(self) -> float:
        """What the parts cost."""
        return sum(step.price for step in self.steps)

    @property
    def cured(self) -> bool:
        """Whether the complaint is gone for good."""
        return any(step.result == CURED for step in self.steps)

    @property
    def works(self) -> bool:
        """Whether the vehicle has no fault left, by what was replaced and by what the verdict mends."""
        if self.burnt:
            return False
        last = self.steps[-1].repairs if self.steps else ()
        mended = self.knowledge.rest.replaced_parts.union(*(repair.parts for repair in last))
        return not self.task.vehicle.without(mended).left

    @property
    def over(self) -> bool:
        """Whether the verdict has been given, the task given up, or something burnt."""
        return bool(self.steps) and self.steps[-1].action.kind in (VERDICT, GAVE_UP, BURNT)

    @property
    def burnt(self) -> bool:
        """Whether something was done that burns the circuit, faulty or not."""
        return bool(self.steps) and self.steps[-1].action.kind == BURNT

    def count(self, kind: str) -> int:
        """How often something was done."""
        return sum(step.action.kind == kind for step in self.steps)


@lru_cache(maxsize=1)
def _begun(task: Task) -> Knowledge:
    """What is known at first; the learner's course, the planner's and the debrief begin with the same."""
    return Knowledge(Rest(task.work), task.work.weight, task.work.opened)


def numbered_checks(task: Task) -> tuple[tuple[str, str], ...]:
    """The checks of a task and the states to do them in, in the order of their numbers.

    All that make sense on the circuit, whether they tell anything on this complaint or not, and those that
    this complaint alone asks for: with the key off, where a wire may be live. Looks come last.
    """
    asked: dict[str, list[str]] = {}
    for option in task.work.options:
        asked.setdefault(option.check.id, []).append(option.state)
    checks = [
        (name, state)
        for name in check_ids(task.circuit, task.gauge)
        for state in dict.fromkeys(
            [*check_states(task.circuit, find_check(task.circuit, name, task.gauge)), *asked.get(name, [])]
        )
    ]
    every = (*checks, *looks(task.circuit, task.gauge))
    return tuple((name, state) for name, state in every if task.consultation.may_be_had(state, name))


def possible_checks(course: Course) -> Iterator[tuple[int, Option]]:
    """The checks that may be made now, with their numbers in the list, from 1."""
    for number, (name, state) in enumerate(numbered_checks(course.task), start=1):
        if not course.knowledge.would_burn(f"{name}@{state}"):
            yield number, find_option(course.task, name, state)


def perform(course: Course, action: LearnerAction) -> Course:
    """Do something.

    Raises
    ------
    GaugesimError
        If it cannot be done: what is wrong and what would be right.
    """
    if course.over:
        raise CaseError("the task is over", "", "set another with another --seed")
    makes = {CHECKED: _check, REPLACED: _replace, VERDICT: _verdict, BURNT: _burnt}
    make = makes.get(action.kind, _note)
    return Course(course.task, (*course.steps, make(course, action)))


def _done(course: Course, action: LearnerAction) -> Done:
    knowledge = course.knowledge
    return Done(action, 0.0, 0.0, (), None, "", None, (), knowledge, knowledge, course.cured)


def _note(course: Course, action: LearnerAction) -> Done:
    if action.kind not in (HINT, EXPLAIN, GAVE_UP):
        kinds = (CHECKED, REPLACED, VERDICT, GAVE_UP, HINT, EXPLAIN)
        raise unknown_name("thing to do", action.kind, kinds)
    return _done(course, action)


def _burnt(course: Course, action: LearnerAction) -> Done:
    """The end: what would burn is told, and not only that it cannot be done."""
    try:
        find_check(course.task.circuit, action.what, course.task.gauge)
    except WouldBurnError as error:
        return replace(_done(course, action), shown=Shown("burnt", "burnt", None, error.problem))
    raise CaseError(f"check {action.what!r} burns nothing", "", "it is made as a check")


def find_option(task: Task, name: str, state: str = "") -> Option:
    """A check in a state.

    Parameters
    ----------
    name : str
        ``KIND`` or ``KIND:TARGET``.
    state : str
        The first that the check is worth doing in, if empty.

    Raises
    ------
    GaugesimError
        If there is no such check or state.
    """
    check = find_check(task.circuit, name, task.gauge)
    states = task.circuit.sheet.states
    if check.kind.is_look and not state:
        state = next((where for look, where in looks(task.circuit, task.gauge) if look == check.id), "")
    state = state or check_states(task.circuit, check)[0]
    if state not in states:
        raise unknown_name("state", state, states, task.circuit.id)
    # what burns is refused by what is known when it is to be made, not by the complaint
    return option_of(replace(task.work, refused=()), check, state)


def _check(course: Course, action: LearnerAction) -> Done:
    task, knowledge = course.task, course.knowledge
    option = find_option(task, action.what, action.state)
    if not task.consultation.may_be_had(option.state, option.check.id):
        words = "; ".join(danger.short for danger in task.consultation.first)
        raise CaseError(f"not with the engine running: {words}", "", "take a state with the engine stopped")
    if knowledge.would_burn(option.id):
        raise CaseError(
            f"not {option.check.id} now: a lead that may be live would make it burn",
            "",
            "find out first with a meter, key off, whether it is",
        )
    for name in action.suspects:
        repair_named(task.circuit, name, task.gauge)
    vehicle = task.vehicle.without(knowledge.rest.replaced_parts)
    shown = vehicle.show(option.check, option.state, needle_place(task.work, option))
    done = replace(
        _done(course, replace(action, what=option.check.id, state=option.state)),
        minutes=option.minutes + knowledge.setup_minutes(option.check.places),
        opened=tuple(name for name in option.check.places if name not in knowledge.opened),
        shown=shown,
        option=option,
    )
    # once the fault is mended a reading says nothing about which it was
    after = (
        knowledge.with_open(option.check.places)
        if course.cured
        else knowledge.after_check(option, shown.outcome)
    )
    return replace(done, after=after)


def _replace(course: Course, action: LearnerAction) -> Done:
    knowledge = course.knowledge
    repair = knowledge.rest.repair(action.what)
    result = CURED if course.cured else _result(course, repair)
    done = replace(
        _done(course, replace(action, what=repair.name)),
        minutes=repair.minutes + knowledge.setup_minutes(repair.places),
        price=repair.price,
        opened=tuple(name for name in repair.places if name not in knowledge.opened),
        result=result if not course.cured else NO_CHANGE,
        repairs=(repair,),
    )
    if result == CURED:
        return replace(done, after=knowledge.after_cure(repair))
    return replace(done, after=knowledge.after_repair(repair, result))


def _result(course: Course, repair: Repair) -> str:
    """What a replacement does to this vehicle."""
    vehicle = course.task.vehicle
    parts = {fault.part.id for fault in vehicle.fault.singles}
    left = parts - course.knowledge.rest.replaced_parts
    if left <= repair.parts:
        return CURED
    if left & repair.parts:
        return CHANGED
    row = handling.replaced_table(vehicle.circuit, [vehicle.fault], repair.parts)[0]
    chances = dict(zip(vocabulary.RESULT.classes, row.tolist(), strict=True))
    while_it_lasts = chances[FOR_A_WHILE]
    if while_it_lasts < DISTURBED:
        return NO_CHANGE
    lucky = generator(*vehicle.key, "replaced", repair.name).random()
    return FOR_A_WHILE if lucky < while_it_lasts / (while_it_lasts + chances[NO_CHANGE]) else NO_CHANGE


def _verdict(course: Course, action: LearnerAction) -> Done:
    """The end: what the verdict names is mended, unless the complaint is gone already."""
    knowledge, task = course.knowledge, course.task
    names = [_fault_of(task, named) for named in action.what.split("+")]
    action = replace(action, what="+".join(f"{part}={mode}" for part, mode in names))
    done = _done(course, action)
    if course.cured:
        return done
    repairs = {repair.name: repair for repair in (knowledge.rest.repair(part) for part, _ in names)}
    made = tuple(repair for name, repair in repairs.items() if name not in knowledge.rest.replaced)
    places = [place for repair in made for place in repair.places]
    return replace(
        done,
        minutes=sum(repair.minutes for repair in made) + knowledge.setup_minutes(places),
        price=sum(repair.price for repair in made),
        opened=tuple(dict.fromkeys(place for place in places if place not in knowledge.opened)),
        repairs=made,
    )


def _fault_of(task: Task, text: str) -> tuple[str, str]:
    """Part and mode of one fault of a verdict, the part as the ranking calls it."""
    name, sign, mode = (part.strip() for part in text.partition("="))
    if not sign:
        raise CaseError(f"verdict {text.strip()!r} is not PART=MODE", "", "write for example stud_bias=open")
    try:
        part = task.circuit.part(name, task.gauge)
    except GaugesimError as error:
        raise CaseError(error.problem, "verdict", error.remedy) from None
    if mode not in part.modes:
        raise unknown_name(f"mode of {part.id}", mode, part.modes, "verdict")
    return task.circuit.short_name(part.id, task.gauge), mode
