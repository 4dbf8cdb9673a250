"""One step of a conversation: from an answer to the next state, without a terminal or a file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gaugesim.circuit import Circuit
from gaugesim.conversation import asking, intake
from gaugesim.conversation.answers import NOTHING
from gaugesim.conversation.casefile import Field, with_entry, with_top
from gaugesim.conversation.quantity import Value
from gaugesim.conversation.question import (
    BACK,
    HELP,
    STOP,
    UNKNOWN,
    YES,
    Choice,
    Heard,
    offered,
    tidy,
    understand,
)
from gaugesim.conversation.state import CHECKS, Pending, Position, State
from gaugesim.errors import CaseError, GaugesimError
from gaugesim.plan.progress import stage

HELP_LINES = (
    "Answer with a number of the list, with a word, or with the reading.",
    "Enter or ? if you do not know, b to go back one step, q to stop.",
    "While the complaint is asked after, c goes on to the checks.",
    "At a check: l looked at a part, r replaced or mended one, o another check, s something else was seen.",
    "Each answer is in the case file at once.",
)


def step(state: State, typed: str) -> tuple[State, tuple[str, ...]]:
    """Take an answer.

    Returns
    -------
    state : State
        The same but for its guess if the answer was none.
    notes : tuple of str
        What to tell the person.
    """
    if state.guess and tidy(typed) in YES:
        heard = Heard(choice=state.guess)
    else:
        heard = understand(state.question, typed)
    state = replace_guess(state, None)
    if heard.choice:
        return _chosen(state, heard.choice)
    if heard.number is not None:
        return _record(
            state, state.question.key, heard.number, _quantity(heard.number, state.question.number)
        )
    if heard.near:
        guess = heard.near[0] if len(heard.near) == 1 else None
        return replace_guess(state, guess), (offered(state.question, heard.near),)
    if heard.complaint:
        return state, (heard.complaint,)
    return _command(state, heard)


def replace_guess(state: State, guess: Choice | None) -> State:
    """The same state with another guess, what it has worked out kept."""
    return state if state.guess == guess else _move(state, state.at, state.history, guess)


def withdraw(state: State, error: GaugesimError) -> tuple[State, tuple[str, ...]]:
    """Take an answer back that does not fit the circuit.

    Returns
    -------
    state : State
    notes : tuple of str

    Raises
    ------
    GaugesimError
        The same, if there is nothing to take back.
    """
    if not state.history:
        raise error
    return _back(state), (f"Not taken: {error.problem}.",)


def _move(state: State, at: Position, history: tuple[Position, ...], guess: Choice | None = None) -> State:
    """Another position; what follows from the case alone is kept while that is the same."""
    before = state.__dict__.get("consultation", state.before)
    moved = State(state.path, state.names, at, history, guess, before=before)
    same = (at.text, at.circuits) == (state.at.text, state.at.circuits)
    kept = ("case", "gauge", "asked_after", "consultation") if same else ()
    if at == state.at:
        kept = (*kept, "advised", "question", "_intake")
    for name in kept:
        if name in state.__dict__:
            moved.__dict__[name] = state.__dict__[name]
    return moved


def _go(state: State, at: Position) -> State:
    return _move(state, at, (*state.history, state.at))


def _back(state: State) -> State:
    return _move(state, state.history[-1], state.history[:-1])


def _command(state: State, heard: Heard) -> tuple[State, tuple[str, ...]]:
    if heard.command == STOP:
        return replace(state, over=True), ()
    if heard.command == HELP:
        return state, HELP_LINES
    if heard.command == BACK:
        if not state.history:
            return state, (f"There is no step before this one; {state.path.name} can be edited.",)
        return _back(state), ("One step back.",)
    if heard.command == UNKNOWN:
        return _unknown(state)
    if heard.command == CHECKS.value:
        return _pass(state, CHECKS.value), ()
    return _begin(state, heard.command, heard.rest)


def _unknown(state: State) -> tuple[State, tuple[str, ...]]:
    question = state.question
    if state.at.pending:
        return _go(state, replace(state.at, pending=None)), ()
    if question.id == "gauge":
        first = question.choices[0]
        after, notes = _chosen(state, first)
        return after, (f"Then it begins with the {first.words}.", *notes[1:])
    if question.id == "idle":
        return state, ("q stops; everything is kept.",)
    return _pass(state, question.id), ()


def _pass(state: State, name: str) -> State:
    return _go(state, replace(state.at, passed=state.at.passed | {name}, pending=None))


def _begin(state: State, kind: str, rest: str) -> tuple[State, tuple[str, ...]]:
    """A command of a check's question, with or without the name of a part or check."""
    if kind == asking.SEEN and all(answered for _, answered in state.asked_after):
        return state, ("All that can be asked after has been answered.",)
    begun = _go(state, replace(state.at, pending=Pending(kind)))
    if not rest:
        return begun, ()
    heard = understand(begun.question, rest)
    if heard.choice:
        after, notes = _chosen(begun, heard.choice)
        return replace(after, history=(*state.history, state.at)), notes
    return begun, (offered(begun.question, heard.near) if heard.near else heard.complaint,)


