"""Looks as entries: what somebody who looks, listens or feels can tell stands in ``[[seen]]``.

A look has no likelihoods of its own. What it shows is the entry that anybody may tell, asked in the same way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from gaugesim.case import Measured, Seen
from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.scenario.check import Check
from gaugesim.scenario.kinds import LOOKS, Look
from gaugesim.scenario.kinds.looks import TURN_KEY, WATCH_NEEDLE
from gaugesim.vocabulary import TOPICS

Field = str | int | float | tuple[str, ...] | tuple[float, float]


def look_of(check: Check) -> Look:
    """The kind of a look."""
    return cast(Look, check.kind)


def seen_fields(circuit: Circuit, check: Check, state: str) -> dict[str, Field]:
    """What an entry of ``[[seen]]`` holds beside the answer to a look."""
    kind = look_of(check)
    if kind.key == "engine":
        return {}
    if kind.key == "looks":
        return {"consumer": check.part, "state": state}
    when: dict[str, Field] = {"between": kind.between} if kind.between else {"state": state}
    return when | ({"gauge": check.gauge} if len(circuit.sheet.gauges) > 1 else {})


def any_answer(circuit: Circuit, check: Check, state: str) -> Seen:
    """An entry that answers a look somehow: it asks what the look asks."""
    answer = {look_of(check).key: TOPICS[check.reads].classes[0]}
    return Seen(check.id, 1, **seen_fields(circuit, check, state), **answer)  # type: ignore[arg-type]


def answers_to(entry: Seen, circuit: Circuit, gauge: str) -> Iterator[str]:
    """The looks that an entry answers.

    Yields
    ------
    str
        ``check@state``, or ``check@`` for what is asked once whatever the state.
    """
    for kind in LOOKS.values():
        answer = getattr(entry, kind.key)
        if answer is None or (kind.key == "needle" and kind.between != entry.between):
            continue
        if kind.key == "looks":
            yield f"{kind.id}:{entry.consumer}@"
        elif kind.key != "engine" or answer in TOPICS[kind.reads].classes:
            state = (entry.state or circuit.sheet.default_state) if kind.reads == "needle" else ""
            yield f"{kind.of(circuit, entry.gauge or gauge)}@{state}"
    if entry.needle == "dead":  # with the key off it stands there too
        for kind, state in ((WATCH_NEEDLE, "key_off"), (TURN_KEY, "")):
            yield f"{kind.of(circuit, entry.gauge or gauge)}@{state}"


def as_seen(entry: Measured, check: Check) -> Seen:
    """A look at a needle that is written as a check means the same as if somebody had told it.

    Raises
    ------
    CaseError
        If it says anything but what a needle did.
    """
    read: Sequence[object] = (entry.volts, entry.ohms, entry.amperes, entry.lamp)
    kind = look_of(check)
    if kind.key not in ("needle", "moves") or kind.between or any(value is not None for value in read):
        problem = f"{check.id} is no measurement"
        raise CaseError(problem, "", f"write it as [[seen]] with {kind.key} = what was seen")
    return Seen(
        entry.where,
        entry.stage,
        state=entry.state,
        given=entry.given,
        gauge=check.gauge,
        needle=entry.needle,
        moves=entry.moves,
    )
