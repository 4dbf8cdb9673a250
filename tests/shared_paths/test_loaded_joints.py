"""A joint that passes a meter but not a load: battery voltage unloaded, and it fails loaded.

A voltmeter of 10 megohm loses a millionth of its volts behind 10 ohm; what a lamp, a resistor or the gauge
itself draws stays in the joint. The test lamp is 3.6 W at 12 V, 40 ohm lit and a tenth of that cold, its
ohms R = 40*(0.1^m + (1 - 0.1^m)(V/12)^2)^(1/m) with m = 2/0.45 (physics.lamp; tenfold rise common practice,
no source).
"""

from __future__ import annotations

from math import atan2, cos, degrees, radians, sin

import pytest
from shared_paths.bench import bench, scale
from shared_paths.bench import coolant_ohms as sender

from gaugesim.circuit import available, find
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.solve import nodal

NAME = "temp_two_coil"
GAUGE = find(NAME).sheet.gauges["temperature"]
FIXED, SENSING = 150 * 1.01965, 70 * 1.01965
METER = 10e6
FEED = 0.02 + 0.005 + 0.01 + 0.02 + 0.08 + 0.01 + 0.05 + 0.01
GROUND = 0.01 + 0.05 + 0.01 + 0.02 + 0.002
SENDER_WIRES = 0.01 + 0.05 + 0.01 + 0.06 + 0.01 + 0.01


def needle(branch: float) -> float:
    """Fixed coil, 300 turns at 0 degrees; sensing coil with its branch to ground, 200 at 120."""
    fixed, sensing = 300 / (FIXED + GROUND), 200 / (SENSING + branch)
    x = fixed + sensing * cos(radians(120))
    return scale(GAUGE, degrees(atan2(sensing * sin(radians(120)), x)))


def lamp_volts(volts: float, ohms: float) -> float:
    """Volts of the test lamp behind a resistance, halving the interval until the currents agree."""
    low, high, m = 0.0, volts, 2 / 0.45
    for _ in range(60):
        at = (low + high) / 2
        filament = 40 * (0.1**m + (1 - 0.1**m) * (at / 12) ** 2) ** (1 / m)
        if at / filament < (volts - at) / ohms:
            low = at
        else:
            high = at
    return low


# ---- at the fuse, key off: nothing but the instrument draws ----


@pytest.mark.parametrize("ohms", [10.0, 100.0, 300.0])
def test_a_poor_fuse_holder_shows_battery_voltage_to_a_meter_and_no_light_to_a_lamp(ohms: float) -> None:
    fault = f"fuse=high@{ohms}"
    meter = bench(NAME, "key_off", "volts_at:fuse_out", fault)
    assert meter.reading == pytest.approx(12.6 * METER / (METER + ohms), abs=1e-4)
    lamp = bench(NAME, "key_off", "lamp_at:fuse_out", fault)
    expected = lamp_volts(12.6, ohms + 0.035)
    assert lamp.reading == pytest.approx(expected, rel=1e-4)
    # the sound fuse: 12.6 V over 40 ohm lose 0.01 V in 0.035 ohm
    sound = bench(NAME, "key_off", "lamp_at:fuse_out")
    assert sound.reading == pytest.approx(12.6 * 40.9 / (40.9 + 0.035), rel=1e-3)
    assert sound.reading > 0.7 * 12  # bright
    if ohms >= 100:
        assert lamp.reading < 0.2 * 12  # out


# ---- at the sender's lead, unplugged ----


@pytest.mark.parametrize("ohms", [20.0, 300.0, 2000.0])
def test_a_poor_pin_shows_battery_voltage_at_the_open_lead_and_starves_a_resistor(ohms: float) -> None:
    fault = f"panel_connector_sender=high@{ohms}"
    # the fixed coil's 0.08 A loses 0.01 V in the feed
    at_stud = 12.5 * (FIXED + GROUND) / (FIXED + GROUND + FEED - 0.01)
    meter = bench(NAME, "key_on_cold", "sender_lead_volts", fault)
    assert meter.reading == pytest.approx(at_stud * METER / (METER + SENSING + ohms), rel=3e-4)
    assert meter.reading > 0.99 * 12.5
    resistor = bench(NAME, "key_on_cold", "substitute:33", fault, free=True)
    wires = SENDER_WIRES - 0.02  # without the sender's connector and threads
    assert resistor.needles["temperature"] == pytest.approx(needle(33 + wires + ohms), abs=0.003)
    sound = bench(NAME, "key_on_cold", "substitute:33", free=True)
    assert sound.needles["temperature"] == pytest.approx(needle(33 + wires), abs=0.003)
    assert sound.needles["temperature"] - resistor.needles["temperature"] > 0.1


