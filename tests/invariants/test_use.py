"""Everything that a sheet names is used: cautions, places, points, states, checks, weights, minutes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from invariants.everything import electrical_checks

from gaugesim.advice.hazard import CAUTION, WARNING
from gaugesim.circuit import Circuit, available, find
from gaugesim.evidence.cells import pair_prior
from gaugesim.reading import Situation, respond
from gaugesim.scenario.caution import STOPPED
from gaugesim.scenario.check import NO_CHECK, Check, find_check
from gaugesim.scenario.check_list import check_ids, looks
from gaugesim.scenario.fault import Fault, Pair, all_faults, parse_fault
from gaugesim.scenario.kinds import CHECKS
from gaugesim.solve.network import GROUND

SHIPPED = available()


def checks(circuit: Circuit) -> list[Check]:
    seen = dict.fromkeys(name for gauge in circuit.sheet.gauges for name, _ in looks(circuit, gauge))
    return [find_check(circuit, name) for name in (*check_ids(circuit), *seen)]


def cautions_in_use(circuit: Circuit) -> set[str]:
    """Cautions of checks with their places, of states, of places that only a repair goes to."""
    sheet = circuit.sheet
    used = {caution for check in checks(circuit) for caution in check.cautions}
    used |= {caution for state in sheet.states.values() for caution in state.cautions}
    for part in sheet.parts.values():
        used |= {*sheet.places[part.place].cautions, *part.cautions}
    # told of such a check while the engine runs
    used |= {STOPPED for check in checks(circuit) if check.stopped}
    # those of what a case tells are told by the planner
    return used | {CAUTION, WARNING}


def test_every_caution_is_shown_on_some_circuit() -> None:
    circuits = [find(name) for name in SHIPPED]
    written = {caution for circuit in circuits for caution in circuit.sheet.cautions}
    assert written - {caution for circuit in circuits for caution in cautions_in_use(circuit)} == set()


def reads(circuit: Circuit, unit: str) -> bool:
    return any(circuit.sheet.quantities[gauge.reads].unit == unit for gauge in circuit.sheet.gauges.values())


# cautions that stand in a file which circuits without that kind of gauge or place include as well
ONLY_WITH: dict[str, Callable[[Circuit], bool]] = {
    "heater_gauge": lambda circuit: any(g.movement == "bimetal" for g in circuit.sheet.gauges.values()),
    "fuel_vapour": lambda circuit: "tank" in circuit.sheet.places,
    "tank_joints": lambda circuit: "tank" in circuit.sheet.places,
    "oil_hot": lambda circuit: reads(circuit, "bar"),
    "scald": lambda circuit: reads(circuit, "celsius"),
    "boil_altitude": lambda circuit: reads(circuit, "celsius"),
    "drain_first": lambda circuit: reads(circuit, "celsius"),
    "airbag": lambda circuit: circuit.sheet.craft == "land",
    "engine_space": lambda circuit: circuit.sheet.craft == "boat",
}


@pytest.mark.parametrize("name", SHIPPED)
def test_every_caution_is_shown_where_it_belongs(name: str) -> None:
    circuit = find(name)
    used = cautions_in_use(circuit)
    for caution in circuit.sheet.cautions:
        assert (caution in used) == ONLY_WITH.get(caution, lambda _: True)(circuit), caution


@pytest.mark.parametrize("name", SHIPPED)
def test_heater_gauges_are_never_grounded_without_their_caution(name: str) -> None:
    circuit = find(name)
    for check in checks(circuit):
        if check.kind.id in ("ground_sender_lead", "lamp_on_sender_lead") or (
            check.kind.id == "ground_at" and "stud_sender" in check.id
        ):
            heated = circuit.gauge(check.gauge).movement == "bimetal"
            assert ("heater_gauge" in check.cautions) == heated, check.id


@pytest.mark.parametrize("name", SHIPPED)
def test_every_place_is_gone_to(name: str) -> None:
    circuit = find(name)
    reached = {place for check in checks(circuit) for place in check.places}
    assert {part.place for part in circuit.sheet.parts.values()} <= {*circuit.sheet.places}
    assert {*circuit.sheet.places} - reached == set()


@pytest.mark.parametrize("name", SHIPPED)
def test_every_point_is_touched_by_some_check(name: str) -> None:
    circuit = find(name)
    touched: set[str] = set()
    for check in checks(circuit):
        for setup in (check.setup, check.meter):
            touched |= {
                node for path in (setup.paths if setup else ()) for node in (path.node_a, path.node_b)
            }
    assert {point.id for point in circuit.sheet.points.values() if point.node not in touched} == set()
    assert GROUND in touched


@pytest.mark.parametrize("name", SHIPPED)
def test_every_check_can_be_read_and_every_kind_is_used(name: str) -> None:
    circuit = find(name)
    names = check_ids(circuit)
    assert len(set(names)) == len(names)
    for one in names:
        made = find_check(circuit, one)
        assert made.id == one
        assert "{" not in made.words
        assert made.places or made.reads in ("jump",), one
        assert made.minutes > 0
    kinds = {check.kind.id for check in checks(circuit)}
    for kind in {*circuit.sheet.checks} - kinds:
        assert kind in ONLY_SOMEWHERE, kind


# kinds of checks that need something which not every circuit has
ONLY_SOMEWHERE = {
    "sender_in_water": "a temperature sender",
    "float_by_hand": "a fuel sender",
    "swap_sender_leads": "two gauges of their own senders",
    "lamp_on_sender_lead": "a sender where no vapour may be",
    "feel_heat": "coolant",
    "look_coolant": "coolant",
    "compare_heat": "coolant",
    "compare_level": "a tank",
    "compare_pressure": "oil",
}


def test_every_kind_of_check_is_done_on_some_circuit() -> None:
    done = {name.partition(":")[0] for circuit in map(find, SHIPPED) for name in check_ids(circuit)}
    assert done == {*CHECKS}


@pytest.mark.parametrize("name", SHIPPED)
def test_no_two_states_show_the_same(name: str) -> None:
    circuit = find(name)
    gauges = circuit.sheet.gauges.values()
    volts = [check for check in electrical_checks(circuit) if check.kind.id in ("volts_at", "drop_between")]
    shows = {}
    for state in circuit.sheet.states:
        found = []
        for check in (NO_CHECK, *volts):
            response = respond(Situation.of(circuit, state, check))
            found += [response.positions[gauge] for gauge in circuit.sheet.gauges]
            found += [] if response.reading is None else [response.reading]
        shows[state] = np.nan_to_num(np.concatenate(found), nan=-9.0)
    for one, other in combinations(shows, 2):
        same = np.max(np.abs(shows[one] - shows[other])) < 1e-4
        thermal = any(circuit.sheet.quantities[gauge.reads].unit == "celsius" for gauge in gauges)
        assert same == (frozenset((one, other)) in (ALIKE_WARM if thermal else ALIKE)), (one, other)


# states that differ in what is known, not in what is so: a stopped engine's tank is half full if nothing
# else is said, and to a fuel gauge a cold engine and a warm one are the same
ALIKE_WARM = {frozenset(("lights_off", "tank_half"))}
ALIKE = {frozenset(pair) for pair in combinations(("key_on_cold", "lights_off", "tank_half"), 2)}


@pytest.mark.parametrize("name", SHIPPED)
def test_weights_and_groups_move_the_prior(name: str) -> None:
    circuit = find(name)
    faults = all_faults(circuit)
    total = sum(fault.weight for fault in faults)
    assert all(fault.weight > 0 for fault in faults)
    for fault in faults:
        heavier = replace(fault.mode, weight=2 * fault.mode.weight)
        part = replace(fault.part, modes={**fault.part.modes, fault.mode.id: heavier})
        alone = len(fault.part.modes) == 1
        assert (Fault(part, heavier).weight > fault.weight) != alone
        assert Fault(replace(fault.part, weight=2 * fault.part.weight), fault.mode).weight == pytest.approx(
            2 * fault.weight
        )
    first = {fault.part.id: fault for fault in faults}
    for group in circuit.sheet.groups.values():
        a, b = (first[part] for part in group.parts[:2])
        apart = replace(circuit, sheet=replace(circuit.sheet, groups={}))
        assert pair_prior(circuit, Pair(a, b), total) >= group.factor * pair_prior(
            apart, Pair(a, b), total
        ) * (1 - 1e-12)


@pytest.mark.parametrize("name", SHIPPED)
def test_every_fault_can_be_asked_for_by_its_id(name: str) -> None:
    circuit = find(name)
    parameters = circuit.parameters()
    for fault in all_faults(circuit):
        found, change = parse_fault(circuit, fault.id, parameters)
        assert found == fault.id
        assert len(change.severity) == 1
        touches = (
            *change.branches,
            *change.volts,
            *change.paths,
            *change.parameters,
            *change.stuck,
            *change.strength,
        )
        assert touches, fault.id
