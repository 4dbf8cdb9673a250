"""One step of a conversation: from an answer to the next state, without a terminal or a file."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from gaugesim.advice.progress import stage
from gaugesim.case import known_place
from gaugesim.circuit import Circuit
from gaugesim.conversation import asking, complaint, intake, vehicle
from gaugesim.conversation.casefile import Field, with_entry, with_top, with_vehicle
from gaugesim.conversation.question import (
    BACK,
    HELP,
    STOP,
    UNKNOWN,
    YES,
    Choice,
    Heard,
    ask_back,
    tidy,
    understand,
)
from gaugesim.conversation.state import CHECKS, Pending, Position, Talk
from gaugesim.errors import CaseError, GaugesimError, WouldBurnError
from gaugesim.reading.words import place_on_dial
from gaugesim.scenario.check import find_check
from gaugesim.scenario.tools import TOOL_WORDS, TOOLS, tools_for
from gaugesim.vocabulary import UNDRIVEN, spoken
from gaugesim.vocabulary.quantity import DialFigure, Value

HELP_LINES = (
    "Answer with a number of the list, with a word, or with the reading.",
    "Enter or ? if you do not know, b to go back one step, q to stop.",
    "While the complaint is asked after, c goes on to the checks.",
    "At any time v describes a vehicle that is different, or tells more of it.",
    "At a check: l looked at a part, r replaced or mended one, o another check, s something else was seen,",
    "n no tool for that. After the cure: d done.",
    "Each answer is in the case file at once.",
)


def step(state: Talk, typed: str) -> tuple[Talk, tuple[str, ...]]:
    """Take an answer.

    Returns
    -------
    state : Talk
        The same but for its guess if the answer was none.
    notes : tuple of str
        What to tell the person.
    """
    if refused := _refused(state, typed):
        return state, (refused,)
    if state.guess and tidy(typed) in YES:
        heard = Heard(choice=state.guess)
    else:
        heard = understand(state.question, typed)
    state = replace_guess(state, None)
    if state.question.id == vehicle.OHMS and (ohms := vehicle.typed_ohms(typed)):
        return _describe(state, {f"{state.gauge}.{key}": value for key, value in ohms.items()}, typed.strip())
    if heard.choices is not None and state.question.id.startswith(vehicle.PREFIX):
        words = " and ".join(choice.words for choice in heard.choices) or "none"
        return _describe(state, _values(state, tuple(choice.value for choice in heard.choices)), words)
    if heard.choices is not None:
        return _with_tools(state, tuple(choice.value for choice in heard.choices)), ()
    if heard.choice:
        return _chosen(state, heard.choice)
    if heard.number is not None:
        if isinstance(heard.number, DialFigure):
            return _by_dial(state, heard.number)
        return _record(
            state, state.question.key, heard.number, _quantity(heard.number, state.question.number)
        )
    if heard.near:
        guess = heard.near[0] if len(heard.near) == 1 else None
        return replace_guess(state, guess), (ask_back(state.question, heard.near),)
    if heard.complaint:
        return state, (heard.complaint,)
    return _command(state, heard)


def _refused(state: Talk, typed: str) -> str:
    """What a check that was asked for by name would burn; empty for all others."""
    name = typed.strip().rpartition(" ")[2]
    if ":" not in name or not state.question.id.startswith(("check:", asking.OTHER)):
        return ""
    try:
        find_check(state.consultation.circuit, name, state.gauge)
    except WouldBurnError as error:
        return f"Not that: {error}."
    except GaugesimError:
        pass
    return ""


def replace_guess(state: Talk, guess: Choice | None) -> Talk:
    """The same state with another guess, what it has worked out kept."""
    return state if state.guess == guess else _move(state, state.at, state.history, guess)


def withdraw(state: Talk, error: GaugesimError) -> tuple[Talk, tuple[str, ...]]:
    """Take an answer back that does not fit the circuit.

    Returns
    -------
    state : Talk
    notes : tuple of str

    Raises
    ------
    GaugesimError
        The same, if there is nothing to take back.
    """
    if not state.history:
        raise error
    here = " Here: v battery." if "[vehicle]" in error.remedy else ""
    remedy = f"; {error.remedy}" if error.remedy else ""
    return _back(state), (f"Not taken: {error.problem}{remedy}.{here}",)


def _move(state: Talk, at: Position, history: tuple[Position, ...], guess: Choice | None = None) -> Talk:
    """Another position; what follows from the case alone is kept while that is the same."""
    before = state.__dict__.get("consultation", state.before)
    moved = Talk(state.path, state.names, at, history, guess, find=state.find, before=before)
    same = (at.text, at.circuits) == (state.at.text, state.at.circuits)
    kept = ("case", "gauge", "consultation") if same else ()
    if at == state.at:
        kept = (*kept, "advised", "question", "_intake")
    for name in kept:
        if name in state.__dict__:
            moved.__dict__[name] = state.__dict__[name]
    return moved


def _go(state: Talk, at: Position) -> Talk:
    return _move(state, at, (*state.history, state.at))


def _back(state: Talk) -> Talk:
    return _move(state, state.history[-1], state.history[:-1])


def _command(state: Talk, heard: Heard) -> tuple[Talk, tuple[str, ...]]:
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
    if heard.command == vehicle.MINE.value:
        return _mine(state, heard.rest)
    if heard.command == CHECKS.value:
        return _pass(state, CHECKS.value), ()
    if heard.command == asking.JOB_DONE.value:
        return replace(state, over=True), ()
    if heard.command == asking.NOT_AT_HAND.value:
        return _without_tools(state)
    return _begin(state, heard.command, heard.rest)


def _unknown(state: Talk) -> tuple[Talk, tuple[str, ...]]:
    question = state.question
    if question.id.startswith(asking.DRIVER):
        return _go(state, replace(state.at, passed=state.at.passed | {question.id})), ()
    if state.at.pending:
        return _pass(state, question.id), ()
    if question.id == "gauge":
        first = (*question.more, *question.choices)[0]
        after, notes = _chosen(state, first)
        return after, (f"Then it begins with the {first.words}.", *notes[1:])
    if question.id == "detail":
        return _complain(state, "")
    if question.id == intake.OTHERS:
        return _complaint(_pass(state, question.id), ())
    if question.id in ("idle", asking.DECLINED):
        return state, ("q stops; everything is kept.",)
    return _pass(state, question.id), ()


def _pass(state: Talk, name: str) -> Talk:
    return _go(state, replace(state.at, passed=state.at.passed | {name}, pending=None))


def _begin(state: Talk, kind: str, rest: str) -> tuple[Talk, tuple[str, ...]]:
    """A command of a check's question, with or without the name of a part or check."""
    begun = _go(state, replace(state.at, pending=Pending(kind)))
    if not rest:
        return begun, ()
    heard = understand(begun.question, rest)
    if heard.choice:
        after, notes = _chosen(begun, heard.choice)
        return _move(after, after.at, (*state.history, state.at)), notes
    return begun, (ask_back(begun.question, heard.near) if heard.near else heard.complaint,)