@pytest.mark.parametrize("ohms", [20.0, 300.0, 2000.0])
def test_with_the_sender_on_the_same_pin_drops_what_the_load_draws(ohms: float) -> None:
    fault = f"panel_connector_sender=high@{ohms}"
    seen = bench(NAME, "running_warm", "drop_across:panel_connector_sender", fault, coolant_celsius=90.0)
    whole = SENSING + sender(90.0) + SENDER_WIRES + ohms
    # battery and alternator together hold 13.56 V (by Millman); the feed's 0.2 ohm takes 0.3 % of it
    held = (13.4 / 0.02 + 14.2 / 0.082) / (1 / 0.02 + 1 / 0.082)
    assert held == pytest.approx(13.56, abs=0.01)
    assert seen.reading == pytest.approx(held * (ohms + 0.01) / whole, rel=0.01)
    sound = bench(NAME, "running_warm", "drop_across:panel_connector_sender", coolant_celsius=90.0)
    # 0.11 A in 0.01 ohm: a millivolt, of which the trade asks for less than 100
    assert sound.reading == pytest.approx(held * 0.01 / (whole - ohms), rel=0.03)
    assert sound.reading < 0.1 < seen.reading


def test_the_ohmmeter_finds_it_too_if_it_is_ohms_and_not_only_load() -> None:
    seen = bench(NAME, "key_off", "ohms_across:panel_connector_sender", "panel_connector_sender=high@20")
    assert seen.reading == pytest.approx(20.01, abs=1e-6)


def test_the_gauge_is_load_enough_for_a_poor_feed() -> None:
    # 10 ohm in the fuse holder, key on, cold: 153 ohm beside 71.4 + 673 ohm draw through it
    load = 1 / (1 / (FIXED + GROUND) + 1 / (SENSING + sender(20.0) + SENDER_WIRES))
    expected = 12.5 * load / (load + 10 + FEED)
    seen = bench(NAME, "key_on_cold", "volts_at:panel_feed", "fuse=high@10")
    assert seen.reading == pytest.approx(expected, rel=2e-3)
    # and the needle does not know: both coils lose the same share
    sound = bench(NAME, "key_on_cold", free=True).needles["temperature"]
    assert bench(NAME, "key_on_cold", "", "fuse=high@10", free=True).needles["temperature"] == pytest.approx(
        sound, abs=1e-3
    )


def test_a_lamp_on_the_boats_feed_fails_where_the_meter_passes() -> None:
    # harness plug's feed pin 100 ohm, key off: the meter sees all, the lamp next to nothing
    fault = "harness_plug_feed=high@100"
    sound = bench("boat_panel", "key_off", "lamp_at:fuse_out")
    assert sound.reading > 12
    # before the pin all is well, behind it not: the key is on the panel, so it must be on
    before = bench("boat_panel", "lights_off", "lamp_at:fuse_out", fault)
    behind = bench("boat_panel", "lights_off", "lamp_at:panel_feed", fault)
    assert before.reading > 12
    assert behind.reading < 0.2 * 12


# ---- the ohmmeter, everything connected ----


def test_the_ohmmeter_sees_every_parallel_path() -> None:
    # key off, from the engine block to battery negative: the strap's 2 milliohm, and beside it the gauge's
    # chain from the sender's thread to the ground stud, 20 degC: 673 + 71.4 + 153 ohm
    block = "ohms_between:engine_block:battery_negative"
    chain = sender(20.0) + SENDER_WIRES - 0.01 + SENSING + FIXED + GROUND
    sound = bench(NAME, "key_off", block, coolant_celsius=20.0)
    assert sound.reading == pytest.approx(0.002 * chain / (0.002 + chain), abs=1e-6)
    # with the strap gone it is the chain alone that it finds, not an open
    lost = bench(NAME, "key_off", block, "engine_strap=open", coolant_celsius=20.0)
    assert lost.reading == pytest.approx(chain, rel=1e-3)
    # a strap of 300 ohm hides behind it: 300 beside 897 ohm
    poor = bench(NAME, "key_off", block, "engine_strap=300", coolant_celsius=20.0)
    assert poor.reading == pytest.approx(300 * chain / (300 + chain), rel=1e-3)
    assert poor.reading < 0.8 * 300


# ---- ten megohm in every check ----


@pytest.mark.parametrize("name", available())
def test_every_voltmeter_takes_its_share_of_the_source_that_it_hangs_on(name: str) -> None:
    """By Thévenin: open volts, and volts behind another load, give the source; the meter is the third."""
    circuit = find(name)
    seen, other = 0, 2e6
    for check in (find_check(circuit, check) for check in check_ids(circuit)):
        if check.reads != "volts":
            continue
        situation = Situation.of(circuit, "key_on_cold", check)
        if len(situation.phases) > 1:
            continue  # a regulator's pulses are a mean
        points = situation.network.ends[situation.network.branch("meter")]
        open_volts, loaded = (
            solved.voltages[points[0]] - solved.voltages[points[1]]
            for solved in (
                nodal.solve(situation.network.with_ohms({"meter": ohms})) for ohms in (1e12, other)
            )
        )
        source = other * (open_volts - loaded) / loaded if loaded else 0.0
        shown = respond(situation).reading
        assert shown is not None
        assert shown[0] == pytest.approx(open_volts * METER / (METER + source), rel=1e-4, abs=1e-7), check.id
        seen += 1
    assert seen > 10 or circuit.sheet.regulator
