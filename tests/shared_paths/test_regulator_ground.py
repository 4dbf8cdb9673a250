"""Without the regulator's ground, heater-type gauges get the full supply and all read high.

The regulator's heater carries nothing, the contact never opens, and each gauge takes P = (V/R)^2 R_heater
in its winding R_heater = 20*(1 + 0.01*0.01965) = 20.004 ohm (resistance wire at 25 degC), R with its sender
and wires. That a lost regulator ground makes every gauge on it read high: common practice, no source.
"""

from __future__ import annotations

import pytest
from shared_paths.bench import bench, power_scale

from gaugesim.circuit import find

# battery 12.5 V behind 0.02 + 0.005 + 0.01 + 0.02 + 0.08 + 0.01 = 0.145 ohm to the foil, then 0.02 + 0.02 ohm
FEED = 0.145 + 0.04
HEATER = 20.004
# stud I, stud S, foil, pin, wire, connector, ground of each branch
FUEL_WIRES = 0.01 + 0.01 + 0.05 + 0.01 + 0.08 + 0.01 + 0.02
ENGINE_WIRES = 0.01 + 0.01 + 0.05 + 0.01 + 0.06 + 0.01 + 0.01
BY_HAND = 0.004  # of the scale


def predicted(volts: float, senders: dict[str, float]) -> dict[str, float]:
    """Position of each gauge of the 5 V cluster on a steady supply; its gauges share the feed."""
    gauges = find("cluster_bimetal_5v").sheet.gauges
    ohms = {
        gauge: HEATER + sender + (FUEL_WIRES if gauge == "fuel" else ENGINE_WIRES)
        for gauge, sender in senders.items()
    }
    whole = 1 / sum(1 / value for value in ohms.values())
    at_foil = volts * whole / (whole + FEED)
    return {
        gauge: power_scale(gauges[gauge], (at_foil / value) ** 2 * HEATER) for gauge, value in ohms.items()
    }


@pytest.mark.parametrize("fault", ["regulator_ground=open", "regulator=no_ground"])
def test_every_needle_reads_high_without_the_regulators_ground(fault: str) -> None:
    # tank empty 73 ohm; 50 degC: 27*exp(3900*(1/323.15 - 1/353.15)) = 75.3 ohm; no oil pressure 73 ohm
    given = {"fuel_level": 0.0, "coolant_celsius": 50.0, "oil_bar": 0.0}
    sound = bench("cluster_bimetal_5v", "lights_off", free=True, **given)
    assert sound.needles == pytest.approx(dict.fromkeys(sound.needles, 0.0), abs=0.02)
    assert 0 < sound.duty < 1
    seen = bench("cluster_bimetal_5v", "lights_off", "", fault, free=True, **given)
    assert seen.duty == 1
    expected = predicted(12.5, {"fuel": 73.0, "temperature": 75.3, "oil_pressure": 73.0})
    assert seen.needles == pytest.approx(expected, abs=BY_HAND)
    # by hand for the fuel gauge: 12.5*31.3/(31.3 + 0.185) = 12.43 V, (12.43/93.19)^2*20.004 = 0.356 W,
    # (0.356 - 0.0576)/(0.549 - 0.0576) = 0.607: an empty tank reads above half
    assert expected["fuel"] == pytest.approx(0.607, abs=0.001)


def test_at_the_middle_of_their_scales_all_lie_on_the_high_stop() -> None:
    given = {"fuel_level": 0.5, "coolant_celsius": 88.8, "oil_bar": 2.0}
    seen = bench("cluster_bimetal_5v", "lights_off", "", "regulator_ground=open", free=True, **given)
    # 20.5 ohm each: (12.38/40.7)^2*20.004 = 1.85 W, six times what is at half scale: the square of 12.4/5
    expected = predicted(12.5, dict.fromkeys(seen.needles, 20.5))
    assert seen.needles == pytest.approx(expected, rel=0.02)
    assert min(expected.values()) > 3
    stopped = bench("cluster_bimetal_5v", "lights_off", "", "regulator_ground=open", **given)
    assert stopped.needles == dict.fromkeys(seen.needles, 1.1)


def test_the_output_then_no_longer_pulses() -> None:
    sound = bench("cluster_bimetal_5v", "lights_off", "volts_at:regulator_out")
    assert sound.pulses
    # closed, 0.93 A (three gauges of 40.7, 43.2 and 93.1 ohm and the heater's 60) over 0.165 ohm leave
    # 12.35 V; RMS 5 V of it: closed (5/12.35)^2 = 0.164 of the time, a mean of 25/12.35 = 2.02 V
    assert sound.duty == pytest.approx((5 / 12.35) ** 2, rel=0.005)
    assert sound.reading == pytest.approx(25 / 12.35, rel=0.005)
    seen = bench("cluster_bimetal_5v", "lights_off", "volts_at:regulator_out", "regulator_ground=open")
    assert not seen.pulses
    assert seen.reading == pytest.approx(12.5 - (0.93 - 12.35 / 60) * 0.165, rel=0.001)


def test_the_whole_panels_ground_does_the_same_with_the_lights_off() -> None:
    given = {"fuel_level": 0.0, "coolant_celsius": 50.0, "oil_bar": 0.0}
    own = bench("cluster_bimetal_5v", "lights_off", "", "regulator_ground=open", free=True, **given)
    panel = bench("cluster_bimetal_5v", "lights_off", "", "panel_ground=open", free=True, **given)
    assert panel.needles == pytest.approx(own.needles, abs=1e-6)


def test_a_poor_regulator_ground_lifts_what_the_regulator_holds() -> None:
    # 60 ohm of heater (60.012 at 25 degC) and 20 ohm of joint: the heater gets its 5 V RMS when the output
    # has 5*80.02/60.012 = 6.667 V, so every winding takes (80.02/60.012)^2 = 1.778 times the power
    given = {"fuel_level": 0.25, "coolant_celsius": 70.0, "oil_bar": 1.0}
    gauges = find("cluster_bimetal_5v").sheet.gauges
    sound = bench("cluster_bimetal_5v", "lights_off", free=True, **given)
    seen = bench("cluster_bimetal_5v", "lights_off", "", "regulator_ground=high@20", free=True, **given)
    for gauge in gauges.values():
        span = gauge.high - gauge.low
        watts = sound.needles[gauge.id] * span + gauge.low
        expected = power_scale(gauge, watts * (80.022 / 60.022) ** 2)
        assert seen.needles[gauge.id] == pytest.approx(expected, abs=BY_HAND), gauge.id


def test_the_ten_volt_cluster_reads_high_too() -> None:
    sound = bench("cluster_bimetal_10v", "lights_off", free=True)
    seen = bench("cluster_bimetal_10v", "lights_off", "", "regulator_ground=open", free=True)
    rule = find("cluster_bimetal_10v").sheet.gauges
    for name, gauge in rule.items():
        before = sound.needles[name] * (gauge.high - gauge.low) + gauge.low
        after = seen.needles[name] * (gauge.high - gauge.low) + gauge.low
        # two gauges of 100 ohm or so draw 0.25 A over 0.165 ohm: from 10 V RMS to a steady 12.46 V
        assert after / before == pytest.approx((12.46 / 10) ** 2, rel=0.005), name
