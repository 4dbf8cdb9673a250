"""The best resistor, what cannot be told from outside, the neighbours, and the proof of the repair."""

import itertools
import math

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim.advice.ambiguity_groups import OUTSIDE_MINUTES, from_outside
from gaugesim.advice.jobs import Job, job
from gaugesim.advice.neighbours import while_you_are_there
from gaugesim.advice.proofs import CURED, proof, quiet_trips, quiet_wiggles
from gaugesim.advice.resistor import E12, best_resistor
from gaugesim.advice.suspects import needle_classes
from gaugesim.advice.telling import information
from gaugesim.circuit import available, find
from gaugesim.diagnosis import diagnose
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import change, find_fault
from gaugesim.scenario.scenarios import stack

# --- the best resistor ---


def test_the_series_is_that_of_the_standard() -> None:
    # IEC 60063, E12: the twelfth roots of ten, but for the historical 27 to 82
    assert E12 == (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)


def test_no_resistor_of_the_series_tells_more(fire_pump: Job) -> None:
    best = best_resistor(fire_pump)
    assert best is not None
    suspects = fire_pump.suspects[0]
    weight = suspects.weight / suspects.weight.sum()
    for ohms in (digit * decade for decade in (1, 10) for digit in E12):
        check = find_check(fire_pump.circuit, f"substitute:{ohms}", "temperature")
        _, response = suspects.response(check, "key_on_cold")
        gauge = fire_pump.circuit.gauge("temperature")
        bits = information(
            weight,
            suspects.by_hypothesis(needle_classes(gauge, response.positions["temperature"], response.pulses)),
        )
        assert bits <= max(best.both_bits, best.bits) + 1e-9, ohms
    assert best.both_bits >= best.bits - 1e-9


def test_the_expected_needle_is_what_the_circuit_gives(fire_pump: Job) -> None:
    best = best_resistor(fire_pump)
    assert best is not None
    circuit = fire_pump.circuit
    situation = Situation.of(circuit, "key_on_cold", find_check(circuit, best.check, "temperature"))
    opened = change(circuit, find_fault(circuit, "sender=open"), np.zeros(1), situation.parameters)
    position = respond(situation, stack([opened])).positions["temperature"][0]
    told = next(entry for entry in best.expected if entry.fault == "sender=open")
    assert math.isclose(told.position, position, abs_tol=1e-9)


# --- never from outside ---


@pytest.mark.parametrize("name", ["temp_opposed_coil", "temp_three_coil", "cluster_bimetal_5v"])
def test_groups_hold_each_fault_once_and_look_alike(name: str) -> None:
    circuit = find(name)
    found = from_outside(circuit)
    seen = list(itertools.chain.from_iterable(group.faults for group in found.groups))
    assert len(seen) == len(set(seen))
    assert all(len(group.faults) > 1 for group in found.groups)
    for group in found.groups:
        if group.separated_by:
            check = find_check(circuit, group.separated_by.check)
            inside = any(
                circuit.sheet.places[place].setup_minutes > OUTSIDE_MINUTES for place in check.places
            )
            assert inside or check.reads == "look", group.separated_by.check


def test_a_wire_and_its_track_cannot_be_told_apart_at_the_engine() -> None:
    groups = [set(group.faults) for group in from_outside(find("temp_opposed_coil")).groups]
    assert any({"stud_sender=open", "foil_sender=open"} <= group for group in groups)
    # the loose nut of stud B is alone in standing at half: it can be told
    assert not any("stud_bias=open" in group for group in groups)


# --- while you are there ---


def test_the_nuts_of_one_gauge_are_neighbours(workboat: Job) -> None:
    found = workboat.diagnosis
    told = {neighbour.part: neighbour for neighbour in while_you_are_there(found, "behind_panel")}
    assert max(told.values(), key=lambda neighbour: neighbour.chance).part == "stud_bias"
    for nut in ("stud_feed", "stud_sender", "stud_ground"):
        assert told[nut].because == "the nuts of the gauge slacken together"
        assert 0.01 < told[nut].chance < told["stud_bias"].chance
    # a track of the foil shares no cause with the nut and is less likely than a neighbouring nut
    assert told["foil_feed"].chance < told["stud_ground"].chance


def test_neighbours_are_at_the_place_and_are_chances(any_job: Job) -> None:
    found = any_job.diagnosis
    for place in any_job.circuit.sheet.places:
        for neighbour in while_you_are_there(found, place):
            assert any_job.circuit.sheet.parts[neighbour.part].place == place
            assert 0.0 < neighbour.chance <= 1.0


# --- proof of the repair ---


def test_a_right_needle_in_two_states_rules_the_stuck_one_out(workboat: Job) -> None:
    shown = proof(workboat.diagnosis, "movement")
    # with the nut still loose the needle would stand at half cold and warm: it does not pass both
    assert shown.still_passes < 0.1
    minutes = [workboat.circuit.sheet.states[need.state].minutes for need in shown.must_see]
    assert minutes == sorted(minutes)
    assert len({need.word for need in shown.must_see}) == 2


def test_bands_lie_between_the_stops(any_job: Job) -> None:
    gauge = any_job.circuit.gauge(any_job.diagnosis.gauge)
    for need in proof(any_job.diagnosis).must_see:
        assert np.isnan(need.low) or gauge.stops[0] <= need.low <= need.high <= gauge.stops[1]


@pytest.mark.parametrize("chance", [0.06, 0.2, 0.5, 0.9, 0.99])
def test_quiet_trips_by_bayes(chance: float) -> None:
    # Beta(1, 4): the chance of n quiet trips is the integral of 4(1-q)^(n+3) dq = 4/(n + 4)
    def left(n: int) -> float:
        still = chance * 4.0 / (n + 4.0)
        return still / (still + 1.0 - chance)

    n = quiet_trips(chance)
    assert left(n) <= CURED + 1e-12
    assert n == 0 or left(n - 1) > CURED - 1e-12


def test_what_is_nearly_certain_needs_no_trips() -> None:
    assert quiet_trips(0.01) == quiet_wiggles(0.01) == 0
    assert quiet_wiggles(0.9) > quiet_wiggles(0.2)


def test_every_circuit_has_all_four_for_its_prior() -> None:
    for name in available():
        circuit = find(name)
        gauge = next(iter(circuit.sheet.gauges))
        work = job(diagnose(cases.parse({"circuit": name, "gauge": gauge})))
        assert proof(work.diagnosis).must_see, name
        leading = work.diagnosis.ranking[0]
        assert while_you_are_there(work.diagnosis, leading.place), name
        best = best_resistor(work)
        assert best is not None, name
        assert best.both_bits > 0.1, name