def _chosen(state: Talk, choice: Choice) -> tuple[Talk, tuple[str, ...]]:
    question, at = state.question, state.at
    if question.id == complaint.COMPLAINT:
        return _complaint(_go(state, replace(at, complaint=choice.value)), (f"Noted: {choice.words}.",))
    if question.id == "detail":
        return _complain(state, choice.value, choice.words)
    if question.id == "gauge":
        gauge, fitting = intake.narrowed(at.circuits, choice.value)
        fewer = {} if at.text and fitting == at.circuits else {"circuit": _written(state, fitting)}
        keys = {"gauge": gauge} if gauge else {}
        text = with_top(at.text, **fewer, **keys)
        after = _go(state, replace(at, text=text, circuits=fitting))
        if vehicle.MINE.value in at.passed:
            after, _ = _mine(_move(after, after.at, state.history), "")
        return _complaint(after, (f"Noted: {choice.words}.",))
    if question.id == intake.OTHERS and at.complaint:
        return _complaint(_go(state, replace(at, others=choice.value)), (f"Noted: {choice.words}.",))
    if question.id == intake.OTHERS:
        return _record_all(state, [{"others": choice.value}], choice.words)
    if question.id == vehicle.MINE.value:
        return _mine(state, choice.value)
    if question.id.startswith(vehicle.PREFIX):
        return _describe(state, _values(state, (choice.value,)), choice.words)
    if question.id.startswith(asking.DRIVER):
        keys = {"driven_by": choice.value} if choice.value else {}
        text = with_top(_begun(state), **keys)
        after = _go(state, replace(at, text=text, passed=at.passed | {question.id}))
        return after, (f"Noted: {choice.words}.",)
    if question.id == "part":
        assert at.pending is not None
        return _go(state, replace(at, pending=replace(at.pending, what=choice.value))), ()
    if question.id == asking.OTHER:
        check, _, name = choice.value.rpartition("@")
        return _go(state, replace(at, pending=Pending("check", check, name))), ()
    if choice.value == "sound" and question.number == "ohms":
        return state, ("How many ohms? Type what the meter shows.",)
    if choice.value == UNDRIVEN and (rest := _place(state)):
        return _record(state, question.key, rest, f"{choice.words}, {spoken(rest)}")
    return _record(state, choice.key or question.key, choice.written or choice.value, choice.words)


