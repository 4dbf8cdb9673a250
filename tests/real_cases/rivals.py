"""Other ways of answering the same complaints: shares alone, a symptom chart."""

from __future__ import annotations

from collections import Counter, defaultdict
from functools import cache

from real_cases.scoring import Answer, case_path, endings, fits

from gaugesim.case import Case, Seen, read
from gaugesim.diagnosis import candidates, complained_of, fault_name
from gaugesim.scenario.fault import all_faults

# what a case of the chart counts against the shares, and what its patterns share of it
WORTH = 3.0


def shares(name: str) -> Answer:
    """Parts by their shares on the candidate circuits, whatever was seen."""
    case = read(case_path(name))
    totals: dict[str, float] = defaultdict(float)
    circuits = candidates(case)
    for circuit in circuits:
        gauge = complained_of(case, circuit)
        faults = all_faults(circuit)
        whole = sum(fault.weight for fault in faults)
        for fault in faults:
            totals[fault_name(circuit, fault, gauge)] += fault.weight / whole / len(circuits)
    order = sorted(totals, key=lambda fault: -totals[fault])
    gauge = complained_of(case, circuits[0])
    return Answer(gauge, tuple(order), tuple(totals[fault] for fault in order))


@cache
def symptom(name: str) -> str:
    """The kind of symptom that a case complains of, in one word as a chart has it."""
    return _symptom(read(case_path(name)))


def _symptom(case: Case) -> str:
    seen = [entry for entry in case.entries if isinstance(entry, Seen)]
    if any(entry.moves == "jumps" for entry in seen):
        return "jumps"
    if any(entry.between or entry.state in ("loads_on", "lights_on") for entry in seen):
        return "with loads"
    values = [entry.needle for entry in seen if entry.needle is not None]
    if any(value in ("pegged_high", "high") for value in values):
        return "high"
    if any(value in ("pegged_low", "low", "dead") for value in values) or any(
        entry.moves == "never" for entry in seen
    ):
        return "low or dead"
    return "wrong"


def chart(name: str) -> Answer:
    """What the other cases with the same kind of symptom were, on top of the shares; this one left out."""
    base = shares(name)
    counts: Counter[str] = Counter()
    others = [end for end in endings().values() if end.id != name and symptom(end.id) == symptom(name)]
    for ending in others:
        known = [fault for fault in base.faults if fits(fault, ending.accept)]
        for fault in known:
            counts[fault] += 1 / len(known)
    found = sum(counts.values())
    mixed = {
        fault: (WORTH * share + counts[fault]) / (WORTH + found)
        for fault, share in zip(base.faults, base.probabilities, strict=True)
    }
    order = sorted(mixed, key=lambda fault: -mixed[fault])
    return Answer(base.gauge, tuple(order), tuple(mixed[fault] for fault in order))
