"""What is asked about a vehicle before anybody judges it: needles, lights, checks, looks, a new part.

What is asked never depends on what is wrong, so that the posterior given the answers is all there is to know.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from gaugesim import vocabulary
from gaugesim.case import Case, Entry, Inspected, Measured, Replaced, Seen, Value
from gaugesim.circuit import Circuit
from gaugesim.evidence.bind import asked
from gaugesim.evidence.implications import implied
from gaugesim.evidence.observable import Observable
from gaugesim.evidence.rows import Rows
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.sheet import roles

# placeholders: which observable an entry asks goes by the kind of its answer
_NOWHERE = Path("generated.toml")
_LEVEL, _JUDGED, _DEAD, _NUMBER = "half", "normal", "dead", 0.5
# how a needle is spoken of, and how often so
_NEEDLES: tuple[Value, ...] = (_LEVEL, _JUDGED, _DEAD, _NUMBER)
_NEEDLE_SHARES = (0.45, 0.3, 0.1, 0.15)
# chances that an owner tells how it moves, how it changes from one state to another, how often it is so,
# what the lights do, whether the engine was hot, what has been replaced
MOVES, BETWEEN, OFTEN, LOOKS, ENGINE, REPLACED = 0.5, 0.35, 0.15, 0.4, 0.3, 0.3
# a mechanic reads a number as often as he gives a word
NUMBERS = 0.6


@dataclass(frozen=True)
class Interview:
    """Observables that all vehicles of a block are asked.

    Attributes
    ----------
    case : Case
        With placeholders for the answers.
    gauge : str
        The gauge complained of.
    """

    case: Case
    gauge: str

    def observables(self, rows: Rows) -> tuple[Observable, ...]:
        """The observables, with what every row would answer."""
        answered = [
            observable for entry in self.case.entries for observable, _, _ in asked(entry, rows, self.gauge)
        ]
        return (*answered, *implied(self.case, rows, self.gauge))


def draw_interview(
    circuit: Circuit,
    random: np.random.Generator,
    checks: tuple[int, int] = (2, 5),
    numbers: float = NUMBERS,
) -> Interview:
    """Draw what is asked.

    Parameters
    ----------
    random : numpy.random.Generator
    checks : (int, int)
        Least and most checks that are made [1].
    numbers : float
        Chance that a check is read as a number where it can be [1]; with 1 only such checks are made.
    """
    gauge = str(random.choice(list(circuit.sheet.gauges)))
    entries = [*_told(circuit, gauge, random)]
    possible = list(check_ids(circuit, gauge))
    if numbers == 1.0:
        possible = [
            name for name in possible if find_check(circuit, name, gauge).reads in ("volts", "ohms", "needle")
        ]
    count = min(int(random.integers(checks[0], checks[1] + 1)), len(possible))
    states = _states(circuit)
    for i, name in enumerate(random.choice(possible, count, replace=False).tolist()):
        entries.append(_check(circuit, gauge, name, f"check {i}", states, random, numbers))
    if random.random() < REPLACED:
        parts = [part.id for part in circuit.sheet.parts.values() if part.kind != "process"]
        whole = ["gauge"] + [part for part in parts if part.endswith(roles().sender)]
        entries.append(
            Replaced("new part", 1, part=str(random.choice(whole if random.random() < 0.7 else parts)))
        )
    return Interview(Case(_NOWHERE, (circuit.id,), gauge, tuple(entries)), gauge)


def _states(circuit: Circuit) -> list[str]:
    return [name for name in circuit.sheet.states if name != "key_off"]


def _told(circuit: Circuit, gauge: str, random: np.random.Generator) -> Sequence[Entry]:
    """What an owner tells."""
    sheet = circuit.sheet
    states = _states(circuit)
    entries: list[Entry] = []
    count = min(int(random.integers(2, 4)), len(states))
    for i, state in enumerate(random.choice(states, count, replace=False).tolist()):
        needle = _NEEDLES[int(random.choice(len(_NEEDLES), p=_NEEDLE_SHARES))]
        often = vocabulary.OFTEN.classes[0] if needle != _NUMBER and random.random() < OFTEN else None
        moves = "never" if i == 0 and random.random() < MOVES else None
        entries.append(Seen(f"told {i}", 1, state=state, needle=needle, often=often, moves=moves))
    if len(states) > 1 and random.random() < BETWEEN:
        before, after = random.choice(states, 2, replace=False).tolist()
        entries.append(Seen("told between", 1, between=(before, after), needle="same"))
    if sheet.consumers and random.random() < LOOKS:
        consumer = str(random.choice(list(sheet.consumers)))
        entries.append(Seen("told lights", 1, consumer=consumer, looks="normal"))
    if sheet.quantities[sheet.gauges[gauge].reads].unit == "celsius" and random.random() < ENGINE:
        entries.append(Seen("told engine", 1, engine="signs_of_heat"))
    return entries


def _check(
    circuit: Circuit,
    gauge: str,
    name: str,
    where: str,
    states: Sequence[str],
    random: np.random.Generator,
    numbers: float,
) -> Entry:
    check = find_check(circuit, name, gauge)
    state = str(random.choice(list(states)))
    as_number = bool(random.random() < numbers)
    if check.kind.inspects:
        return Inspected(where, 1, part=check.part, found="sound")
    if check.kind.by_hand:
        return Measured(where, 1, check=name, state=state, moves="never")
    if check.reads == "needle":
        needle = _NUMBER if as_number else _NEEDLES[int(random.integers(2))]
        return Measured(where, 1, check=name, state=state, needle=needle)
    topic = vocabulary.TOPICS[check.reads]
    read: Any = {topic.key: 1.0 if as_number and topic.number else topic.classes[0]}
    return Measured(where, 1, check=name, state=state, **read)
