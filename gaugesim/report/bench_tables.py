"""What the page of a bench knows of its circuit: wiring, states, gauges, and what each fault changes."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.movement import MOVEMENTS
from gaugesim.physics.meter import VOLTMETER_OHMS
from gaugesim.physics.regulator import ROUNDING_VOLTS
from gaugesim.reading.instruments import PULSE_VOLTS
from gaugesim.reading.names import branch_words, node_words
from gaugesim.reading.words import NEEDLE_WORDS, joined_names, word_limits
from gaugesim.report.javascript import Functions
from gaugesim.scenario.caution import in_order
from gaugesim.scenario.check import Check
from gaugesim.scenario.fault import Fault, all_faults, change
from gaugesim.sheet import Gauge
from gaugesim.solve.network import GROUND, OPEN_OHMS
from gaugesim.sweeps.burnt_checks import burnt
from gaugesim.vocabulary import UNDRIVEN, spoken


def bench_data(circuit: Circuit) -> dict[str, Any]:
    """Everything but the expressions, as plain data.

    Branches and nodes are numbered as in the netlist, ground last.
    """
    sheet, wiring = circuit.sheet, circuit.wiring
    regulator = sheet.regulator
    burns = burnt(circuit)
    return {
        "id": circuit.id,
        "nodes": [*wiring.nodes, GROUND],
        "names": [node_words(circuit, node) for node in (*wiring.nodes, GROUND)],
        "ends": wiring.ends.tolist(),
        "kinds": [element.kind for element in circuit.netlist.elements],
        "branches": [branch_words(circuit, name) for name in wiring.names],
        "states": [
            {
                "id": state.id,
                "words": state.words,
                "set": dict(state.set),
                "cautions": [each.words for each in in_order(circuit, state.cautions, state.engine)],
            }
            for state in sheet.states.values()
        ],
        "state": sheet.default_state,
        "process": [
            {"id": each.id, "words": each.words, "unit": each.unit, "low": each.low, "high": each.high}
            for each in sheet.quantities.values()
            if each.process
        ],
        "gauges": [_gauge(circuit, gauge) for gauge in sheet.gauges.values()],
        "regulator": regulator
        and {
            "contact": wiring.branch(regulator.contact),
            "heater": wiring.branch(regulator.heater),
            "design": regulator.design_volts,
            "mean": regulator.convention == "mean",
            "dropout": regulator.dropout_volts,
        },
        "faults": [
            {**_fault(circuit, fault), "burns": _by_kind(burns.get(fault.id, ()))}
            for fault in all_faults(circuit)
        ],
        "meter": VOLTMETER_OHMS,
        "pulse": PULSE_VOLTS,
        "rounding": ROUNDING_VOLTS,
        "open": OPEN_OHMS,
        "spoken": {word: spoken(word) for word in (*NEEDLE_WORDS, UNDRIVEN)},
        "words": list(NEEDLE_WORDS),
    }


def fault_functions(circuit: Circuit, functions: Functions) -> str:
    """What those faults set that change parameters.

    A script: ``SETTINGS``, from a fault to functions by parameter.
    """
    lines = ["const SETTINGS = {"]
    for fault in all_faults(circuit):
        if fault.mode.set:
            each = [
                f"{json.dumps(name)}: {functions.setting(value)}" for name, value in fault.mode.set.items()
            ]
            lines.append(f"  {json.dumps(fault.id)}: {{{', '.join(each)}}},")
    return "\n".join([*lines, "};"])


def _gauge(circuit: Circuit, gauge: Gauge) -> dict[str, Any]:
    wiring, kind = circuit.wiring, MOVEMENTS[gauge.movement]
    element = wiring.branch(gauge.element) if gauge.element else None
    coils = [[wiring.branch(coil.element), coil.turns, coil.degrees] for coil in gauge.coils]
    return {
        "id": gauge.id,
        "words": gauge.words,
        "heats": kind.heats,
        "power": kind.power,
        "reads": gauge.reads,
        "coils": coils,
        "element": element,
        "low": gauge.degrees_low if coils else gauge.low,
        "high": gauge.degrees_high if coils else gauge.high,
        "rest": list(gauge.rest),
        "friction": gauge.friction,
        "stops": list(gauge.stops),
        "marks": [[mark.at, mark.position, mark.label] for mark in gauge.marks],
        "limits": word_limits(gauge).tolist(),
    }


def _fault(circuit: Circuit, fault: Fault) -> dict[str, Any]:
    severity = fault.mode.severity
    degrees = None
    if severity.quantity:
        degrees = [severity.quantity, severity.low, severity.high, severity.logarithmic]
    element = fault.part.element
    return {
        "id": fault.id,
        "part": fault.part.id,
        "gauge": fault.part.gauge,
        "of": fault.part.words,
        "words": fault.mode.words,
        "typical": severity.typical,
        "degrees": degrees,
        "element": circuit.wiring.branch(element) if element else None,
        "does": {} if fault.mode.set else _does(circuit, fault),
    }


def _by_kind(checks: Iterable[Check]) -> list[str]:
    """Checks in words, those of a kind together."""
    kinds: dict[str, list[str]] = {}
    for check in checks:
        kinds.setdefault(check.kind.id, []).append(check.short.removeprefix("with "))
    return [joined_names(names) for names in kinds.values()]


def _does(circuit: Circuit, fault: Fault) -> dict[str, Any]:
    """What a fault does to branches, paths and movements: found by what it does at two severities."""
    wiring, parameters = circuit.wiring, circuit.parameters()
    severity = fault.mode.severity
    x = np.array([severity.low, severity.high] if severity.quantity else [severity.typical, severity.typical])
    made = change(circuit, fault, x, parameters)
    before = circuit.values(parameters)
    does: dict[str, Any] = {
        "stuck": list(made.stuck),
        "weak": list(made.strength),
        "turns": [wiring.branch(name) for name in made.turns],
        "branches": [
            [wiring.branch(name), *_law(x, ohms, before[name])] for name, ohms in made.branches.items()
        ],
        "paths": [
            [*(wiring.node(node) for node in nodes), *_law(x, ohms, 0.0)]
            for nodes, ohms in made.paths.items()
        ],
    }
    return {name: value for name, value in does.items() if value}


def _law(x: Any, ohms: Any, before: float) -> tuple[str, float]:
    """How a resistance follows from the severity, and a number that goes with it."""
    if np.all(np.isinf(ohms)):
        return "open", 0.0
    laws: Mapping[str, Any] = {"is": x, "times": before * x, "plus": before + x}
    for name, expected in laws.items():
        if np.allclose(ohms, expected, rtol=1e-12, atol=0.0):
            return name, 0.0
    return "fixed", float(ohms[0])