def _chosen(state: State, choice: Choice) -> tuple[State, tuple[str, ...]]:
    question, at = state.question, state.at
    if question.id == "gauge":
        fitting = tuple(circuit for circuit in at.circuits if choice.value in circuit.sheet.gauges)
        fewer = {} if at.text and fitting == at.circuits else {"circuit": _written(state, fitting)}
        text = with_top(at.text, **fewer, gauge=choice.value)
        return _go(state, replace(at, text=text, circuits=fitting)), (f"Noted: {choice.words}.",)
    if question.id == "circuit" or question.id.startswith("feature:"):
        fitting = intake.narrowed(at.circuits, state.gauge, question, choice.value)
        text = with_top(at.text, circuit=_written(state, fitting))
        return _go(state, replace(at, text=text, circuits=fitting)), (_narrowed(choice, fitting),)
    if question.id == "replaced_before":
        if choice.value == NOTHING:
            return _pass(state, question.id), ()
        return _go(state, replace(at, pending=Pending(asking.REPLACED, choice.value))), ()
    if question.id == "part" or question.id == asking.SEEN:
        assert at.pending is not None
        return _go(state, replace(at, pending=replace(at.pending, what=choice.value))), ()
    if question.id == asking.OTHER:
        check, _, name = choice.value.rpartition("@")
        return _go(state, replace(at, pending=Pending("check", check, name))), ()
    if choice.value == "sound" and question.number == "ohms":
        return state, ("How many ohms? Type what the meter shows.",)
    return _record(state, choice.key or question.key, choice.written or choice.value, choice.words)


def _written(state: State, circuits: Sequence[Circuit]) -> list[str]:
    names = dict(state.names)
    return [names.get(circuit.id, circuit.id) for circuit in circuits]


def _narrowed(choice: Choice, circuits: Sequence[Circuit]) -> str:
    if len(circuits) == 1:
        return f"Noted: {circuits[0].sheet.words} ({circuits[0].id})."
    return f"Noted: {choice.words}. {len(circuits)} circuits are left."


def _record(state: State, key: str, value: str | Value, words: str) -> tuple[State, tuple[str, ...]]:
    question = state.question
    now = stage(state.case)
    fields: dict[str, Field] = {**dict(question.fixed), key: value}
    if now > 1:
        fields["stage"] = now
    text = state.at.text or with_top("", circuit=_written(state, state.at.circuits))
    text = with_entry(text, question.table, fields)
    at = replace(state.at, text=text, pending=None)
    after = _go(state, at)
    try:
        _ = after.case
    except CaseError as error:
        return state, (f"Not taken: {error.problem}; {error.remedy}.",)
    return after, (f"Noted: {words}.",)


def _quantity(value: Value, kind: str) -> str:
    unit = {"volts": " V", "ohms": " ohm"}.get(kind, " of the scale")
    low, high = value if isinstance(value, tuple) else (value, value)
    if low == float("inf"):
        return "open"
    return f"{low:g}{unit}" if low == high else f"{low:g} to {high:g}{unit}"
