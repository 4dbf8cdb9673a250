"""A twin of each worked example, composed from what can be said of it in words, gives the same answers."""

from typing import Any

import pytest
from compose.vehicles import circuit

from gaugesim.case import parse
from gaugesim.circuit import Circuit, available, find
from gaugesim.compose.senders import PRESSURE, TRACK
from gaugesim.diagnosis import diagnose
from gaugesim.diagnosis.result import Diagnosis
from gaugesim.physics.thermistor import beta_ohms

# of the whole probability, at most this may sit on other faults: a twin's marks are its own, written with two
# digits, so that a needle just on a stop is a little more or less sure to lie there
APART = 0.15
COMPLAINTS = [
    [{"state": "running_warm", "needle": "pegged_low"}],
    [
        {"state": "key_on_cold", "needle": "half", "moves": "never"},
        {"state": "running_warm", "needle": "half"},
    ],
]


def said_of(example: Circuit) -> dict[str, Any]:
    """What a person could say of a worked example."""
    known = example.parameter_values({})
    said: dict[str, Any] = {}
    for gauge in example.sheet.gauges.values():
        ends = [gauge.marks[0].at, gauge.marks[-1].at]
        one: dict[str, Any] = {"movement": gauge.topology}
        if gauge.id == "temperature":
            at_80 = known.get("temperature_sender", known.get("sender"))
            one["points"] = [[at, float(beta_ohms(at, at_80, 80.0, known["sender_beta"]))] for at in ends]
            one |= {"scale": ends, "normal": known["coolant_celsius"]}
        elif gauge.id == "fuel":
            one["ohms"] = [known[name] for name in TRACK]
        elif gauge.id == "oil_pressure":
            one |= {"ohms": [known[name] for name in PRESSURE], "scale": ends, "normal": known["oil_bar"]}
        if gauge.id == "temperature_second":
            said["stations"] = 2
        else:
            said[gauge.id] = one
    if example.sheet.regulator:
        said["regulator"] = known[example.sheet.regulator.design_volts]
    if "harness_plug_feed" in example.sheet.parts:
        said["wiring"] = "boat"
    return said


def apart(one: Diagnosis, other: Diagnosis) -> float:
    """Total variation between two rankings [1]."""
    here = {suspect.fault: suspect.probability for suspect in one.ranking}
    there = {suspect.fault: suspect.probability for suspect in other.ranking}
    return sum(abs(here.get(fault, 0) - there.get(fault, 0)) for fault in here.keys() | there.keys()) / 2


@pytest.mark.parametrize("name", available())
def test_a_twin_ranks_as_the_worked_example(name: str) -> None:
    example = find(name)
    twin = circuit(said_of(example))
    assert set(twin.sheet.gauges) == set(example.sheet.gauges)
    for name_of, theirs in example.sheet.gauges.items():
        own = twin.sheet.gauges[name_of]
        assert own.degrees_low == pytest.approx(theirs.degrees_low, abs=1)
        assert own.degrees_high == pytest.approx(theirs.degrees_high, abs=1)
        assert (own.low, own.high) == pytest.approx((theirs.low, theirs.high), rel=0.03)
    gauge = next(iter(example.sheet.gauges))
    for seen in COMPLAINTS:
        case = parse({"circuit": name, "gauge": gauge, "seen": seen})
        here, there = (diagnose(case, [one]) for one in (example, twin))
        assert there.ranking[0].fault == here.ranking[0].fault, seen
        assert apart(here, there) < APART, seen
