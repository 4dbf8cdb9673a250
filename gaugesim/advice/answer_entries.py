"""What a check has shown, as an entry of a case file."""

from __future__ import annotations

from typing import Any

from gaugesim.circuit import Circuit
from gaugesim.evidence.look_entries import look_of, seen_fields
from gaugesim.reading import Situation, see
from gaugesim.scenario.check import Check
from gaugesim.vocabulary import TOPICS
from gaugesim.vocabulary.topic import Answer


def entry_of(circuit: Circuit, check: Check, state: str, answer: Answer) -> tuple[str, dict[str, Any]]:
    """The entry that an answer to a check makes.

    Parameters
    ----------
    answer : str, float or (float, float)
        The word of an outcome, a number or a range.

    Returns
    -------
    table : str
        ``seen``, ``measured`` or ``inspected``.
    fields : dict
    """
    if isinstance(answer, tuple):
        answer = [*answer]
    if check.kind.is_look:
        seen = seen_fields(circuit, check, state) | {look_of(check).key: answer}
        return "seen", {key: [*value] if isinstance(value, tuple) else value for key, value in seen.items()}
    if check.kind.inspects:
        return "inspected", {"part": check.part, "found": answer, "how": "looked"}
    fields: dict[str, Any] = {"check": check.id, "state": state}
    if check.reads == "needle" and len(circuit.sheet.gauges) > 1 and check.gauge:
        fields["gauge"] = check.gauge
    key, written = TOPICS[check.reads].in_a_case(answer)
    if written == "":
        # a case file has no word for it, so what a sound circuit reads stands there
        sound = see(Situation.of(circuit, state, check)).reading
        written = float(sound.value) if sound else 0.0
    return "measured", fields | {key: written}
