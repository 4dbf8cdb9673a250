"""Lamp and load current through a poor ground lifts readings; a poor engine strap shows under load and hot.

Hand calculation by Ohm's law and Millman's theorem on circuit temp_two_coil: fixed coil 150*1.01965 =
152.95 ohm, sensing coil 70*1.01965 = 71.38 ohm at 25 degC (IEC 60028), lamps 8 ohm, battery 12.5 V (engine
off) or 13.4 V behind 0.02 ohm, alternator 14.2 V behind 0.08 ohm and grounded at the engine.
"""

from __future__ import annotations

from math import atan2, cos, degrees, radians, sin

import pytest
from shared_paths.bench import bench, scale
from shared_paths.bench import coolant_ohms as sender

from gaugesim.circuit import find

NAME = "temp_two_coil"
GAUGE = find(NAME).sheet.gauges["temperature"]
FIXED, SENSING = 150 * 1.01965, 70 * 1.01965
FEED = 0.02 + 0.005 + 0.01 + 0.02 + 0.08 + 0.01 + 0.05 + 0.01  # battery to stud I
SENDER_WIRES = 0.01 + 0.05 + 0.01 + 0.06 + 0.01 + 0.01  # stud S to engine block
COIL_GROUND = 0.01 + 0.05  # stud G to the foil's end
LAMP_FEED = 0.02 + 0.005 + 0.01 + 0.02  # battery, cable, fuse, light switch
LAMP_GROUND = 0.01
PIN, WIRE, BODY = 0.01, 0.02, 0.002  # ground pin, panel ground, cable of the body


def needle(celsius: float, feed: float, panel: float, engine: float) -> float:
    """Fixed coil, 300 turns at 0 degrees, to the panel's ground; sensing, 200 at 120, to the engine."""
    fixed = 300 * (feed - panel) / (FIXED + COIL_GROUND)
    sensing = 200 * (feed - engine) / (SENSING + sender(celsius) + SENDER_WIRES)
    x = fixed + sensing * cos(radians(120))
    return scale(GAUGE, degrees(atan2(sensing * sin(radians(120)), x)))


# ---- panel ground ----


@pytest.mark.parametrize("ohms", [0.5, 2.0, 10.0])
def test_lamp_current_through_a_poor_panel_ground_lifts_the_needle(ohms: float) -> None:
    """A joint of some ohms in the panel's ground wire; coolant at 60 degC, engine off."""
    fault, given = f"panel_ground=high@{ohms}", {"coolant_celsius": 60.0}
    ground = PIN + WIRE + ohms + BODY
    lit = {}
    for state, lamps in (("lights_off", False), ("lights_on", True)):
        # the foil's ground node, by Millman from what flows to it through lamps and fixed coil
        through = [(12.5, FEED + FIXED + COIL_GROUND)]
        through += [(12.5, LAMP_FEED + 8 + LAMP_GROUND)] if lamps else []
        lift = sum(volts / r for volts, r in through) / (sum(1 / r for _, r in through) + 1 / ground)
        seen = bench(NAME, state, "", fault, free=True, **given)
        lit[lamps] = seen.needles["temperature"]
        assert lit[lamps] == pytest.approx(needle(60.0, 12.5, lift, 0.0), abs=0.005)
        # what the meter shows at the panel's ground is less by the pin
        meter = bench(NAME, state, "drop_between:panel_ground:battery_negative", fault, **given)
        assert meter.reading == pytest.approx(lift * (ground - PIN) / ground, rel=0.01, abs=1e-3)
    sound = [bench(NAME, state, **given).needles["temperature"] for state in ("lights_off", "lights_on")]
    assert abs(sound[1] - sound[0]) < 0.005
    assert lit[True] - lit[False] > 0.02


def test_half_an_ohm_by_hand() -> None:
    # 12.5 V over 0.055 + 8.01 + 0.532 ohm: 1.45 A; and 0.08 A of the fixed coil: 1.53 A in 0.522 ohm = 0.80 V
    lit = bench(NAME, "lights_on", "drop_between:panel_ground:battery_negative", "panel_ground=high@0.5")
    assert lit.reading == pytest.approx(0.80, abs=0.01)
    # dark: 0.08 A of the fixed coil alone, 0.04 V, which a drop test of 0.1 V lets pass
    dark = bench(NAME, "lights_off", "drop_between:panel_ground:battery_negative", "panel_ground=high@0.5")
    assert dark.reading == pytest.approx(12.5 / 153 * 0.522, abs=0.002)
    assert dark.reading < 0.1 < lit.reading


# ---- battery's ground cable ----


