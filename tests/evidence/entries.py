"""One entry of every kind that a case may hold, as far as a circuit has what it speaks of."""

from typing import Any

from gaugesim.circuit import Circuit
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids

Entries = dict[str, list[dict[str, Any]]]
# an answer for each way in which a check is read
ANSWERS: dict[str, tuple[dict[str, Any], ...]] = {
    "volts": ({"volts": "battery"}, {"volts": 9.0}),
    "ohms": ({"ohms": "high"}, {"ohms": 70.0}),
    "lamp": ({"lamp": "dim"},),
    "needle": ({"needle": "half"}, {"needle": 0.4}),
    "jump": ({"moves": "jumps"},),
    "look": (),
}


def every_kind(circuit: Circuit, gauge: str) -> Entries:
    """A case that says everything once; it need not make sense."""
    states = [name for name in ("key_on_cold", "running_warm") if name in circuit.sheet.states]
    seen: list[dict[str, Any]] = [
        {"state": states[0], "needle": word}
        for word in ("pegged_low", "half", "normal", "reads_high", "dead", 0.3, [0.2, 0.6])
    ]
    seen += [{"state": states[0], "moves": word} for word in ("never", "jumps", "follows")]
    seen.append({"state": states[0], "needle": "half", "often": "sometimes"})
    seen.append({"between": [states[0], states[-1]], "needle": "rises"})
    seen.append({"between": [states[0], states[-1]], "needle": "falls", "by": 0.2})
    seen += [{"consumer": name, "looks": "dim"} for name in circuit.sheet.consumers]
    seen.append({"engine": "no_signs_of_heat"})
    measured = []
    left = dict(ANSWERS)
    for name in check_ids(circuit, gauge):
        for answer in left.pop(find_check(circuit, name, gauge).reads, ()):
            measured.append({"check": name, "state": states[0], **answer})
    parts = [part.id for part in circuit.sheet.parts.values() if part.kind == "pin"] or [
        next(iter(circuit.sheet.parts))
    ]
    inspected = [{"part": parts[0], "found": "corroded"}]
    replaced = [{"part": part, "result": "no_change"} for part in (parts[0], "gauge", "panel")]
    return {"seen": seen, "measured": measured, "inspected": inspected, "replaced": replaced}
