"""Questions about a check, a part, or what else was seen, once the checks have begun."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from gaugesim.advice.check_advice import Advice, by_information
from gaugesim.advice.jobs import check_states
from gaugesim.advice.proofs import MustSee
from gaugesim.circuit import Circuit
from gaugesim.compose import DriverQuestion, declined
from gaugesim.consultation import Consultation
from gaugesim.conversation.answers import DEAD, JUDGED, LOOKED, RESULTS, choices
from gaugesim.conversation.question import Choice, Question
from gaugesim.conversation.vehicle import MINE
from gaugesim.evidence.look_entries import seen_fields
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids, looks
from gaugesim.scenario.tools import TOOL_WORDS, tools_for
from gaugesim.vocabulary import FOUND, TOPICS

# how many other checks are listed
LISTED = 8

LOOK, REPLACED, OTHER, SEEN = "look", "replaced", "other", "seen"
TOOLS = "tools"
DRIVER, DECLINED = "driver:", "declined"
NOT_AT_HAND = Choice("not_at_hand", "no tool for that", ("missing",))
JOB_DONE = Choice("done", "done", ("finished",))
COMMANDS = (
    Choice(LOOK, "looked at a part", ("looked",)),
    Choice(REPLACED, "replaced or mended a part", ("replace", "mended", "fixed")),
    Choice(OTHER, "another check", ("another", "check")),
    Choice(SEEN, "something else was seen", ("saw",)),
    MINE,
)
DONE = Question(
    "idle", "The job is done. d ends it, unless there is more to tell.", commands=(JOB_DONE, *COMMANDS)
)


def check_question(circuit: Circuit, advised: Advice, gauge: str) -> Question:
    """What a check has shown."""
    check = find_check(circuit, advised.check, gauge)
    name = f"check:{advised.check}@{advised.state}"
    if check.kind.inspects:
        part = circuit.short_name(check.part, gauge)
        question = found_question(circuit, gauge, part, FOUND.asks)
        return replace(question, id=name, commands=COMMANDS)
    topic = TOPICS[check.reads]
    table = "seen" if check.kind.is_look else "measured"
    fixed: tuple[tuple[str, Any], ...] = (("check", advised.check), ("state", advised.state))
    if check.kind.is_look:
        fixed = tuple(seen_fields(circuit, check, advised.state).items())
    commands = (*COMMANDS, NOT_AT_HAND) if tools_for(check) else COMMANDS
    offered = choices(topic)
    return Question(name, topic.asks, offered, topic.number, table, fixed, topic.key, commands=commands)


def proof_question(need: MustSee) -> Question:
    """Whether the needle is right after a repair."""
    text = f"To prove it, {need.state_words}: is the needle {need.word}?"
    right = replace(JUDGED[0], words="yes, there", others=(*JUDGED[0].others, "yes", "y", "there"))
    offered = (right, *JUDGED[1:], DEAD)
    fixed = (("state", need.state), ("gauge", need.gauge))
    commands = (JOB_DONE, *COMMANDS)
    return Question(f"proof:{need.state}", text, offered, "", "seen", fixed, "needle", commands=commands)


def found_question(circuit: Circuit, gauge: str, part: str, text: str) -> Question:
    """What a part looked like. It lists what that part can look like; any other look is understood.

    Parameters
    ----------
    part : str
        Its short name.
    """
    can = {"sound", *(word for mode in circuit.part(part, gauge).modes.values() for word in mode.found)}
    listed = tuple(choice for choice in LOOKED if choice.value in can)
    more = tuple(choice for choice in LOOKED if choice.value not in can)
    return Question(
        "found", text, listed, "", "inspected", (("part", part), ("how", "looked")), "found", more=more
    )


def result_question(part: str, text: str) -> Question:
    """What a replacement did.

    Parameters
    ----------
    part : str
        Its short name, ``gauge`` or ``panel``.
    """
    return Question("result", text, RESULTS, "", "replaced", (("part", part),), "result")


def other_question(consultation: Consultation, passed: frozenset[str], looked: bool) -> Question:
    """Which other check was made, or what else was seen. Values are ``check@state``.

    Parameters
    ----------
    passed : frozenset of str
        ``check@state`` of those that were passed over.
    looked : bool
        Whether it is one of the looks.
    """
    circuit, gauge = consultation.circuit, consultation.gauge
    states = circuit.sheet.states
    listed = [
        Choice(option.id, f"{option.check.words} ({states[option.state].words})", (option.check.id,))
        for option in by_information(consultation.job)
        if option.id not in passed and option.check.kind.is_look == looked
    ][:LISTED]
    more = []
    for name in check_ids(circuit, gauge):
        state = check_states(circuit, find_check(circuit, name, gauge))[0]
        more.append(Choice(f"{name}@{state}", name))
    if looked:
        able = [(name, at) for name, at in looks(circuit, gauge) if consultation.may_be_had(at, name)]
        more = [Choice(f"{name}@{state}", f"{name} {state}") for name, state in able]
    text = "What was seen?" if looked else "Which check?"
    return Question(OTHER, f"{text} (Any other by its name.)", tuple(listed), more=tuple(more))


def driver_question(asked: DriverQuestion) -> Question:
    """Whether something else than its sender may move the needle: before a hand is laid on the wiring."""
    choices = (Choice(asked.yes, "yes", ("y",)), Choice(asked.no, "no", ("n",)))
    text = f"Before anything is touched: {asked.words}"
    return Question(f"{DRIVER}{asked.id}", text, choices)


def declined_question(driven_by: str) -> Question:
    """What is said where something else does; there is no more to ask."""
    error = declined(driven_by)
    assert error is not None
    text = f"This stops here: {error}. b takes that answer back, q stops."
    return Question(DECLINED, text)


def tools_question() -> Question:
    """What is at hand."""
    choices = tuple(Choice(name, words) for name, words in TOOL_WORDS.items())
    text = (
        "Which of these are at hand? (Several numbers together, 1 3; 0 none; no check asks for the others.)"
    )
    return Question(TOOLS, text, choices, commands=COMMANDS, several=True)
