"""What a learner types, understood."""

from __future__ import annotations

import re
from dataclasses import dataclass

from gaugesim.advice.jobs import Option
from gaugesim.conversation.question import HELP, STOP, Choice, Question, understand
from gaugesim.errors import CaseError, WouldBurnError, unknown_name
from gaugesim.lessons.course import (
    BURNT,
    CHECKED,
    EXPLAIN,
    GAVE_UP,
    HINT,
    REPLACED,
    VERDICT,
    Course,
    Done,
    LearnerAction,
    find_option,
    numbered_checks,
)
from gaugesim.reading.words import SAME_WORDS, quantity
from gaugesim.scenario.kinds import KINDS
from gaugesim.scenario.kinds.by_hand import LOOK_AT
from gaugesim.vocabulary import TOPICS, outcome_words
from gaugesim.vocabulary.quantity import DialFigure

CHECKS, PARTS, FAULTS, CLOCK = "checks", "parts", "faults", "clock"
# what is typed, and what it means; the first word is shown
_WORDS = {
    CHECKS: ("checks", "list"),
    PARTS: ("parts",),
    FAULTS: ("faults", "modes"),
    CLOCK: ("clock", "time", "so far"),
    HINT: ("hint",),
    EXPLAIN: ("explain", "why"),
    REPLACED: ("replace", "mend", "repair"),
    "look": ("look at", "look"),
    VERDICT: ("verdict",),
    GAVE_UP: ("give up",),
    HELP: ("help", "h", "?"),
    STOP: ("quit", "q", "stop", "exit"),
}


@dataclass(frozen=True)
class Command:
    """A line that was understood."""

    kind: str
    rest: str = ""
    action: LearnerAction | None = None


def command(course: Course, typed: str) -> Command:
    """Make out a line.

    Raises
    ------
    GaugesimError
        If it is nothing that can be done: what is wrong and what would be right.
    """
    said = " ".join("".join(letter for letter in typed if letter.isprintable()).split())
    for kind, words in _WORDS.items():
        for word in words:
            if said.lower() == word or said.lower().startswith(f"{word} "):
                return _of(course, kind, said[len(word) :].strip())
    return _check(course, said)


def _of(course: Course, kind: str, rest: str) -> Command:
    if kind == "look":
        part = _one(rest, "look", "PART, for example look stud_bias")
        return _check(course, LOOK_AT.check(part.replace(" ", "_")))
    if kind == REPLACED:
        name = _one(rest.replace(" ", "_"), "replace", "PART, for example replace sender")
        return Command(kind, rest, LearnerAction(kind, course.knowledge.rest.repair(name).name))
    if kind == VERDICT:
        return Command(
            kind,
            rest,
            LearnerAction(kind, _one(rest, "verdict", "PART=MODE, for example verdict sender=open")),
        )
    if kind in (HINT, EXPLAIN, GAVE_UP):
        return Command(kind, rest, LearnerAction(kind))
    return Command(kind, rest)


def _one(rest: str, word: str, wanted: str) -> str:
    if not rest:
        raise CaseError(f"{word} what?", "", f"type {word} {wanted}")
    return rest


def _check(course: Course, said: str) -> Command:
    """A number of the list, or a check with or without its state."""
    possible = numbered_checks(course.task)
    name, _, state = said.partition("@") if "@" in said else said.partition(" ")
    state = re.sub(r"^(in|at) ", "", state.strip()).replace(" ", "_")
    if re.fullmatch(r"\d+\W?", name):
        number = int(re.sub(r"\D", "", name))
        if not 1 <= number <= len(possible):
            raise CaseError(f"there is no check {number}", "", f"give 1 to {len(possible)}")
        name, state = possible[number - 1][0], state or possible[number - 1][1]
    kind = name.partition(":")[0]
    if kind not in KINDS:
        words = [words[0] for words in _WORDS.values()]
        kinds = {check.partition(":")[0] for check, _ in possible}
        raise unknown_name("check or command", kind or said, [*words, *kinds])
    try:
        option = find_option(course.task, name, state)
    except WouldBurnError:
        return Command(BURNT, "", LearnerAction(BURNT, name))
    return Command(CHECKED, "", LearnerAction(CHECKED, option.check.id, option.state))


def prediction_question(option: Option) -> Question:
    """The question what a check will show."""
    reads = option.check.reads
    choices = tuple(
        Choice(word, outcome_words(reads, word), tuple(k for k, v in SAME_WORDS.items() if v == word))
        for word in option.classes
    )
    text = f"What will it show{TOPICS[reads].or_number}?"
    return Question("prediction", text, choices, TOPICS[reads].number)


def prediction(question: Question, typed: str) -> str:
    """Make out a predicted reading. A word of the check's, or a number.

    Raises
    ------
    CaseError
        If it is neither.
    """
    heard = understand(question, typed)
    if heard.choice:
        return heard.choice.value
    if isinstance(heard.number, DialFigure):
        raise CaseError(
            f"{heard.number} is by the dial's own figures", "", "give a word, or a part of the scale"
        )
    if heard.number is not None:
        ends = heard.number if isinstance(heard.number, tuple) else (heard.number, heard.number)
        return f"{sum(ends) / 2:g}"
    if heard.near:
        near = " or ".join(choice.words for choice in heard.near)
        raise CaseError(f"{typed.strip()!r} may mean {near}", "", "give its number")
    raise CaseError(heard.complaint.rstrip(".") or "no prediction was made; give a number of the list")


def prediction_right(step: Done) -> bool | None:
    """Whether a check showed what was predicted. None if nothing was predicted."""
    said, shown = step.action.predicted, step.shown
    if not said or shown is None:
        return None
    try:
        number = float(said)
    except ValueError:
        return said == shown.outcome
    if shown.value is None:
        return False
    share, least = TOPICS[shown.reads].near
    return abs(number - shown.value) <= max(share * abs(shown.value), least)


def predicted_words(done: Done) -> str:
    """What was predicted, as a person says it."""
    assert done.shown is not None
    said, reads = done.action.predicted, done.shown.reads
    try:
        number = float(said)
    except ValueError:
        return outcome_words(reads, said)
    return f"needle at {number:.2f}" if reads == "needle" else quantity(number, TOPICS[reads].unit)


def suspects_named(course: Course, typed: str) -> tuple[str, ...]:
    """Make out the suspects that a learner names.

    Parameters
    ----------
    typed : str
        Parts, separated by commas or spaces.

    Raises
    ------
    GaugesimError
        If one is no part.
    """
    names = [name for name in re.split(r"[,;\s]+", typed.strip()) if name]
    if not names:
        raise CaseError("no suspect was named", "", "name parts, for example sender, stud_bias")
    return tuple(dict.fromkeys(course.knowledge.rest.repair(name).name for name in names))