def _place(state: Talk) -> str:
    """Where the needle that a check reads stood before, if the case says so."""
    assert state.advised is not None
    check = find_check(state.consultation.circuit, state.advised.check, state.gauge)
    return known_place(state.case, check.gauge or state.gauge, state.gauge)


def _written(state: Talk, circuits: Sequence[Circuit]) -> list[str]:
    names = dict(state.names)
    return [names.get(circuit.id, circuit.id) for circuit in circuits]


def _begun(state: Talk) -> str:
    """The case file, with the candidates in it at the least."""
    return state.at.text or with_top("", circuit=_written(state, state.at.circuits))


def _complaint(state: Talk, notes: tuple[str, ...]) -> tuple[Talk, tuple[str, ...]]:
    """A complaint goes into the case as soon as its gauge is known and there is no more to ask of it."""
    if not state.at.complaint or state.beside:
        return state, notes
    after, _ = _complain(state, "")
    return _move(after, after.at, state.history), notes


def _complain(state: Talk, detail: Field, words: str = "") -> tuple[Talk, tuple[str, ...]]:
    entries = complaint.entries(state.at.complaint, detail, state.at.circuits, state.gauge)
    entries += [{"others": state.at.others}] if state.at.others else []
    return _record_all(state, entries, words or "no more is known of it")


def _values(state: Talk, answer: tuple[str, ...]) -> dict[str, Any]:
    return vehicle.values(state.question.id.removeprefix(vehicle.PREFIX), answer, state.gauge)


def _mine(state: Talk, rest: str) -> tuple[Talk, tuple[str, ...]]:
    """A vehicle that is different is described from here on, or more is told of it."""
    at = state.at
    if not state.gauge:
        reply = "It is described as soon as it is known which gauge it is."
        return _go(state, replace(at, passed=at.passed | {vehicle.MINE.value})), (reply,)
    said = tomllib.loads(at.text).get("vehicle")
    if said is not None:
        named = [
            topic.value for topic in vehicle.topics(said, state.gauge) if tidy(topic.value) == tidy(rest)
        ]
        return _go(state, replace(at, pending=Pending(vehicle.MINE.value, "".join(named)))), ()
    alone = all(len(circuit.sheet.gauges) == 1 for circuit in at.circuits)
    passed = at.passed | ({vehicle.ALONE} if alone else set())
    after, notes = _described(state, vehicle.begun(at.circuits, state.gauge), passed)
    reply = "Noted: mine is different. More of it is asked when it tells most; v tells it before."
    if notes:
        return state, notes
    after, notes = _complaint(after, (reply,))
    return (_mine(after, rest)[0] if rest else after), notes


