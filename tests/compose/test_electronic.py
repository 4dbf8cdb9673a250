"""A regulator without points: against the joint that would hold its output, found by halving."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from compose.vehicles import circuit

from gaugesim.case import parse
from gaugesim.circuit import Circuit
from gaugesim.diagnosis import diagnose
from gaugesim.errors import SheetError
from gaugesim.reading import Situation, respond
from gaugesim.reading.exact import operating_point
from gaugesim.reading.response import Response
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import HEALTHY, change
from gaugesim.scenario.fault_list import find_fault
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.sheet._entries import read_regulator
from gaugesim.solve import nodal
from gaugesim.table import Table
from gaugesim.transients import transient

HELD, DROPOUT = 10.0, 1.0
SAID = {"fuel": {"movement": "bimetal"}, "temperature": {"movement": "bimetal"}, "regulator": 10}


@cache
def vehicle(kind: str = "electronic", **more: object) -> Circuit:
    return circuit({**SAID, **more, "regulator_kind": kind})


def output(place: Situation, scenarios: Scenarios | None = None) -> tuple[float, float]:
    """Volts at the output and at the input of the regulator, against its own case."""
    scenarios = stack([HEALTHY]) if scenarios is None else scenarios
    volts = operating_point(place, scenarios, respond(place, scenarios)).voltages
    return volts["regulator_out"] - volts["regulator_case"], volts["foil_feed_near"] - volts["regulator_case"]


def held_by_a_joint(place: Situation) -> Response:
    """The same circuit with a resistance in place of the transistor, such that its output is right."""
    low, high = -9.0, 9.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        network = place.network.with_ohms({"r.xregulator.rpass": float(np.exp(middle))})
        found = nodal.solve(network)
        out, fed = (found.voltage(node, "regulator_case") for node in ("regulator_out", "foil_feed_near"))
        low, high = (middle, high) if out > min(HELD, fed - DROPOUT) else (low, middle)
    return respond(replace(place, network=network, phases=(network,)))


@pytest.mark.parametrize("battery", [6.0, 10.0, 11.2, 12.5, 15.0])
def test_its_output_is_what_is_set_or_the_input_less_the_dropout(battery: float) -> None:
    one = vehicle()
    place = Situation.of(
        one, "key_on_cold", find_check(one, "volts_at:regulator_out"), {"battery_volts": battery}
    )
    shown, joint = respond(place), held_by_a_joint(place)
    out, fed = output(place)
    # what feeds it has hundredths of an ohm, so its input is nearly that of the full current
    assert out == pytest.approx(min(HELD, fed - DROPOUT), abs=0.03)
    assert shown.reading == pytest.approx(joint.reading, abs=0.03)
    assert not shown.pulses.any()
    for gauge, position in joint.positions.items():
        assert shown.positions[gauge] == pytest.approx(position, abs=0.01)


def test_points_pulse_where_it_stands_still_and_the_needles_are_the_same() -> None:
    shown = {}
    for kind in ("points", "electronic"):
        one = vehicle(kind)
        shown[kind] = respond(Situation.of(one, "running_warm", find_check(one, "volts_at:regulator_out")))
    assert shown["points"].pulses.all()
    assert not shown["electronic"].pulses.any()
    for gauge, position in shown["points"].positions.items():
        assert shown["electronic"].positions[gauge] == pytest.approx(position, abs=0.03)


@pytest.mark.parametrize(
    ("fault", "is_at"),
    [
        ("regulator=stuck_open", 0.0),
        ("regulator=stuck_closed", 13.5),
        ("regulator=bypassed", 13.5),
        ("regulator=no_ground", 13.5),
        ("regulator_ground=open", 13.5),
        ("regulator=low_volts", 8.0),
        ("regulator=high_volts", 12.0),
    ],
)
def test_what_its_faults_do(fault: str, is_at: float) -> None:
    one = vehicle()
    check = find_check(one, "volts_at:regulator_out")
    place = Situation.of(one, "running_warm", check)
    bad = find_fault(one, fault, "fuel")
    rows = stack([change(one, bad, np.array([bad.mode.severity.typical]), place.parameters)])
    (volts,) = respond(place, rows).reading
    assert volts == pytest.approx(is_at, abs=0.15)


def test_too_much_at_its_output_names_it() -> None:
    vehicle_said = {**SAID, "regulator_kind": "electronic"}
    seen = [{"gauge": gauge, "state": "running_warm", "needle": "high"} for gauge in ("fuel", "temperature")]
    measured = [{"state": "running_warm", "check": "volts_at:regulator_out", "volts": 13.5}]
    case = {"vehicle": vehicle_said, "gauge": "fuel", "seen": seen, "measured": measured}
    leader = diagnose(parse(case)).ranking[0]
    assert leader.part in ("regulator", "regulator_ground")
    assert "points" not in leader.words


def test_it_has_settled_when_time_has_passed() -> None:
    one = vehicle()
    run = transient(one, "key_off", "running_warm", 120.0, step_seconds=0.5)
    settled = respond(Situation.of(one, "running_warm"))
    assert run.contact.all()
    assert run.regulator_volts is not None
    assert run.regulator_volts[-1] == pytest.approx(HELD, abs=0.05)
    for gauge, course in run.positions.items():
        assert course[-1] == pytest.approx(settled.positions[gauge][0], abs=0.01)


@pytest.mark.parametrize(("convention", "dropout"), [("steady", ""), ("rms", "regulator_dropout")])
def test_a_dropout_goes_with_a_steady_one_alone(convention: str, dropout: str) -> None:
    said = {
        "contact": "r1",
        "heater": "r2",
        "design_volts": "v",
        "convention": convention,
        "source": "assumed",
    }
    said |= {"dropout_volts": dropout} if dropout else {}
    with pytest.raises(SheetError, match=r"dropout_volts: goes with a steady regulator"):
        read_regulator(Table(said, "mine.toml: regulator", SheetError), {})
