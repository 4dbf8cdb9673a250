"""The rows of a sweep as plain data, one by one: a sweep can be larger than the memory."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import repeat
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.notebook import encoded
from gaugesim.reading import Response, Situation
from gaugesim.reading.response import burns
from gaugesim.reading.words import lamp_word
from gaugesim.scenario.check import Check
from gaugesim.sweeps import FaultSweep, PairSweep, sweep

Row = dict[str, Any]


def single_rows(
    circuit: Circuit, states: Sequence[str], checks: Sequence[Check], severities: int
) -> Iterator[Row]:
    """Every fault at every severity in each state under each check.

    Parameters
    ----------
    severities : int
        Of each fault [1].
    """
    for state in states:
        for check in checks:
            swept = sweep(Situation.of(circuit, state, check), count=severities)
            over = burns(swept.situation, swept.scenarios)
            yield from rows(names(swept), degrees(swept), swept.situation, swept.response, over)


def pair_rows(swept: PairSweep) -> Iterator[Row]:
    """Every pair of faults at every pair of severities; the two severities are in a list."""
    severity, name = encoded(degrees(swept)), names(swept)
    for block in swept.blocks():
        both = [*zip(block.first.tolist(), block.second.tolist(), strict=True)]
        pairs = [f"{name[i]}+{name[j]}" for i, j in both]
        yield from rows(pairs, [[severity[i], severity[j]] for i, j in both], swept.situation, block.response)


def names(swept: FaultSweep | PairSweep) -> list[str]:
    """The fault of each scenario by its id."""
    return [swept.faults[k].id for k in swept.scenarios.source]


def degrees(swept: FaultSweep | PairSweep) -> Floats:
    """The severity of each scenario in its mode's own unit; NaN where that has no degrees."""
    has = np.array([bool(fault.mode.severity.quantity) for fault in swept.faults])
    return np.where(has[swept.scenarios.source], swept.scenarios.severity, np.nan)


def rows(
    faults: Iterable[str],
    severities: Iterable[Any],
    situation: Situation,
    response: Response,
    over: NDArray[np.bool_] | None = None,
) -> Iterator[Row]:
    """One for each scenario: its fault, state and check, and what is seen.

    Parameters
    ----------
    over : ndarray of bool, shape (rows,), optional
        Whether the check would burn something first; only such rows say so.
    """
    gauges, check = [*response.positions], situation.check.id or None
    columns = [encoded(values) for values in response.positions.values()]
    shown = repeat(None) if response.reading is None else encoded(readings(situation, [response]))
    burning = repeat(False) if over is None else over.tolist()
    for fault, severity, *needles, reading, burnt in zip(
        faults, encoded(severities), *columns, shown, burning, strict=False
    ):
        row = {
            "fault": fault,
            "severity": severity,
            "state": situation.state,
            "check": check,
            "needles": dict(zip(gauges, needles, strict=True)),
            "reading": reading,
        }
        yield row | {"burns": True} if burnt else row


def readings(situation: Situation, responses: Sequence[Response]) -> Any:
    """What the check's instrument shows in each row.

    Returns
    -------
    ndarray or list of str
        Volts or ohms; words for a lamp.
    """
    values = np.concatenate([response.reading for response in responses if response.reading is not None])
    if situation.check.reads != "lamp":
        return values
    pulses = np.concatenate([response.pulses for response in responses])
    return [lamp_word(float(volts), bool(pulse)) for volts, pulse in zip(values, pulses, strict=True)]
