"""The rows of ``gaugesim sweep --json``, printed as they come."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.reading import Response, Situation, situation
from gaugesim.reading.words import lamp_word
from gaugesim.scenario.check import Check
from gaugesim.sweep import PairSweep, Sweep, sweep


def print_rows(circuit: Circuit, rows: Iterable[str]) -> None:
    """Print rows as they come: a sweep can be larger than the memory.

    Parameters
    ----------
    circuit : Circuit
    rows : iterable of str
        Each a JSON object.
    """
    sys.stdout.write(f'{{"circuit": {json.dumps(circuit.id)}, "rows": [')
    mark = "\n"
    for text in rows:
        sys.stdout.write(mark + text)
        mark = ",\n"
    sys.stdout.write("\n]}\n")


def single_rows(
    circuit: Circuit, states: Sequence[str], checks: Sequence[Check], severities: int
) -> Iterator[str]:
    """Every fault at every severity in each state under each check.

    Parameters
    ----------
    circuit : Circuit
    states : sequence of str
    checks : sequence of Check
    severities : int
        Of each fault [1].

    Yields
    ------
    str
        A JSON object.
    """
    for state in states:
        for check in checks:
            swept = sweep(situation(circuit, state, check), count=severities)
            names = [fault.id for fault in swept.faults]
            heads = [
                _head(names[k], severity)
                for k, severity in zip(swept.scenarios.source, _severities(swept), strict=True)
            ]
            yield from _rows_text(heads, swept.place, swept.response)


def pair_rows(swept: PairSweep) -> Iterator[str]:
    """Every pair of faults at every pair of severities.

    Parameters
    ----------
    swept : PairSweep

    Yields
    ------
    str
        A JSON object, with the two severities in a list.
    """
    severities = _severities(swept)
    names = [swept.faults[k].id for k in swept.scenarios.source]
    for rows in swept.blocks():
        heads = [
            _head(f"{names[i]}+{names[j]}", f"[{severities[i]}, {severities[j]}]")
            for i, j in zip(rows.first.tolist(), rows.second.tolist(), strict=True)
        ]
        yield from _rows_text(heads, swept.place, rows.response)


def _head(fault: str, severity: str) -> str:
    # an id needs no escapes
    return f'{{"fault": "{fault}", "severity": {severity}'


def _severities(swept: Sweep | PairSweep) -> list[str]:
    """The severity of each scenario; null where its mode has no degrees."""
    degrees = [bool(fault.mode.severity.quantity) for fault in swept.faults]
    rows = zip(swept.scenarios.source.tolist(), swept.scenarios.severity.tolist(), strict=True)
    return [repr(severity) if degrees[k] else "null" for k, severity in rows]


def _rows_text(heads: Sequence[str], place: Situation, response: Response) -> Iterator[str]:
    """One text a row: its head, then state, check and what is seen."""
    middle = (
        f', "state": {json.dumps(place.state)}, "check": {json.dumps(place.check.id or None)}, "needles": {{'
    )
    names = [json.dumps(name) for name in response.positions]
    columns = [_numbers(values) for values in response.positions.values()]
    readings = _readings(place, response, len(heads))
    for row, head in enumerate(heads):
        needles = ", ".join(f"{name}: {column[row]}" for name, column in zip(names, columns, strict=True))
        yield f'{head}{middle}{needles}}}, "reading": {readings[row]}}}'


def _numbers(values: np.ndarray) -> list[str]:
    return ["null" if text == "nan" else text for text in map(repr, values.tolist())]


def _readings(place: Situation, response: Response, count: int) -> list[str]:
    if response.reading is None:
        return ["null"] * count
    if place.check.reads == "lamp":
        pairs = zip(response.reading.tolist(), response.pulses.tolist(), strict=True)
        return [json.dumps(lamp_word(volts, pulses)) for volts, pulses in pairs]
    return _numbers(response.reading)
