"""A composed circuit of other volts, or of the other earth, behaves as its like."""

import re
from typing import Any

import numpy as np
import pytest
from compose.vehicles import circuit, composed

from gaugesim.circuit import Circuit
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults
from gaugesim.solve import nodal
from gaugesim.sweeps import sweep

ALL = {"fuel": {}, "temperature": {}, "oil_pressure": {}, "voltmeter": {}}
SAID = [
    {"temperature": {"movement": "bridge"}},
    {"temperature": {}, "stations": 2},
    {**ALL, "wiring": "boat", "fuel": {"movement": "three_coil"}},
    {**ALL, "regulator": 5},
]


def told(one: Circuit, state: str, check: str) -> Any:
    """Every fault under a check."""
    situation = Situation.of(one, state, find_check(one, check)) if check else Situation.of(one, state)
    return situation, sweep(situation, all_faults(one), 1).response


def alike(check: str) -> str:
    """The same check where the other pole is earthed."""
    other = {"battery_positive": "battery_negative", "battery_negative": "battery_positive"}
    return re.sub("battery_positive|battery_negative", lambda match: other[match[0]], check)


@pytest.mark.parametrize("said", SAID, ids=lambda said: "-".join(said))
def test_positive_earth_is_the_mirror_of_negative_earth(said: dict[str, Any]) -> None:
    one, other = circuit(said), circuit({**said, "earth": "positive"})
    assert {alike(check) for check in check_ids(one)} == set(check_ids(other))
    assert [fault.id for fault in all_faults(one)] == [fault.id for fault in all_faults(other)]
    for check in ("", *check_ids(one)):
        if check and find_check(one, check).reads in ("jump", "look"):
            continue
        (_, here), (_, there) = told(one, "key_on_cold", check), told(other, "key_on_cold", alike(check))
        for gauge, positions in here.positions.items():
            np.testing.assert_allclose(there.positions[gauge], positions, 0, 1e-9, err_msg=f"{check} {gauge}")
        if here.reading is not None:
            np.testing.assert_allclose(there.reading, here.reading, 1e-6, 1e-8, err_msg=check)
            assert np.array_equal(here.pulses, there.pulses)


def test_poles_are_where_their_names_say() -> None:
    for earth, sign in (("negative", 1), ("positive", -1)):
        one = circuit({"temperature": {"movement": "two_coil"}, "earth": earth})
        solution = nodal.solve(one.network(one.values(one.parameters("key_on_cold"))))
        points = one.sheet.points
        poles = [points[name].node for name in ("battery_positive", "battery_negative")]
        assert float(solution.voltage(*poles)) == pytest.approx(12.5, abs=0.05)
        assert np.sign(solution.voltage(points["panel_feed"].node, points["body"].node)) == sign
        assert points[one.sheet.earthed_pole].node == "0"
        assert f"battery {earth}" in find_check(one, "volts_at:panel_feed").words
        assert one.sheet.cautions["dead_circuit"].words.startswith(f"Battery {earth} off")


@pytest.mark.parametrize("volts", [6, 24])
def test_every_state_and_fault_goes_with_the_volts(volts: float) -> None:
    said: dict[str, Any] = {**ALL, "fuel": {"movement": "three_coil", "ohms": [240, 33]}}
    usual, other = circuit(said), circuit({**said, "volts": volts})
    share = volts / 12
    for state in usual.sheet.states:
        before, after = (one.network(one.values(one.parameters(state))) for one in (usual, other))
        # the lamps' ohms and the voltmeter's own resistor go with the volts
        nodes = [node for node in usual.wiring.nodes if not re.search("lamp|xvoltmeter", node)]
        here, there = nodal.solve(before), nodal.solve(after)
        volts_here = [float(here.voltage(node)) * share for node in nodes]
        # the same ohms with more or less current through the same wires
        assert [float(there.voltage(node)) for node in nodes] == pytest.approx(
            volts_here, rel=2e-3, abs=0.08 * volts, nan_ok=True
        ), state
    for name in ("battery", "charging"):
        modes = other.sheet.parts[name].modes
        for mode, was in usual.sheet.parts[name].modes.items():
            if was.severity.quantity == "x":
                assert modes[mode].severity.low == pytest.approx(was.severity.low * share)
                assert modes[mode].severity.typical == pytest.approx(was.severity.typical * share)
    assert {consumer.rated_volts for consumer in other.sheet.consumers.values()} == {volts}
    assert other.sheet.gauges["fuel"].bench_volts == volts
    assert other.sheet.quantities["battery_volts"].high == 18 * share


@pytest.mark.parametrize("volts", [6, 24])
def test_needle_and_lamp_are_those_of_a_like_circuit(volts: float) -> None:
    said = {"temperature": {"movement": "opposed_coil"}}
    usual, other = circuit(said), circuit({**said, "volts": volts})
    for check in ("", "unplug_sender", "lamp_at:panel_feed", "bench_gauge:33"):
        (_, here), (_, there) = told(usual, "key_on_cold", check), told(other, "key_on_cold", check)
        sound_here, sound_there = (
            respond(Situation.of(one, "key_on_cold", find_check(one, check) if check else NO_CHECK))
            for one in (usual, other)
        )
        assert sound_there.positions["temperature"] == pytest.approx(
            sound_here.positions["temperature"], abs=2e-3, nan_ok=True
        )
        if check == "lamp_at:panel_feed":
            assert sound_here.reading == pytest.approx(sound_there.reading, rel=0.02)
        assert len(here.positions["temperature"]) == len(there.positions["temperature"])


def test_no_twelve_volts_are_left_in_a_circuit_of_24() -> None:
    for one in composed({**ALL, "volts": 24, "wiring": "boat"}):
        numbers = [
            float(text) for text in re.findall(r"battery_volts ?= ?([0-9.]+)", one.sheet + one.netlist)
        ]
        assert numbers
        assert min(numbers) > 20
        assert not re.search(r"\b(bench|rated)_volts = (6|12)\b", one.sheet)


def test_a_regulator_holds_what_is_said_at_any_volts() -> None:
    for volts in (12, 24):
        one = circuit({"fuel": {}, "regulator": 10, "volts": volts})
        assert one.sheet.regulator is not None
        assert one.parameter_values({})[one.sheet.regulator.design_volts] == 10
        duty = float(respond(Situation.of(one, "key_on_cold")).duty[0])
        # heat balance of an interrupter: the mean square is held
        assert duty == pytest.approx((10 / (12.5 * volts / 12)) ** 2, rel=0.02)
