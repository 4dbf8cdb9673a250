"""A wire that is chafed through is parted from what it leads to before its harness is opened."""

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim.circuit import Circuit, find
from gaugesim.consultation import Consultation, consult
from gaugesim.lessons.vehicle import FaultyVehicle
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault_list import find_fault

HALVING = ("unplug_at_gauge", "ohms_parted", "volts_parted")


def chafed(circuit: Circuit, gauge: str, severity: float = 0.0) -> FaultyVehicle:
    fault = find_fault(circuit, "sender_wire=to_ground", gauge)
    return FaultyVehicle(circuit, gauge, ("chafed", circuit.id), fault, (severity,))


PANELS = [("cluster_air_core", "temperature"), ("boat_panel", "oil_pressure")]


@pytest.mark.parametrize(("name", "gauge"), PANELS)
def test_it_is_halved_before_it_is_uncovered(name: str, gauge: str) -> None:
    circuit = find(name)
    seen = [{"gauge": gauge, "state": "running_warm", "needle": "pegged_high"}]
    off = [
        {"check": f"unplug_sender:{gauge}", "state": state, "needle": "pegged_high"}
        for state in ("key_on_cold", "lights_off", "running_warm")
    ]
    volts = [
        {"check": f"sender_lead_volts:{gauge}", "state": state, "volts": "none"}
        for state in ("key_on_cold", "lights_off", "running_warm")
    ]
    job = consult(cases.parse({"circuit": name, "gauge": gauge, "seen": seen, "measured": [*off, *volts]}))
    assert job.diagnosis.ranking[0].fault == "sender_wire=to_ground"
    made = []
    while (advised := job.next_check) is not None and not job.mend and len(made) < 6:
        made.append(advised.check.split(":")[0])
        if made[-1] in HALVING or made[-1] == "look_at":
            break
        job = answered(job, circuit, gauge)
    assert made[-1] in HALVING
    assert "tap" not in made


def answered(job: Consultation, circuit: Circuit, gauge: str) -> Consultation:
    """The next check's answer on a vehicle with that fault, a look told as what is seen."""
    advised = job.next_check
    assert advised is not None
    check = find_check(circuit, advised.check, gauge)
    shown = chafed(circuit, gauge).show(check, advised.state)
    if check.kind.id == "turn_key":
        return job.with_answer("seen", between=["key_off", "key_on_cold"], gauge=gauge, needle=shown.outcome)
    if check.kind.id == "see_consumer":
        return job.with_answer("seen", consumer=check.part, state=advised.state, looks=shown.outcome)
    if check.kind.id == "watch_needle":
        return job.with_answer("seen", state=advised.state, gauge=gauge, needle=shown.outcome)
    value = shown.outcome if shown.value is None or not np.isfinite(shown.value) else shown.value
    return job.with_answer("measured", check=advised.check, state=advised.state, **{check.reads: value})


SIDES = {
    "stud_sender:sender_side": True,
    "panel_connector_sender:sender_side": True,
    "panel_connector_sender:gauge_side": False,
    "sender_connector:gauge_side": True,
}


@pytest.mark.parametrize("name", ["temp_opposed_coil", "cluster_bimetal_10v"])
def test_the_chafe_is_on_one_side_of_each_plug(name: str) -> None:
    """Ohms of the chafe where its side is measured, and of the sound circuit on the other."""
    circuit = find(name)
    gauge = next(iter(circuit.sheet.gauges))
    vehicle = chafed(circuit, gauge, 5.0)
    for sided, there in SIDES.items():
        check = find_check(circuit, f"ohms_parted:{sided}", gauge)
        read, usual = (
            vehicle.response("key_off", check)[1].reading,
            respond(Situation.of(circuit, "key_off", check)).reading,
        )
        assert read is not None
        assert usual is not None
        if there:  # beside it the coils, or nothing but wire
            assert float(read[0]) == pytest.approx(1 / (1 / 5.0 + 1 / usual[0]), rel=0.05)
        else:
            assert float(read[0]) == pytest.approx(usual[0], rel=0.1)
    assert set(SIDES) == {
        one.removeprefix("ohms_parted:").removeprefix(f"{gauge}_")
        for one in check_ids(circuit, gauge)
        if one.startswith("ohms_parted")
    }


def test_a_joint_outside_the_sender_lead_is_not_parted_so() -> None:
    with pytest.raises(ValueError, match="not in the sender's lead"):
        find_check(find("cluster_air_core"), "ohms_parted:panel_connector_feed:sender_side", "fuel")


def test_what_has_just_been_done_is_not_proposed_by_its_full_name() -> None:
    seen = [{"state": "running_warm", "needle": "pegged_high"}]
    done = [{"check": "unplug_sender", "state": "key_on_cold", "needle": "pegged_high"}]
    told = {"circuit": "boat_panel", "gauge": "oil_pressure", "seen": seen, "measured": done}
    job = consult(cases.parse(told))
    assert "unplug_sender:oil_pressure@key_on_cold" not in {option.id for option in job.job.options}