def test_other_loads_lift_the_whole_body_of_the_car() -> None:
    # 1 ohm of loads grounded at the body: 13.6 V / (1 + 0.2) = 11 A and 1.6 A of lamps in 0.2 ohm lift the
    # body
    lifted = bench(NAME, "loads_on", "drop_between:body:battery_negative", "battery_ground=high@0.2")
    # battery positive, by Millman: battery, alternator, loads and lamps (each with the body's 0.202 ohm to
    # share)
    loads = 1 / (1 / 1.0 + 1 / (0.035 + 8.01 + PIN + WIRE) + 1 / (FIXED + SENDER_WIRES))
    positive = (13.4 / 0.02 + 14.2 / 0.082) / (1 / 0.02 + 1 / 0.082 + 1 / (loads + 0.202))
    assert lifted.reading == pytest.approx(positive * 0.202 / (loads + 0.202), rel=0.005)
    assert lifted.reading == pytest.approx(2.5, abs=0.1)
    sound = bench(NAME, "loads_on", "drop_between:body:battery_negative")
    assert sound.reading < 0.05


# ---- engine strap ----


def block(strap: float, loads: bool) -> tuple[float, float]:
    """Battery positive and engine block: the alternator's current comes back through the strap."""
    alternator = 0.08 + 0.002 + strap
    branches = [(13.4, 0.02), (14.2, alternator)]
    if loads:
        branches += [(0.0, 1.0 + BODY), (0.0, 0.035 + 8 + LAMP_GROUND + PIN + WIRE + BODY)]
    positive = sum(volts / r for volts, r in branches) / sum(1 / r for _, r in branches)
    return positive, -(14.2 - positive) / alternator * (0.002 + strap)


@pytest.mark.parametrize("celsius", [40.0, 60.0, 90.0])
@pytest.mark.parametrize("strap", [0.1, 0.3, 1.0])
def test_a_poor_engine_strap_under_load(strap: float, celsius: float) -> None:
    """The block lies below battery negative: the sender draws more, and low ohms read hot."""
    positive, engine = block(strap, True)
    seen = bench(NAME, "loads_on", "", f"engine_strap=high@{strap}", free=True, coolant_celsius=celsius)
    expected = needle(celsius, positive, 0.0, engine)
    # the lamps' 1.6 A in 0.04 ohm of ground that is left out here are 0.5 % of what drives the fixed coil
    assert seen.needles["temperature"] == pytest.approx(expected, abs=0.01)
    meter = bench(
        NAME, "loads_on", "drop_between:engine_block:battery_negative", f"engine_strap=high@{strap}"
    )
    assert meter.reading == pytest.approx(engine, rel=0.01)


def test_it_shows_only_under_load_and_most_when_hot() -> None:
    fault = "engine_strap=high@0.3"

    def error(state: str, celsius: float) -> float:
        sound = bench(NAME, state, free=True, coolant_celsius=celsius).needles["temperature"]
        seen = bench(NAME, state, "", fault, free=True, coolant_celsius=celsius).needles["temperature"]
        return seen - sound

    # engine off: the sender's own 12.5/(71.4 + 16) = 0.14 A in 0.3 ohm is all there is, hot; cold 0.03 A
    for celsius in (40.0, 120.0):
        assert abs(error("lights_on", celsius)) < 0.005
    # charging with all on: 14.2 - 13.2 V over 0.382 ohm, 2.6 A in 0.302 ohm, -0.8 V: 6 % more for the sender
    positive, engine = block(0.3, True)
    assert engine == pytest.approx(-0.8, abs=0.03)
    for celsius in (40.0, 90.0):
        by_hand = needle(celsius, positive, 0.0, engine) - needle(celsius, positive, 0.0, 0.0)
        assert error("loads_on", celsius) == pytest.approx(by_hand, abs=0.005)
    # the same share of a small sender current turns the needle less than that of a large one
    assert error("loads_on", 90.0) > 2 * error("loads_on", 40.0)
    assert error("loads_on", 90.0) > 0.04


def test_a_drop_test_finds_it_only_under_load() -> None:
    check, fault = "drop_between:engine_block:battery_negative", "engine_strap=high@0.3"
    still = bench(NAME, "key_on_cold", check, fault).reading
    loaded = bench(NAME, "loads_on", check, fault).reading
    # cold, 670 ohm of sender: 12.5/742 = 17 mA in 0.302 ohm is 5 mV
    assert still == pytest.approx(12.5 / (SENSING + sender(20.0)) * 0.302, rel=0.02)
    assert abs(still) < 0.1 < abs(loaded)


def test_the_fuel_gauge_grounded_at_the_body_does_not_care_for_the_engine_strap() -> None:
    fault = "engine_strap=high@0.3"
    sound = bench("cluster_air_core", "loads_on", free=True)
    seen = bench("cluster_air_core", "loads_on", "", fault, free=True)
    assert seen.needles["temperature"] - sound.needles["temperature"] > 0.03
    assert abs(seen.needles["fuel"] - sound.needles["fuel"]) < 0.005
