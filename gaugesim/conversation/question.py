"""A question and what was typed in answer to it, however untidily."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gaugesim.errors import nearest
from gaugesim.vocabulary.quantity import DialFigure, Value, limits_of, typed_figure, typed_quantity

# what may be typed at any question, besides an answer
BACK, STOP, HELP, UNKNOWN = "back", "stop", "help", "unknown"
_ANYWHERE = {
    BACK: ("b", "back", "undo"),
    STOP: ("q", "quit", "stop", "exit", "end"),
    HELP: ("h", "help"),
    UNKNOWN: ("", "?", "dont know", "don t know", "do not know", "dunno", "not known", "unknown", "no idea"),
}
YES = ("y", "yes", "yep", "ja", "ok")
# a beginning of a word counts as the word from this many letters
BEGINNING = 2
# how many words are offered when none was hit
NEAR = 4
# a choice with more letters than this is offered by its id
SHORT = 40


@dataclass(frozen=True)
class Choice:
    """One answer that a question offers.

    Attributes
    ----------
    value : str
        What it stands for, mostly the word of a case file.
    words : str
        How it is said to a person.
    others : tuple of str
        What else people type for it.
    key : str
        The key of the case file that it goes to, if it is another than the question's.
    written : str
        The word of the case file, if it is another than ``value``.
    """

    value: str
    words: str
    others: tuple[str, ...] = ()
    key: str = ""
    written: str = ""


@dataclass(frozen=True)
class Question:
    """A question.

    Attributes
    ----------
    choices : tuple of Choice
        Numbered from 1, or as ``labels`` says.
    number : str
        What kind of number is an answer as well: ``position``, ``volts`` or ``ohms``; empty for none.
    table : str
        The table of the case file that the answer goes to; empty if it goes to none.
    fixed : tuple of (str, value)
        What the entry holds besides the answer.
    labels : tuple of str
        What is typed for each choice, where that is not its number.
    more : tuple of Choice
        What is understood without being listed.
    commands : tuple of Choice
        What else may be done here: typed by its first letter or by its word, with or without a name after it.
    several : bool
        Whether several of the choices may be meant at once, or none.
    """

    id: str
    text: str
    choices: tuple[Choice, ...] = ()
    number: str = ""
    table: str = ""
    fixed: tuple[tuple[str, str | int | float | tuple[str, ...] | tuple[float, float]], ...] = ()
    key: str = ""
    labels: tuple[str, ...] = ()
    more: tuple[Choice, ...] = ()
    commands: tuple[Choice, ...] = ()
    several: bool = False

    def label(self, index: int) -> str:
        """What is typed for a choice."""
        return self.labels[index] if self.labels else str(index + 1)


# what people say around a word: "it reads high", "the needle is stuck"
_SENTENCE = re.compile(
    r"^((it|its|the needle|needle|the gauge|gauge)( (is|s|reads|stands|sits|shows|goes|was))?|reads|is) "
)


@dataclass(frozen=True)
class Heard:
    """What an answer was understood to be; one of these is set.

    Attributes
    ----------
    command : str
        One of `BACK`, `STOP`, `HELP`, `UNKNOWN`, or a command of the question.
    rest : str
        What was typed after the command.
    near : tuple of Choice
        What may have been meant.
    complaint : str
        Why it is no answer.
    """

    choice: Choice | None = None
    choices: tuple[Choice, ...] | None = None
    number: Value | DialFigure | None = None
    command: str = ""
    rest: str = ""
    near: tuple[Choice, ...] = ()
    complaint: str = ""


def tidy(typed: str) -> str:
    """What was typed, without what dirty fingers add: case, spaces, stray punctuation.

    Examples
    --------
    >>> tidy(" Three_Quarters,, "), tidy("2)"), tidy("?")
    ('three quarters', '2', '?')
    """
    if typed.strip() and not typed.strip().strip("?"):
        return "?"
    plain = re.sub(r"[^\w%/]+|_", " ", typed.casefold())
    return " ".join(plain.split())


def understand(question: Question, typed: str) -> Heard:
    """Make out an answer.

    A number of the list, a word, the beginning of one, a reading; what is only near to a word is offered and
    not taken.

    Examples
    --------
    >>> where = Question("needle", "Where is it?", (Choice("half", "at half"), Choice("high", "high")))
    >>> understand(where, " 1.").choice.value, understand(where, "HALF").choice.value
    ('half', 'half')
    >>> understand(where, "it reads high").choice.value, understand(where, "athalf").choice.value
    ('high', 'half')
    >>> understand(where, "hlaf").near[0].value
    'half'
    >>> understand(where, "b").command
    'back'
    """
    said = tidy(typed)
    command = next((name for name, words in _ANYWHERE.items() if said in words), "")
    if command:
        return Heard(command=command)
    if question.several:
        return _command(question, said) or _several(question, said)
    if said == "0":
        if not question.number:
            return Heard(command=UNKNOWN)
        unit = {"volts": "0 V", "ohms": "0 ohm"}.get(question.number, "0.0")
        return Heard(complaint=f"For a reading of nothing type {unit}; if you do not know, just Enter.")
    labels = [question.label(index) for index in range(len(question.choices))]
    # "2." and "2)" are the second choice; "2.0" and ".2" are readings
    if said in labels and re.fullmatch(r"\s*\d+\W*", typed):
        return Heard(choice=question.choices[labels.index(said)])
    return _command(question, said) or _reading(question, typed) or _word(question, said)


def _command(question: Question, said: str) -> Heard | None:
    first, _, rest = said.partition(" ")
    for choice in question.commands:
        if said == tidy(choice.words) or first in (choice.value[0], choice.value, *choice.others):
            return Heard(command=choice.value, rest="" if said == tidy(choice.words) else rest)
    return None


def _several(question: Question, said: str) -> Heard:
    """Several numbers or words of the list, in any order; 0 or none for none, all for all."""
    if said in ("0", "no", "none", "nothing"):
        return Heard(choices=())
    if said == "all":
        return Heard(choices=question.choices)
    choices = []
    for word in said.split():
        heard = [
            choice
            for index, choice in enumerate(question.choices)
            if word == question.label(index) or choice.value.startswith(word)
        ]
        if len(heard) != 1 or (word.isalpha() and len(word) < BEGINNING):
            return Heard(complaint=f"'{word[:30]}' is none of these: give numbers of the list, 0 or all.")
        choices += heard
    return Heard(choices=tuple(choices))


def _reading(question: Question, typed: str) -> Heard | None:
    if question.number:
        try:
            figure = typed_figure(typed) if question.number == "position" else None
            value = figure or typed_quantity(typed, question.number)
        except ValueError as problem:
            return Heard(complaint=str(problem))
        if value is not None:
            return Heard(number=value)
    elif re.fullmatch(r"\W*\d+\W*", typed) and question.choices:
        last = question.label(len(question.choices) - 1)
        return Heard(complaint=f"There is no {tidy(typed)}: give {question.label(0)} to {last}, or a word.")
    return None


def _word(question: Question, said: str) -> Heard:
    named: dict[str, Choice] = {}
    for choice in (*question.choices, *question.more):
        for name in _names(choice):
            named.setdefault(name, choice)
    bare = _SENTENCE.sub("", said)
    close = {name.replace(" ", ""): choice for name, choice in reversed(named.items())}
    for name in (said, bare):
        chosen = named.get(name) or close.get(name.replace(" ", ""))
        if chosen:
            return Heard(choice=chosen)
    if len(said) >= BEGINNING:
        begun = _different(named[name] for name in named if name.startswith(said))
        if len(begun) == 1:
            return Heard(choice=begun[0])
        if begun:
            return Heard(near=begun[:NEAR])
        near = _different(named[name] for name in nearest(said, named, most=2 * NEAR))
        if near:
            return Heard(near=near[:NEAR])
    wanted = f", or a number of {limits_of(question.number).unit}" if question.number else ""
    return Heard(
        complaint=f"'{' '.join(said.split())[:30]}' is none of these: give a number of the list{wanted}."
    )


def _names(choice: Choice) -> Iterator[str]:
    """What may be typed for a choice: its words, without "at" and "the" too."""
    for text in (choice.value, choice.words, *choice.others):
        name = tidy(text)
        yield name
        yield re.sub(r"^(at|on|the|a|in)( (the|a))? ", "", name)


def _different(choices: Iterator[Choice]) -> tuple[Choice, ...]:
    return tuple({choice.value: choice for choice in choices}.values())


def ask_back(question: Question, near: Sequence[Choice]) -> str:
    """Ask back whether one of the near words was meant.

    Examples
    --------
    >>> ask_back(Question("needle", "Where is it?"), [Choice("half", "at half")])
    'at half? y for yes, or type it again.'
    """

    def said(choice: Choice) -> str:
        return choice.words if len(choice.words) <= SHORT else choice.value

    if len(near) == 1:
        return f"{said(near[0])}? y for yes, or type it again."
    labels = []
    for choice in near:
        listed = choice in question.choices
        label = f"{question.label(question.choices.index(choice))} " if listed else ""
        labels.append(f"{label}{said(choice)}")
    return f"Which: {', '.join(labels)}?"
