"""What a person would report of a check on a vehicle with a known fault, from that fault's own solution."""

import math
from typing import Any

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.reading import Situation, see
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import change, find_fault, merge
from gaugesim.scenario.scenarios import stack


def report(circuit: Circuit, faults: str, check: str, state: str, gauge: str | None = None) -> dict[str, Any]:
    """The ``[[measured]]`` entry of a check: no tolerance, no slip, typical severity."""
    situation = Situation.of(circuit, state, find_check(circuit, check, gauge))
    changes = []
    for name in faults.split("+"):
        fault = find_fault(circuit, name, gauge)
        severity = np.array([fault.mode.severity.typical])
        changes.append(change(circuit, fault, severity, situation.parameters))
    seen = see(situation, stack([merge(changes)]))
    entry: dict[str, Any] = {"check": check, "state": state}
    reads = situation.check.reads
    if reads == "needle":
        # a needle that nothing drives lies where it was put before: at its low end, say
        word = seen.needles[situation.check.gauge].word
        return entry | {"needle": "low" if word == "undriven" else word}
    assert seen.reading is not None
    if reads == "lamp":
        return entry | {"lamp": seen.reading.value}
    value = math.inf if seen.reading.open else round(float(seen.reading.value), 2)
    return entry | {reads: value}
