"""Looks as entries: what somebody who looks, listens or feels can tell stands in ``[[seen]]``.

A look has no likelihoods of its own. What it shows is the entry that anybody may tell, asked in the same way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gaugesim.case import Measured, Seen
from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.evidence import observation as obs
from gaugesim.evidence.manner import MOVES as MOVES_WORDS
from gaugesim.scenario import looks
from gaugesim.scenario.check import Check

Field = str | int | float | tuple[str, ...] | tuple[float, float]
# by what is looked at: the key of the answer, and any answer, which says what is asked
_ANSWERS = {
    looks.NEEDLE: ("needle", "half"),
    looks.OTHER_NEEDLE: ("needle", obs.JUDGED[1]),
    looks.MOVES: ("moves", MOVES_WORDS[0]),
    looks.CHANGE: ("needle", obs.CHANGES[1]),
    looks.CONSUMER: ("looks", obs.LOOKS[2]),
    looks.HEAT: ("engine", obs.HEAT_SIGNS[0]),
    looks.COOLANT: ("engine", obs.COOLANT[0]),
    looks.CRANKING: ("engine", obs.CRANKS[0]),
}
_CONDITIONS = (looks.HEAT, looks.COOLANT, looks.CRANKING)


def key_of(check: Check) -> str:
    """Key of an entry of ``[[seen]]`` that the answer to a look goes to.

    Parameters
    ----------
    check : Check
        One of `looks.LOOKS`.
    """
    return _ANSWERS[check.reads][0]


def seen_fields(circuit: Circuit, check: Check, state: str) -> dict[str, Field]:
    """What an entry of ``[[seen]]`` holds beside the answer to a look.

    Parameters
    ----------
    check : Check
        One of `looks.LOOKS`.
    """
    if check.reads in _CONDITIONS:
        return {}
    if check.reads == looks.CONSUMER:
        return {"consumer": check.part, "state": state}
    when: dict[str, Field] = {"state": state}
    if check.reads == looks.CHANGE:
        when = {"between": looks.BETWEEN[check.kind]}
    return when | ({"gauge": check.gauge} if len(circuit.sheet.gauges) > 1 else {})


def any_answer(circuit: Circuit, check: Check, state: str) -> Seen:
    """An entry that answers a look somehow: it asks what the look asks.

    Parameters
    ----------
    check : Check
        One of `looks.LOOKS`.
    """
    key, answer = _ANSWERS[check.reads]
    return Seen(check.id, 1, **seen_fields(circuit, check, state), **{key: answer})  # type: ignore[arg-type]


def answers_to(entry: Seen, circuit: Circuit, gauge: str) -> Iterator[str]:
    """The looks that an entry answers.

    Parameters
    ----------
    gauge : str
        The gauge complained of.

    Yields
    ------
    str
        ``check@state``, or ``check@`` for what is asked once whatever the state.
    """
    sheet = circuit.sheet
    meant = f":{entry.gauge or gauge}" if len(sheet.gauges) > 1 else ""
    if entry.between:
        yield from (f"{kind}{meant}@" for kind, states in looks.BETWEEN.items() if states == entry.between)
    elif entry.needle is not None:
        yield f"watch_needle{meant}@{entry.state or sheet.default_state}"
        if entry.needle == "dead":  # with the key off it stands there too
            yield from (f"watch_needle{meant}@key_off", f"turn_key{meant}@")
    if entry.moves:
        yield f"watch_moves{meant}@"
    if entry.consumer:
        yield f"see_consumer:{entry.consumer}@"
    for words, kind in ((obs.HEAT_SIGNS, "feel_heat"), (obs.COOLANT, "look_coolant"), (obs.CRANKS, "crank")):
        if entry.engine in words:
            yield f"{kind}@"


def as_seen(entry: Measured, check: Check) -> Seen:
    """A look at a needle that is written as a check means the same as if somebody had told it.

    Parameters
    ----------
    check : Check
        One of `looks.LOOKS`.

    Raises
    ------
    CaseError
        If it says anything but what a needle did.
    """
    read: Sequence[object] = (entry.volts, entry.ohms, entry.amperes, entry.lamp)
    if check.kind not in ("watch_needle", "watch_moves") or any(value is not None for value in read):
        key = key_of(check)
        raise CaseError(
            f"{check.id} is no measurement", "", f"write it as [[seen]] with {key} = what was seen"
        )
    return Seen(
        entry.where,
        entry.stage,
        state=entry.state,
        given=entry.given,
        gauge=check.gauge,
        needle=entry.needle,
        moves=entry.moves,
    )