def _describe(state: Talk, said: Mapping[str, Any], words: str) -> tuple[Talk, tuple[str, ...]]:
    """More of the vehicle."""
    after, notes = _described(state, said, state.at.passed | {state.question.id})
    return after, notes or (f"Noted: {words}.",)


def _described(state: Talk, said: Mapping[str, Any], passed: frozenset[str]) -> tuple[Talk, tuple[str, ...]]:
    """With the circuits that such a vehicle may have; the same with why if there are none."""
    at = replace(state.at, text=with_vehicle(state.at.text, said), passed=passed, pending=None)
    after = _go(state, at)
    try:
        circuits = state.find(after.case)
    except GaugesimError as error:
        return state, (f"Not taken: {error.problem}; {error.remedy}.",)
    return _move(state, replace(at, circuits=circuits), after.history), ()


def _with_tools(state: Talk, tools: tuple[str, ...]) -> Talk:
    text = with_top(_begun(state), at_hand=list(tools))
    return _go(state, replace(state.at, text=text, passed=state.at.passed | {asking.TOOLS}))


def _without_tools(state: Talk) -> tuple[Talk, tuple[str, ...]]:
    """What the proposed check takes is not at hand."""
    assert state.advised is not None
    needed = tools_for(find_check(state.consultation.circuit, state.advised.check, state.gauge))
    tools = TOOLS if state.case.at_hand is None else state.case.at_hand
    words = " and ".join(TOOL_WORDS[tool] for tool in sorted(needed))
    after = _with_tools(state, tuple(tool for tool in tools if tool not in needed))
    return replace_pending(after), (f"Then without {words}.",)


def replace_pending(state: Talk) -> Talk:
    """The same with nothing begun."""
    return state if not state.at.pending else _move(state, replace(state.at, pending=None), state.history)


def _record(state: Talk, key: str, value: str | Value, words: str) -> tuple[Talk, tuple[str, ...]]:
    question = state.question
    if question.id == "detail":
        return _complain(state, value, words)
    fields: dict[str, Field] = {**dict(question.fixed), key: value}
    after, notes = _record_all(state, [fields], words, question.table)
    if question.id.startswith("proof:") and after.consultation.cured and not after.consultation.proof_left:
        return replace(after, over=True), (*notes, "That proves it: the job is done.")
    return after, notes


def _by_dial(state: Talk, figure: DialFigure) -> tuple[Talk, tuple[str, ...]]:
    """Where a needle stands by its dial's own figures, if that gauge has such."""
    name = str(dict(state.question.fixed).get("gauge") or state.gauge)
    try:
        for sheet in (circuit.sheet for circuit in state.at.circuits):
            gauge = sheet.gauges[name]
            place_on_dial(figure, gauge, sheet.quantities[gauge.reads].unit)
    except CaseError as error:
        return state, (f"Not taken: {error.problem}; {error.remedy}.",)
    return _record(state, state.question.key, str(figure), str(figure))


def _record_all(
    state: Talk, entries: Sequence[dict[str, Field]], words: str, table: str = "seen"
) -> tuple[Talk, tuple[str, ...]]:
    """Entries go into the case, all of them or none."""
    now = stage(state.case)
    text = _begun(state)
    for fields in entries:
        text = with_entry(text, table, fields | ({"stage": now} if now > 1 else {}))
    after = _go(state, replace(state.at, text=text, pending=None, complaint="", others=""))
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
