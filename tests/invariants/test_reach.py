"""Nothing in a sheet or netlist is there for nothing: each value moves something that somebody sees.

What legitimately moves no needle and no reading stands in a list with its reason; anything else that moves
nothing is a mistake in the sheet or in the program.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pytest
from invariants.everything import Rows, electrical_checks

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit, available, find
from gaugesim.reading import Situation, respond, spread
from gaugesim.reading.situations import without_process
from gaugesim.scenario.check import NO_CHECK, Check, find_check
from gaugesim.scenario.fault import Fault, all_faults, change
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.sheet import Gauge

# less than this is rounding: of a position, of a volt, of an ohm
NOTICED = 1e-7
# what a parameter is set to where a little more of it would change nothing
OTHERWISE = {"float_spot": 0.5, "lights_switch": 0.02, "loads": 1.0, "charging": 1e9}
# states and kinds of checks in which most things show, tried first
FIRST = ("running_warm", "loads_on", "key_on_cold", "tank_empty", "tank_full", "key_off")


def shown(circuit: Circuit, state: str, check: str, given: dict[str, float] | None = None) -> Floats:
    """All that is seen of the sound circuit."""
    made = find_check(circuit, check) if check else NO_CHECK
    response = respond(Situation.of(circuit, state, made, given))
    values = [response.positions[gauge] for gauge in circuit.sheet.gauges]
    if response.reading is not None:
        values.append(response.reading)
    return np.nan_to_num(np.concatenate(values), nan=-9.0)


def states(circuit: Circuit) -> list[str]:
    return sorted(circuit.sheet.states, key=lambda name: FIRST.index(name) if name in FIRST else len(FIRST))


def conditions(circuit: Circuit) -> Iterable[tuple[str, dict[str, float]]]:
    """The needles' marks, since a track's quarter shows at a quarter full; then the states as they are."""
    for gauge in circuit.sheet.gauges.values():
        for mark in gauge.marks:
            yield circuit.sheet.default_state, {gauge.reads: mark.at}
    for state in states(circuit):
        yield state, {}


def looks(circuit: Circuit) -> Iterable[tuple[str, dict[str, float], Check]]:
    """The needles in all conditions, where most things show; then every check in the states as they are."""
    needles, *checks = electrical_checks(circuit)
    for state, given in conditions(circuit):
        yield state, given, needles
    for state in states(circuit):
        for check in checks:
            yield state, {}, check


def unmoved(circuit: Circuit, changes: dict[str, dict[str, float]]) -> set[str]:
    """Which of some changes of parameters move nothing, at the marks and in any check and state."""
    left = dict(changes)
    for state, given, check in looks(circuit):
        before = shown(circuit, state, check.id, given)
        for name in list(left):
            after = shown(circuit, state, check.id, {**given, **left[name]})
            if np.max(np.abs(after - before) / np.maximum(np.abs(before), 1)) > NOTICED:
                del left[name]
        if not left:
            return set()
    return {*left}


@pytest.mark.parametrize("name", available())
def test_every_parameter_moves_something(name: str) -> None:
    circuit = find(name)
    sound = circuit.parameter_values(circuit.parameters())
    changes = {
        parameter: {parameter: OTHERWISE.get(parameter, 1.1 * float(sound[parameter]) + 1e-3)}
        for parameter in circuit.netlist.parameters
    }
    assert unmoved(circuit, changes) == set()


@pytest.mark.parametrize("name", available())
def test_every_tolerance_moves_something(name: str) -> None:
    circuit = find(name)
    wide = {part.parameter for part in circuit.sheet.parts.values() if part.parameter and part.tolerance > 0}
    wide |= {
        quantity.id
        for quantity in circuit.sheet.quantities.values()
        if quantity.tolerance > 0 or quantity.plus_minus > 0
    }
    wide |= {f"accuracy@{gauge}" for gauge in circuit.sheet.gauges}
    for state, given, check in looks(circuit):
        found = spread(Situation.of(circuit, state, check, given))
        tables = [*found.positions.values(), *([] if found.reading is None else [found.reading])]
        moves = np.max([np.abs(table).max(axis=1) for table in tables], axis=0)
        wide -= {
            # a process value's name carries the state's value
            name if name.startswith("accuracy@") else name.partition("@")[0]
            for name, move in zip(found.names, moves, strict=True)
            if move > 1e-12
        }
        if not wide:
            return
    assert wide == set()


@pytest.mark.parametrize("name", available())
def test_a_states_own_uncertainty_is_the_one_that_counts(name: str) -> None:
    circuit = find(name)
    told = {
        (state.id, quantity): share
        for state in circuit.sheet.states.values()
        for quantity, share in state.plus_minus.items()
    }
    assert told
    for (state, quantity), share in told.items():
        usual = circuit.sheet.quantities[quantity].plus_minus
        assert share != usual, (state, quantity, "says what is so without it")
        table = spread(Situation.of(circuit, state))
        nominal = circuit.parameter_values(circuit.parameters(state))[quantity]
        assert (f"{quantity}@{nominal:g}" in table.names) == (share > 0), (state, quantity)


@pytest.mark.parametrize("name", available())
def test_every_degree_of_every_fault_moves_something(name: str) -> None:
    """Both ends of each range of severities, and its typical one, differ somewhere."""
    circuit = find(name)
    left = {fault.id: fault for fault in all_faults(circuit) if fault.mode.severity.quantity}
    assert left
    for fault in left.values():
        severity = fault.mode.severity
        assert severity.low < severity.high, fault.id
        assert severity.typical == 0 or severity.low <= severity.typical <= severity.high, fault.id
    for state, given, check in looks(circuit):
        situation = Situation.of(circuit, state, check, given)
        changes = [
            change(circuit, fault, np.array(degrees(circuit, fault)), situation.parameters)
            for fault in left.values()
        ]
        response = respond(situation, without_process(stack(changes), situation.fixed))
        tables = [*response.positions.values()]
        tables += [] if response.reading is None else [response.reading]
        values = np.nan_to_num(np.array(tables), nan=-9.0).reshape(len(tables), len(left), 3)
        for k, fault in enumerate([*left.values()]):
            steps = np.abs(np.diff(values[:, k], axis=-1)).max(axis=0)
            if np.all(steps[np.diff(degrees(circuit, fault)) != 0] > 1e-6):
                del left[fault.id]
        if not left:
            return
    assert [*left] == []


def degrees(circuit: Circuit, fault: Fault) -> tuple[float, float, float]:
    """Severities that must not look the same: both ends of the range, and the typical one."""
    severity = fault.mode.severity
    if fault.mode.id == "weak" and circuit.gauge(fault.part.gauge).movement != "bimetal":
        # a weak magnet turns into the same direction, until friction holds it; a weak voltmeter, whose scale
        # begins at 10 V, lies on its low stop
        return severity.low, severity.high, severity.high
    return severity.low, severity.typical, severity.high


# ---- movements, scales, the regulator ----

# what a gauge has that no needle and no reading shows, and why
SHOWS_NOTHING = {
    "id": "its name",
    "words": "what it is called",
    "called": "what it is called before 'needle' and 'sender'",
    "topology": "what its movement is called; the netlist is what computes",
    "instance": "which elements come off the panel with it: checked against the netlist, used by head_ohms",
    "reads": "which process value it shows: a check's own target, and the scale's marks",
    "marks": "where the dial is printed; tests compare it with where the circuit sends the needle",
    "lag_seconds": "how fast, not where to; the transient shows it",
    "winding_seconds": "as lag_seconds",
    "accuracy": "a tolerance, see the test of tolerances",
    "source": "where the values come from",
    "movement": "which of the other attributes count",
    "element": "which current it answers to",
    "coils": "each coil's turns and angle are tried one by one",
}


def _everything(circuit: Circuit, gauge: Gauge, rows: Rows) -> Floats:
    """What the needle does under every fault in a few situations that reach its ends."""
    found = []
    named = f":{gauge.id}" if len(circuit.sheet.gauges) > 1 else ""
    checks = [""] if gauge.id == "voltmeter" else ["", f"unplug_sender{named}", f"bench_gauge{named}:33"]
    for state in states(circuit)[:4]:
        for check in checks:
            if check.startswith("bench_gauge") and "33" not in circuit.sheet.checks["bench_gauge"].targets:
                check = check.removesuffix("33") + circuit.sheet.checks["bench_gauge"].targets[0]
            made = find_check(circuit, check) if check else NO_CHECK
            situation = Situation.of(circuit, state, made)
            found.append(respond(situation, _all(rows, situation.parameters)).positions[gauge.id])
    return np.nan_to_num(np.concatenate(found), nan=-9.0)


def _all(rows: Rows, parameters: object) -> Scenarios:
    return rows.all(parameters)  # type: ignore[arg-type]


def with_gauge(circuit: Circuit, gauge: Gauge) -> Circuit:
    sheet = replace(circuit.sheet, gauges={**circuit.sheet.gauges, gauge.id: gauge})
    return replace(circuit, sheet=sheet)


def variants(gauge: Gauge) -> Iterable[tuple[str, Gauge]]:
    """The gauge with one of its constants changed."""
    for i, coil in enumerate(gauge.coils):
        for key, value in (("turns", coil.turns * 1.05), ("degrees", coil.degrees + 3)):
            coils = (*gauge.coils[:i], replace(coil, **{key: value}), *gauge.coils[i + 1 :])
            yield f"coils.{i}.{key}", replace(gauge, coils=coils)
    low, high = gauge.stops
    yield "stops", replace(gauge, stops=(low - 0.05, high))
    yield "stops", replace(gauge, stops=(low, high + 0.05))
    if gauge.movement == "air_core":
        yield "degrees_low", replace(gauge, degrees_low=gauge.degrees_low + 2)
        yield "degrees_high", replace(gauge, degrees_high=gauge.degrees_high + 2)
        yield "friction", replace(gauge, friction=gauge.friction * 20)
        yield "rest", replace(gauge, rest=(gauge.rest[0] + 1.0, gauge.rest[1]))
        yield "rest", replace(gauge, rest=(gauge.rest[0], gauge.rest[1] + 1.0))
    else:
        yield "low", replace(gauge, low=gauge.low * 1.1)
        yield "high", replace(gauge, high=gauge.high * 1.1)
    if gauge.id != "voltmeter":
        yield "bench_volts", replace(gauge, bench_volts=gauge.bench_volts * 0.5)


def one_of_each_kind() -> dict[str, tuple[str, str]]:
    """The circuit with fewest gauges that has a movement of some kind, and which gauge has it there."""
    found: dict[str, tuple[str, str]] = {}
    for circuit in sorted(map(find, available()), key=lambda one: len(one.sheet.gauges)):
        for gauge in circuit.sheet.gauges.values():
            found.setdefault(gauge.topology, (circuit.id, gauge.id))
    return found


@pytest.mark.parametrize("kind", one_of_each_kind())
def test_every_constant_of_a_movement_moves_its_needle(kind: str) -> None:
    name, own = one_of_each_kind()[kind]
    circuit = find(name)
    gauge = circuit.sheet.gauges[own]
    # what faults change is the same whatever the gauge is
    rows = Rows(circuit)
    before = _everything(circuit, gauge, rows)
    for key, changed in variants(gauge):
        moves = np.abs(_everything(with_gauge(circuit, changed), changed, rows) - before)
        if gauge.movement == "air_core" and key == "bench_volts":
            # the supply cancels on the bench as well: it only keeps the needle above friction
            assert np.all((moves < 1e-9) | (moves > 1)), gauge.id
        else:
            assert np.max(moves) > 1e-6, (gauge.id, key)


def test_the_list_of_what_shows_nothing_is_complete() -> None:
    movement = {"air_core": "temp_opposed_coil", "bimetal": "cluster_bimetal_5v", "moving_coil": "boat_panel"}
    tried = set()
    for name in movement.values():
        for gauge in find(name).sheet.gauges.values():
            tried |= {key.partition(".")[0] for key, _ in variants(gauge)}
    fields = {*Gauge.__dataclass_fields__}
    assert {*SHOWS_NOTHING} | tried == fields
    assert {*SHOWS_NOTHING} & tried == {"coils"}


@pytest.mark.parametrize("name", ["cluster_bimetal_5v", "cluster_bimetal_10v"])
def test_the_regulators_rule_moves_the_needles(name: str) -> None:
    circuit = find(name)
    rule = circuit.sheet.regulator
    assert rule is not None
    before = shown(circuit, "running_warm", "")
    other = {"rms": "mean", "mean": "rms"}[rule.convention]
    for changed in (replace(rule, convention=other), replace(rule, heater="r.xfuel.rheater")):
        made = replace(circuit, sheet=replace(circuit.sheet, regulator=changed))
        assert np.max(np.abs(shown(made, "running_warm", "") - before)) > 1e-3
    held = shown(circuit, "running_warm", "", {rule.design_volts: 1.05 * _design(circuit)})
    assert np.all(held > before)


def _design(circuit: Circuit) -> float:
    assert circuit.sheet.regulator is not None
    return float(circuit.parameter_values({})[circuit.sheet.regulator.design_volts])
