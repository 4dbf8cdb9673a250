"""What no check from outside could ever tell apart, among the suspects of a case."""

import numpy as np
import pytest

from gaugesim import case
from gaugesim.advice.ambiguity_groups import ALIKE, from_outside, never_apart
from gaugesim.advice.jobs import Job, job
from gaugesim.advice.suspects import OUTSIDE_MINUTES
from gaugesim.circuit import find
from gaugesim.consultation import consult
from gaugesim.diagnosis import diagnose
from gaugesim.paths import shipped_netlists


@pytest.fixture(scope="module")
def lorry() -> Job:
    """A cluster on one regulator, of which all needles read high."""
    return job(diagnose(case.read(shipped_netlists() / "cases" / "all_read_high.toml")))


def test_a_regulator_and_its_ground_behind_the_panel(lorry: Job) -> None:
    """Both feed all gauges the battery's voltage; what tells them apart is behind the panel."""
    first = never_apart(lorry)[0]
    assert {"regulator_ground=open", "regulator=stuck_closed"} <= {*first.faults}
    assert first.separated_by is not None
    place = lorry.circuit.sheet.parts["regulator"].place
    assert first.separated_by.minutes > lorry.circuit.sheet.places[place].setup_minutes > OUTSIDE_MINUTES
    # the pin of the panel connector is reached without taking the panel out
    assert not any("panel_connector_ground=open" in group.faults for group in never_apart(lorry))


def test_members_look_alike_in_every_check_from_outside(lorry: Job) -> None:
    """By hand over all checks: the largest difference of any outcome, for each two of a group."""
    number = {entry.fault: i for i, entry in enumerate(lorry.hypotheses)}
    places = lorry.circuit.sheet.places
    outside = [
        option
        for option in lorry.options
        if option.check.reads != "look"
        and all(places[name].setup_minutes <= OUTSIDE_MINUTES for name in option.check.places)
    ]
    assert len(outside) > 20
    groups = never_apart(lorry)
    for group in groups:
        rows = [number[name] for name in group.faults]
        for option in outside:
            assert np.ptp(option.table[rows], axis=0).max() <= ALIKE, (group.faults, option.id)
    members = [name for group in groups for name in group.faults]
    assert len(members) == len(set(members))
    assert "+" not in "".join(members)
    leaders = [lorry.weight[number[group.faults[0]]] for group in groups]
    assert leaders == sorted(leaders, reverse=True)


def test_a_wire_that_is_always_live_is_told_with_the_key_off() -> None:
    """From one that is live with the key on: by the meter at the lead."""
    for name in ("temp_three_coil", "fuel_four_coil"):
        circuit = find(name)
        wires = [part for part in circuit.sheet.parts.values() if {"to_feed", "to_battery"} <= {*part.modes}]
        pairs = [{f"{part.id}=to_feed", f"{part.id}=to_battery"} for part in wires]
        gauge = next((part.gauge for part in wires if part.gauge), None)
        groups = [{*group.faults} for group in from_outside(circuit, gauge).groups]
        assert pairs
        assert not any(pair <= group for pair in pairs for group in groups), name
    live = {"check": "sender_lead_volts", "state": "key_off", "volts": 12.4}
    low = {"state": "running_warm", "needle": "pegged_low"}
    said = {"circuit": "temp_three_coil", "measured": [live], "seen": [low]}
    groups = [{*group.faults} for group in consult(case.parse(said)).never_apart]
    assert not any({"sender_wire=to_feed", "sender_wire=to_battery"} <= group for group in groups)
