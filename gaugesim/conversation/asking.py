"""Questions about a check, a part, or what else was seen, once the checks have begun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gaugesim.case import Case, Inspected, Measured, Replaced
from gaugesim.circuit import Circuit
from gaugesim.conversation.answers import ASKS, LOOKED, RESULTS, SHOWS
from gaugesim.conversation.question import Choice, Question
from gaugesim.plan.advice import Advice, advice, by_information
from gaugesim.plan.decide import Action
from gaugesim.plan.job import Job, check_states
from gaugesim.plan.problem import CHECK
from gaugesim.scenario.caution import check_cautions
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids

# how many other checks are listed
LISTED = 8

LOOK, REPLACED, OTHER, SEEN = "look", "replaced", "other", "seen"
COMMANDS = (
    Choice(LOOK, "looked at a part", ("looked",)),
    Choice(REPLACED, "replaced or mended a part", ("replace", "mended", "fixed")),
    Choice(OTHER, "another check", ("another", "check")),
    Choice(SEEN, "something else was seen", ("saw",)),
)


def stage(case: Case) -> int:
    """The stage of what is seen now: one more for each change that the case tells of.

    Parameters
    ----------
    case : Case

    Returns
    -------
    int
    """
    last = max((entry.stage for entry in case.entries), default=1)
    changed = any(isinstance(entry, Replaced) and entry.stage == last for entry in case.entries)
    return last + changed


def cured(case: Case) -> str:
    """The part whose replacement was the cure and the end of the case so far.

    Parameters
    ----------
    case : Case

    Returns
    -------
    str
        Empty if there is none.
    """
    last = max((entry.stage for entry in case.entries), default=1)
    return next(
        (
            entry.part
            for entry in case.entries
            if isinstance(entry, Replaced) and entry.stage == last and entry.result == "cured"
        ),
        "",
    )


def done(case: Case, circuit: Circuit, gauge: str) -> frozenset[str]:
    """Checks that need not be proposed again: ``check@state``, or ``check@`` for a part that was looked at.

    Parameters
    ----------
    case : Case
    circuit : Circuit
    gauge : str

    Returns
    -------
    frozenset of str
    """
    now = stage(case)
    found = {
        f"{entry.check}@{entry.state or circuit.sheet.default_state}"
        for entry in case.entries
        if isinstance(entry, Measured) and entry.stage == now
    }
    parts = {entry.part for entry in case.entries if isinstance(entry, Inspected) and entry.stage == now}
    for part in circuit.sheet.parts:
        if part in parts or circuit.short_name(part, gauge) in parts:
            found.add(f"look_at:{part}@")
    return frozenset(found)


def proposed(work: Job, action: Action, past: frozenset[str]) -> Advice | None:
    """The next check, those that were made or passed over left out.

    Parameters
    ----------
    work : Job
    action : Action
        What the plan says of the job.
    past : frozenset of str
        As `done` names them.

    Returns
    -------
    Advice or None
        None if no check tells anything more.
    """
    planned = (work.options[one.step.number] for one in action.alternatives if one.step.kind == CHECK)
    for option in (*planned, *by_information(work)):
        if not is_past(option.check.id, option.state, past):
            return advice(work, option)
    return None


def is_past(check: str, state: str, past: frozenset[str]) -> bool:
    """Whether a check in a state is one of those that `done` names.

    Parameters
    ----------
    check, state : str
    past : frozenset of str

    Returns
    -------
    bool
    """
    return f"{check}@{state}" in past or f"{check}@" in past


def told(work: Job, check: str, state: str) -> Advice:
    """Tell a check that a person has chosen.

    Parameters
    ----------
    work : Job
    check, state : str

    Returns
    -------
    Advice
        Without outcomes if it shows the same whatever is wrong.
    """
    for option in work.options:
        if (option.check.id, option.state) == (check, state):
            return advice(work, option)
    sheet = work.circuit.sheet
    meant = find_check(work.circuit, check, work.diagnosis.gauge)
    closed = [sheet.places[place] for place in meant.places if place not in work.opened]
    return Advice(
        check=check,
        state=state,
        words=meant.words,
        state_words=sheet.states[state].words,
        minutes=meant.minutes + sheet.states[state].minutes + sum(place.setup_minutes for place in closed),
        opens=tuple(place.words for place in closed),
        bits=0.0,
        cautions=tuple(caution.words for caution in check_cautions(work.circuit, meant, state)),
        outcomes=(),
    )


def check_question(circuit: Circuit, advised: Advice, gauge: str) -> Question:
    """What a check has shown.

    Parameters
    ----------
    circuit : Circuit
    advised : Advice
    gauge : str
        The gauge complained of.

    Returns
    -------
    Question
    """
    check = find_check(circuit, advised.check, gauge)
    name = f"check:{advised.check}@{advised.state}"
    if check.reads == "look":
        part = circuit.short_name(check.part, gauge)
        return replace(found_question(part, "What does it look like?"), id=name, commands=COMMANDS)
    choices, number, key = SHOWS[check.reads]
    fixed = (("check", advised.check), ("state", advised.state))
    return Question(name, ASKS[check.reads], choices, number, "measured", fixed, key, commands=COMMANDS)


def found_question(part: str, text: str) -> Question:
    """What a part looked like.

    Parameters
    ----------
    part : str
        Its short name.
    text : str

    Returns
    -------
    Question
    """
    return Question("found", text, LOOKED, "", "inspected", (("part", part),), "found")


def result_question(part: str, text: str) -> Question:
    """What a replacement did.

    Parameters
    ----------
    part : str
        Its short name, ``gauge`` or ``panel``.
    text : str

    Returns
    -------
    Question
    """
    return Question("result", text, RESULTS, "", "replaced", (("part", part),), "result")


def other_question(work: Job, past: frozenset[str]) -> Question:
    """Which other check was made.

    Parameters
    ----------
    work : Job
    past : frozenset of str
        As `done` names them.

    Returns
    -------
    Question
        Values are ``check@state``.
    """
    states = work.circuit.sheet.states
    listed = [
        Choice(option.id, f"{option.check.words} ({states[option.state].words})", (option.check.id,))
        for option in by_information(work)
        if not is_past(option.check.id, option.state, past)
    ][:LISTED]
    gauge = work.diagnosis.gauge
    more = []
    for name in check_ids(work.circuit, gauge):
        state = check_states(work.circuit, find_check(work.circuit, name, gauge))[0]
        more.append(Choice(f"{name}@{state}", name))
    return Question(OTHER, "Which check? (Any other by its name.)", tuple(listed), more=tuple(more))


def seen_question(open_questions: Sequence[Question]) -> Question:
    """About what something was seen.

    Parameters
    ----------
    open_questions : sequence of Question

    Returns
    -------
    Question
        Values are the ids of the questions.
    """
    return Question(SEEN, "About what?", tuple(Choice(one.id, one.text) for one in open_questions))
