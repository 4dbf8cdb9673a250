"""A fault that comes and goes is moved by hand, looked at and ridden; it is not measured while it rests."""

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim.circuit import find
from gaugesim.consultation import Consultation, consult
from gaugesim.evidence import likelihood as like
from gaugesim.lessons.vehicle import FaultyVehicle
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault_list import find_fault

JUMPS = {"needle": "low", "often": "sometimes", "moves": "jumps"}


@pytest.fixture(params=[("cluster_air_core", "temperature"), ("boat_panel", "fuel")], scope="module")
def jumping(request: pytest.FixtureRequest) -> Consultation:
    circuit, gauge = request.param
    return consult(cases.parse({"circuit": circuit, "gauge": gauge, "seen": [JUMPS]}))


def test_it_is_not_measured_asleep(jumping: Consultation) -> None:
    work = jumping.job
    proposed = [option.check for option in work.options]
    [suspects] = work.suspects
    acting = suspects.comes_and_goes
    assert work.weight[acting].sum() > 0.9
    for option in work.options:
        if not option.check.kind.is_look and not option.check.kind.by_hand and not option.check.kind.acting:
            # what is measured of it tells of other faults, all those that rest look the same
            assert np.ptp(option.table[acting], axis=0).max() < 0.1
    assert {"wiggle", "ride", "look_at"} <= {check.kind.id for check in proposed}
    assert jumping.next_check is not None
    assert jumping.best_resistor is None


def test_what_stays_is_measured_as_ever() -> None:
    job = consult(cases.parse({"circuit": "temp_opposed_coil", "seen": [{"needle": "pegged_high"}]})).job
    assert {"unplug_sender", "sender_lead_volts", "sender_ohms"} <= {one.check.kind.id for one in job.options}


def test_a_ride_is_read_while_the_fault_acts() -> None:
    """Bayes' rule by hand: a reading of a ride is that of the open joint, one of any moment a mixture."""
    circuit, fault = "cluster_air_core", "temperature_sender_wire=intermittent"

    def odds(check: str) -> float:
        entry = {"check": check, "state": "running_warm", "volts": 0.0}
        job = Consultation(start.with_answer("measured", **entry).case, start.circuits)
        [posterior] = job.diagnosis.posteriors
        acting = [i for i, one in enumerate(posterior.cells.faults) if one.id == fault]
        [observation] = [one for one in posterior.observations if "measured" in one.where]
        rows = np.flatnonzero(np.isin(posterior.cells.fault, acting))
        resting, there = observation.likelihood[0], observation.likelihood[rows]
        told = posterior.explained[posterior.observations.index(observation), acting]
        duty = 1.0 if check.startswith("ride") else like.DUTIES.mean()
        assert told == pytest.approx(duty * there + (1 - duty) * resting, rel=1e-6)
        return float(posterior.fault[acting][0])

    start = consult(cases.parse({"circuit": circuit, "gauge": "temperature", "seen": [JUMPS]}))
    # whoever reads 0 V by chance has caught it as well, so both point to the same fault
    before = start.diagnosis.posteriors[0]
    prior = before.fault[[one.id for one in before.cells.faults].index(fault)]
    assert min(odds("ride:temperature_sender_lead"), odds("volts_at:temperature_sender_lead")) > prior


def test_who_rides_waits_for_it() -> None:
    job = consult(cases.parse({"circuit": "cluster_air_core", "gauge": "temperature", "seen": [JUMPS]}))
    circuit = job.circuit
    fault = find_fault(circuit, "temperature_sender_wire=intermittent", "temperature")
    vehicles = [
        FaultyVehicle(circuit, "temperature", ("ride", seed), fault, (fault.mode.severity.typical,))
        for seed in range(8)
    ]
    shown = [
        [
            one.show(find_check(circuit, f"{kind}:sender_lead", "temperature"), "running_warm").value
            for one in vehicles
        ]
        for kind in ("ride", "volts_at")
    ]
    assert all(value is not None and abs(value) < 0.1 for value in shown[0])
    assert any(value is not None and value > 1 for value in shown[1])


def test_leads_do_not_shake_where_vapour_may_be() -> None:
    circuit = find("cluster_air_core")
    rides = [name for name in check_ids(circuit) if name.startswith("ride:")]
    assert "ride:temperature_sender_lead" in rides
    assert "ride:fuel_sender_lead" not in rides
