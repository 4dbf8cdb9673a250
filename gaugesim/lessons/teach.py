"""Help on request: hints that fade with the level, and what a reading excludes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain

from gaugesim.advice.check_advice import Advice, advice_on
from gaugesim.advice.jobs import Option
from gaugesim.advice.remedy import Repair, repair_cautions
from gaugesim.arrays import Floats
from gaugesim.lessons.course import CHECKED, HINT, Course, Done
from gaugesim.planning.problem import CHECK

# how many worked hints a level has, and how many after them that name a place only
WORKED = {1: 1000, 2: 2, 3: 0, 4: 0, 5: 0}
PLACES = {1: 0, 2: 1000, 3: 3, 4: 1, 5: 0}
# a fault that becomes this many times less likely is put down as excluded, or nearly so
EXCLUDED, LESS_LIKELY = 20.0, 2.0
# faults less likely than this before and after are not spoken of
WORTH_TELLING = 0.01


@dataclass(frozen=True, eq=False)
class Hint:
    """A hint.

    Attributes
    ----------
    place : str
        Where to go next, in words; empty if the level has no more hints.
    check : Advice or None
        Worked out, if it is a check.
    repairs : tuple of Repair
        Worked out, if it is a replacement.
    minutes, expected_minutes : float
        Of that step, and from now to the proven repair if all goes on well [min].
    worked : bool
        Whether the step itself is told, or its place only.
    """

    place: str
    check: Advice | None = None
    repairs: tuple[Repair, ...] = ()
    cautions: tuple[str, ...] = ()
    minutes: float = 0.0
    expected_minutes: float = 0.0
    worked: bool = False


NO_HINT = Hint("")


def hint(course: Course) -> Hint:
    """The next hint. `NO_HINT` if the level has no more, or nothing is left to do."""
    level, knowledge = course.task.level, course.knowledge
    given = hints_given(course)
    action, sheet = knowledge.action, knowledge.work.circuit.sheet
    if given >= WORKED[level] + PLACES[level] or course.cured or action is None:
        return NO_HINT
    worked = given < WORKED[level]
    if action.step.kind == CHECK:
        option = knowledge.work.options[action.step.number]
        places = option.check.places
        job = replace(knowledge.work, weight=knowledge.weight, opened=knowledge.opened)
        advice: Advice | None = advice_on(job, option)
        repairs: tuple[Repair, ...] = ()
        cautions = () if advice is None else advice.cautions
    else:
        repairs = tuple(knowledge.rest.repair(name) for name in knowledge.entries_of(action.step))
        places = tuple(dict.fromkeys(place for repair in repairs for place in repair.places))
        advice = None
        beware = chain.from_iterable(repair_cautions(knowledge.work.circuit, repair) for repair in repairs)
        cautions = tuple(dict.fromkeys(caution.words for caution in beware))
    words = " and ".join(sheet.places[name].words for name in places) or "the driver's seat"
    if not worked:
        return Hint(words)
    return Hint(words, advice, repairs, cautions, action.minutes, action.expected_minutes, True)


def hints_given(course: Course) -> int:
    """How many hints have been given; one that was asked for and refused is none."""
    level = course.task.level
    asked = sum(
        step.action.kind == HINT and not step.cured_before and step.before.possible for step in course.steps
    )
    return min(asked, WORKED[level] + PLACES[level])


@dataclass(frozen=True)
class Excluded:
    """What a reading says of one fault.

    Attributes
    ----------
    would_show : str
        What the check would most likely have shown under it: the word of a case file.
    """

    fault: str
    words: str
    before: float
    after: float
    would_show: str

    @property
    def excluded(self) -> bool:
        """Whether it is as good as out of the question."""
        return self.after * EXCLUDED < self.before

    @property
    def less_likely(self) -> bool:
        """Whether the reading speaks against it."""
        return self.after * LESS_LIKELY < self.before


def last_check(course: Course) -> Done | None:
    """The last check that was made."""
    checks = [step for step in course.steps if step.action.kind == CHECKED]
    return checks[-1] if checks else None


def explained(step: Done) -> tuple[Excluded, ...]:
    """What a check's reading says of each fault that was in question. The likeliest after it first."""
    option = step.option
    assert option is not None
    suspects = [
        Excluded(entry.fault, entry.words, float(before), float(after), _expected(option, row))
        for entry, before, after, row in zip(
            step.before.work.hypotheses, step.before.weight, step.after.weight, option.table, strict=True
        )
        if max(before, after) > WORTH_TELLING
    ]
    return tuple(sorted(suspects, key=lambda suspect: -suspect.after))


def _expected(option: Option, row: Floats | Sequence[float]) -> str:
    return option.classes[max(range(len(option.classes)), key=lambda k: row[k])]
