"""The signature table: what a few simple checks show under each fault, in words, like faults together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.response import burns
from gaugesim.reading.words import NEEDLE_WORDS, lamp_word, marked, needle_word, quantity_range
from gaugesim.scenario.check import Check
from gaugesim.scenario.fault import Fault, all_faults
from gaugesim.sheet import Gauge
from gaugesim.sweeps.singles import SEVERITIES, FaultSweep, sweep
from gaugesim.vocabulary import TOPICS

# what stands where a fault makes a check's lead, its resistor or a sender carry more than it bears
BURNS = "burns"


@dataclass(frozen=True)
class Signature:
    """What faults show that cannot be told apart by these checks.

    Attributes
    ----------
    faults : tuple of Fault
        The likeliest first; empty for the sound circuit.
    """

    cells: tuple[str, ...]
    faults: tuple[Fault, ...]


def signatures(
    circuit: Circuit, gauge: Gauge, state: str | None, checks: Sequence[Check], count: int = SEVERITIES
) -> tuple[Signature, ...]:
    """The signature table of one gauge. The sound circuit's first, then by prior weight."""
    faults = [fault for fault in all_faults(circuit) if fault.part.gauge in ("", gauge.id)]
    situations = [Situation.of(circuit, state, check) for check in checks]
    swept = [sweep(situation, faults, count) for situation in situations]
    burnt = [burns(each.situation, each.scenarios) for each in swept]
    sound = tuple(
        _cell(gauge, situation, respond(situation), np.zeros(1, dtype=np.intp)) for situation in situations
    )
    groups: dict[tuple[str, ...], list[Fault]] = {sound: []}
    for k, fault in enumerate(faults):
        cells = tuple(
            _beside(_cell(gauge, each.situation, each.response, _rows(each, k)), over[_rows(each, k)])
            for each, over in zip(swept, burnt, strict=True)
        )
        groups.setdefault(cells, []).append(fault)
    entries = [
        Signature(cells, tuple(sorted(alike, key=lambda fault: -fault.weight)))
        for cells, alike in groups.items()
        if alike
    ]
    entries.sort(key=lambda entry: (entry.cells != sound, -sum(fault.weight for fault in entry.faults)))
    return (Signature(sound, ()), *entries)


def _rows(swept: FaultSweep, fault: int) -> np.ndarray:
    return np.flatnonzero(swept.scenarios.source == fault)


def _beside(shown: str, over: np.ndarray) -> str:
    """What a check shows, unless it would burn something first."""
    return BURNS if over.all() else f"{shown} or {BURNS}" if over.any() else shown


def _cell(gauge: Gauge, situation: Situation, response: Response, rows: np.ndarray) -> str:
    """What a check shows over the severities of one fault."""
    if response.reading is not None:
        return _reading_words(situation.check.reads, response.reading[rows], response.pulses[rows])
    return needle_words(gauge, response.positions[gauge.id][rows])


def needle_words(gauge: Gauge, positions: Floats) -> str:
    """Words for a range of needle positions. Such as ``"half"`` or ``"low to three quarters"``.

    Parameters
    ----------
    positions : ndarray, shape (n,)
        NaN where nothing drives the needle [position].
    """
    words = {needle_word(gauge, float(position)) for position in positions}
    ordered = [marked(word) for word in NEEDLE_WORDS if word in words]
    texts = [f"{ordered[0]} to {ordered[-1]}" if len(ordered) > 1 else ordered[0]] if ordered else []
    texts += ["undriven"] if np.any(np.isnan(positions)) else []
    return " or ".join(texts)


def _reading_words(kind: str, values: Floats, pulses: np.ndarray) -> str:
    if kind == "lamp":
        return " or ".join(
            sorted({lamp_word(float(v), bool(p)) for v, p in zip(values, pulses, strict=True)})
        )
    if kind != "volts":
        # to two digits: finer than that nobody tells two faults apart
        low, high = (float(f"{value:.2g}") for value in (values.min(), values.max()))
        return quantity_range(low, high, TOPICS[kind].unit)
    low, high = (round(float(value)) + 0 for value in (values.min(), values.max()))
    text = f"{low} V" if low == high else f"{low} to {high} V"
    return f"{text} pulsing" if np.any(pulses) else text
