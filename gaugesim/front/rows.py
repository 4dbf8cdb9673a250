"""The rows of a sweep as JSON text, one by one: a sweep can be larger than the memory."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from gaugesim.circuit import Circuit
from gaugesim.reading import Response, Situation, situation
from gaugesim.reading.response import burns
from gaugesim.reading.words import lamp_word
from gaugesim.scenario.check import Check
from gaugesim.sweeps import PairSweep, Sweep, sweep


def single_rows(
    circuit: Circuit, states: Sequence[str], checks: Sequence[Check], severities: int
) -> Iterator[str]:
    """Every fault at every severity in each state under each check.

    Parameters
    ----------
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
            over = burns(swept.place, swept.scenarios)
            yield from rows_text(heads(swept), swept.place, swept.response, over)


def pair_rows(swept: PairSweep) -> Iterator[str]:
    """Every pair of faults at every pair of severities.

    Yields
    ------
    str
        A JSON object, with the two severities in a list.
    """
    severities = _severities(swept)
    names = [swept.faults[k].id for k in swept.scenarios.source]
    for rows in swept.blocks():
        pairs = [
            head(f"{names[i]}+{names[j]}", f"[{severities[i]}, {severities[j]}]")
            for i, j in zip(rows.first.tolist(), rows.second.tolist(), strict=True)
        ]
        yield from rows_text(pairs, swept.place, rows.response)


def heads(swept: Sweep) -> list[str]:
    """How each row of a sweep begins."""
    names = [fault.id for fault in swept.faults]
    severities = zip(swept.scenarios.source.tolist(), _severities(swept), strict=True)
    return [head(names[k], severity) for k, severity in severities]


def head(fault: str, severity: str) -> str:
    """How a row begins.

    Parameters
    ----------
    fault : str
        Its id.
    severity : str
        As JSON has it.
    """
    # an id needs no escapes
    return f'{{"fault": "{fault}", "severity": {severity}'


def _severities(swept: Sweep | PairSweep) -> list[str]:
    """The severity of each scenario; null where its mode has no degrees."""
    degrees = [bool(fault.mode.severity.quantity) for fault in swept.faults]
    rows = zip(swept.scenarios.source.tolist(), swept.scenarios.severity.tolist(), strict=True)
    return [repr(severity) if degrees[k] else "null" for k, severity in rows]


def rows_text(
    heads: Sequence[str], place: Situation, response: Response, over: NDArray[np.bool_] | None = None
) -> Iterator[str]:
    """One text a row: its head, then state, check and what is seen.

    Parameters
    ----------
    response : Response
        Of as many rows.
    over : ndarray of bool, shape (rows,), optional
        Whether the check would burn something first; only such rows say so.

    Yields
    ------
    str
        A JSON object.
    """
    middle = (
        f', "state": {json.dumps(place.state)}, "check": {json.dumps(place.check.id or None)}, "needles": {{'
    )
    names = [json.dumps(name) for name in response.positions]
    columns = [_numbers(values) for values in response.positions.values()]
    readings = _readings(place, response, len(heads))
    for row, head in enumerate(heads):
        needles = ", ".join(f"{name}: {column[row]}" for name, column in zip(names, columns, strict=True))
        end = ', "burns": true' if over is not None and over[row] else ""
        yield f'{head}{middle}{needles}}}, "reading": {readings[row]}{end}}}'


def _numbers(values: np.ndarray) -> list[str]:
    return ["null" if text == "nan" else text for text in map(repr, values.tolist())]


def _readings(place: Situation, response: Response, count: int) -> list[str]:
    if response.reading is None:
        return ["null"] * count
    if place.check.reads == "lamp":
        pairs = zip(response.reading.tolist(), response.pulses.tolist(), strict=True)
        return [json.dumps(lamp_word(volts, pulses)) for volts, pulses in pairs]
    return _numbers(response.reading)
