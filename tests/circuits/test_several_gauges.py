"""The scales of all circuits; of those with several gauges the symptoms of each, and of what they share.

Expected symptoms follow from Kirchhoff's laws and the wiring, worked out by hand in the comments. A heated
gauge answers to the mean square of a pulsing voltage; below the regulator's design voltage its reading falls
with the supply (US shop manual 1948-52, instrument voltage regulator).
"""

from __future__ import annotations

import numpy as np
import pytest
from circuits.looking import FREE, SCALE_ERROR, UNTOUCHED, Snapshot, see

from gaugesim.circuit import Circuit, available, find
from gaugesim.physics import bimetal

BIMETAL = ("cluster_bimetal_5v", "cluster_bimetal_10v")
AIR_CORE = ("cluster_air_core", "boat_panel", "boat_two_station")
CIRCUITS = (*BIMETAL, *AIR_CORE)
WITH_FUEL = (*BIMETAL, "cluster_air_core", "boat_panel")
STEADY_STATES = ("lights_off", "key_on_cold", "running_warm", "lights_on", "loads_on")
FIVE_MARKS = 5
# where a three-coil movement without sender points: one current runs through all its coils
ALL_TURNS = float(np.degrees(np.arctan2(500, 350 - 700)))
# parts of one gauge's own chain: with any of them open no current reaches its sender
CHAIN = ("stud_sender", "sender_wire", "sender_connector", "sender", "sender_ground")


def with_sender(circuit: Circuit) -> list[str]:
    return [gauge for gauge in circuit.sheet.gauges if gauge != "voltmeter"]


def own(circuit: Circuit, gauge: str, part: str) -> str:
    return circuit.part(part, gauge).id


def lead(circuit: Circuit, gauge: str) -> str:
    return circuit.point("sender_lead", gauge).node


def others(seen: Snapshot, sound: Snapshot, *gauges: str) -> list[float]:
    """How far the needles of all other gauges have moved."""
    return [
        abs(seen.positions[name] - sound.positions[name]) for name in sound.positions if name not in gauges
    ]


def dead(circuit: Circuit, seen: Snapshot, gauge: str) -> bool:
    """Whether a heated gauge is cold: it then rests where no power at all puts it."""
    rule = circuit.sheet.gauges[gauge]
    # the alternator's current lifts engine and body by millivolts, which drive microwatts through the heaters
    return seen.positions[gauge] == pytest.approx(-rule.low / (rule.high - rule.low), abs=1e-5)


# ---- scales ----


@pytest.mark.parametrize("name", available())
@pytest.mark.parametrize("state", STEADY_STATES)
def test_every_sound_needle_stands_at_its_marks(name: str, state: str) -> None:
    circuit = find(name)
    for gauge in circuit.sheet.gauges.values():
        assert len(gauge.marks) == FIVE_MARKS
        assert [mark.position for mark in gauge.marks] == sorted(mark.position for mark in gauge.marks)
        if gauge.id == "voltmeter" and state not in ("lights_off", "key_on_cold"):
            continue  # what it reads is the battery's own voltage only while nothing charges or loads it
        for mark in gauge.marks:
            seen = see(circuit, state, {gauge.reads: mark.at})
            assert seen.positions[gauge.id] == pytest.approx(mark.position, abs=SCALE_ERROR), (
                gauge.id,
                mark.at,
            )


@pytest.mark.parametrize("name", available())
def test_every_needle_climbs_all_the_way(name: str) -> None:
    circuit = find(name)
    for gauge in circuit.sheet.gauges.values():
        values = np.linspace(gauge.marks[0].at, gauge.marks[-1].at, 33)
        positions = [see(circuit, given={gauge.reads: at}).positions[gauge.id] for at in values]
        assert np.all(np.diff(positions) > 0), gauge.id


@pytest.mark.parametrize("name", CIRCUITS)
def test_what_one_sender_does_leaves_the_other_needles_alone(name: str) -> None:
    circuit = find(name)
    for gauge in with_sender(circuit):
        rule = circuit.sheet.gauges[gauge]
        low, high = (see(circuit, given={rule.reads: mark.at}) for mark in (rule.marks[0], rule.marks[-1]))
        same = [other.id for other in circuit.sheet.gauges.values() if other.reads == rule.reads]
        assert max(others(low, high, *same), default=0.0) < UNTOUCHED


def test_the_voltmeter_shows_the_panels_voltage() -> None:
    circuit = find("boat_panel")
    # 10 V at the low mark and 16 V at the top one, over the ohms of its own branch
    for state in ("lights_off", "running_warm", "lights_on"):
        seen = see(circuit, state)
        volts = seen.volts("panel_feed") - seen.volts("panel_ground")
        assert seen.positions["voltmeter"] == pytest.approx((volts - 10) / 6, abs=SCALE_ERROR)


# ---- symptoms of one gauge's own branch ----


@pytest.mark.parametrize("name", WITH_FUEL)
def test_any_open_part_of_a_chain_is_as_good_as_an_unplugged_sender(name: str) -> None:
    circuit = find(name)
    sound = see(circuit)
    for gauge in with_sender(circuit):
        unplugged = see(circuit, opened=(own(circuit, gauge, "sender_connector"),)).positions[gauge]
        for part in CHAIN:
            seen = see(circuit, opened=(own(circuit, gauge, part),))
            assert seen.positions[gauge] == pytest.approx(unplugged, abs=1e-9), part
            assert max(others(seen, sound, gauge)) < UNTOUCHED


@pytest.mark.parametrize("name", BIMETAL)
def test_a_heated_gauge_is_dead_without_sender_and_pegged_with_its_lead_grounded(name: str) -> None:
    circuit = find(name)
    sound = see(circuit)
    for gauge in circuit.sheet.gauges:
        connector = own(circuit, gauge, "sender_connector")
        assert dead(circuit, see(circuit, opened=(connector,)), gauge)
        assert dead(circuit, see(circuit, opened=(own(circuit, gauge, "stud_feed"),)), gauge)
        assert dead(circuit, see(circuit, opened=(own(circuit, gauge, "coil_heater"),)), gauge)
        grounded = see(circuit, opened=(connector,), joined=((lead(circuit, gauge), "0"),))
        assert grounded.positions[gauge] > 1.5
        # the regulator holds its voltage against this, too
        assert max(others(grounded, sound, gauge)) < UNTOUCHED


@pytest.mark.parametrize(
    ("name", "gauge", "share"),
    [
        ("cluster_air_core", "temperature", 1.0),
        ("cluster_air_core", "fuel", (90 + 110) / (80 + 90 + 110)),
        ("cluster_air_core", "oil_pressure", 400 / (90 + 400)),
        ("boat_panel", "fuel", (90 + 110) / (80 + 90 + 110)),
        ("boat_two_station", "temperature", (90 + 110) / (80 + 90 + 110)),
        ("cluster_bimetal_5v", "fuel", 1.0),
        ("cluster_bimetal_10v", "temperature", 1.0),
    ],
)
def test_the_open_lead_shows_the_share_of_the_supply_that_the_movement_leaves(
    name: str, gauge: str, share: float
) -> None:
    circuit = find(name)
    seen = see(circuit, "key_on_cold", opened=(own(circuit, gauge, "sender_connector"),))
    # a regulator's contact stands closed here: this is the height of the pulses
    assert seen.volts(lead(circuit, gauge)) / seen.volts("panel_feed") == pytest.approx(share, rel=0.01)


# ---- the regulator ----


@pytest.mark.parametrize(("name", "volts"), [("cluster_bimetal_5v", 5.0), ("cluster_bimetal_10v", 10.0)])
def test_the_heaters_get_the_power_of_the_design_voltage(name: str, volts: float) -> None:
    circuit = find(name)
    for gauge in circuit.sheet.gauges.values():
        values = circuit.values(circuit.parameters("lights_off"))
        heater = float(values[gauge.element])
        sender = float(values[circuit.part("sender", gauge.id).element])
        power = heater * (volts / (heater + sender)) ** 2
        seen = see(circuit, "lights_off").positions[gauge.id]
        # studs, foil and wire have a few tenths of an ohm in all
        assert seen == pytest.approx(
            float(bimetal.position(power, gauge.low, gauge.high, FREE)), abs=SCALE_ERROR
        )


@pytest.mark.parametrize(("name", "volts"), [("cluster_bimetal_5v", 4.0), ("cluster_bimetal_10v", 8.0)])
def test_below_the_design_voltage_the_needles_fall_with_the_supply(name: str, volts: float) -> None:
    circuit = find(name)
    low = see(circuit, "lights_off", {"battery_volts": volts})
    lower = see(circuit, "lights_off", {"battery_volts": volts / 2})
    assert low.duty == lower.duty == 1
    for gauge in circuit.sheet.gauges.values():
        power = [gauge.low + seen.positions[gauge.id] * (gauge.high - gauge.low) for seen in (low, lower)]
        assert power[0] == pytest.approx(4 * power[1], rel=1e-9)


@pytest.mark.parametrize("name", BIMETAL)
def test_a_regulator_without_ground_or_with_welded_contacts_drives_every_gauge_high(name: str) -> None:
    circuit = find(name)
    sound = see(circuit)
    welded = {
        parameter: float(expression(lambda _: 0.0))
        for parameter, expression in circuit.part("regulator").modes["stuck_closed"].set.items()
    }
    for seen in (
        see(circuit, opened=("regulator_ground",)),
        see(circuit, opened=("panel_ground",)),
        see(circuit, given=welded),
    ):
        assert seen.duty == 1
        for gauge, rule in circuit.sheet.gauges.items():
            # the mean square rises from the design voltage's to the supply's
            power = [rule.low + one.positions[gauge] * (rule.high - rule.low) for one in (seen, sound)]
            assert power[0] * sound.duty == pytest.approx(power[1], rel=0.02)
            assert seen.positions[gauge] > sound.positions[gauge] + 0.3


@pytest.mark.parametrize("name", BIMETAL)
def test_a_regulator_that_stays_open_and_a_lost_feed_kill_every_gauge(name: str) -> None:
    circuit = find(name)
    for seen in (
        see(circuit, "key_off"),
        *(see(circuit, opened=(part,)) for part in ("regulator", "foil_feed", "fuse")),
    ):
        for gauge in circuit.sheet.gauges:
            assert dead(circuit, seen, gauge)


# ---- what they share ----


def test_with_the_foils_ground_lost_the_lamps_keep_their_own_way_to_ground() -> None:
    circuit, given = find("cluster_air_core"), {"coolant_celsius": 40.0, "fuel_level": 0.5}
    off, on = (
        see(circuit, state, given, ("foil_ground",)).positions["temperature"]
        for state in ("lights_off", "lights_on")
    )
    assert off == pytest.approx(on, abs=UNTOUCHED)


@pytest.mark.parametrize("name", [*BIMETAL, "cluster_air_core"])
def test_without_the_engines_strap_its_senders_are_lost_and_the_tanks_is_not(name: str) -> None:
    circuit = find(name)
    engine = [gauge for gauge in circuit.sheet.gauges if gauge != "fuel"]
    unplugged = see(circuit, "lights_off", opened=tuple(f"{gauge}_sender_connector" for gauge in engine))
    seen = see(circuit, "lights_off", opened=("engine_strap",))
    for gauge in circuit.sheet.gauges.values():
        # on their stops: at most a little current goes from one of the engine's gauges to the other
        seen_at, wanted = (np.clip(one.positions[gauge.id], *gauge.stops) for one in (seen, unplugged))
        assert seen_at == pytest.approx(wanted, abs=UNTOUCHED)
        assert gauge.id == "fuel" or wanted in gauge.stops


def test_pin_foil_and_wire_of_the_panels_ground_are_in_series() -> None:
    circuit = find("cluster_air_core")
    positions = [
        see(circuit, "lights_on", ohms={part: 10.0}).positions
        for part in ("panel_connector_ground", "panel_ground")
    ]
    assert positions[0] == pytest.approx(positions[1], abs=0.005)


@pytest.mark.parametrize("part", ["panel_ground", "harness_plug_ground"])
def test_a_poor_ground_of_the_boats_panel_lifts_all_gauges_with_senders_and_lowers_the_voltmeter(
    part: str,
) -> None:
    circuit = find("boat_panel")
    sound = see(circuit)
    poor = [see(circuit, ohms={part: value}) for value in (5.0, 20.0)]
    for gauge in with_sender(circuit):
        assert sound.positions[gauge] < poor[0].positions[gauge] < poor[1].positions[gauge]
    assert sound.positions["voltmeter"] > poor[0].positions["voltmeter"] > poor[1].positions["voltmeter"]


def test_a_poor_feed_of_the_boats_panel_lowers_the_voltmeter_alone() -> None:
    circuit = find("boat_panel")
    sound, poor = see(circuit), see(circuit, ohms={"harness_plug_feed": 10.0})
    assert poor.positions["voltmeter"] < sound.positions["voltmeter"] - 0.2
    assert max(others(poor, sound, "voltmeter")) < UNTOUCHED


def test_the_boats_fuel_sender_does_not_go_through_the_harness_plug() -> None:
    circuit = find("boat_panel")
    assert "fuel_harness_plug_sender" not in circuit.sheet.parts
    sound = see(circuit)
    for gauge in ("temperature", "oil_pressure"):
        seen = see(circuit, ohms={f"{gauge}_harness_plug_sender": 50.0})
        assert seen.positions[gauge] < sound.positions[gauge] - 0.1
        assert max(others(seen, sound, gauge)) < UNTOUCHED


def test_one_sender_drives_both_stations_alike_and_a_common_one_reads_low() -> None:
    circuit = find("boat_two_station")
    sound = see(circuit)
    assert sound.positions["temperature"] == pytest.approx(sound.positions["temperature_second"], abs=0.005)
    for part in ("sender_wire", "harness_plug_sender", "sender_connector", "sender", "sender_ground"):
        # the movements' own turns alone: no sender for either
        assert list(see(circuit, opened=(part,)).degrees.values()) == pytest.approx([ALL_TURNS] * 2, abs=0.5)
    grounded = see(circuit, opened=("sender_connector",), joined=(("sender_lead", "0"),))
    assert min(grounded.positions.values()) > 1
    common = see(circuit, ohms={"sender": 2 * float(circuit.values({})[circuit.part("sender").element])})
    for gauge in circuit.sheet.gauges:
        assert common.positions[gauge] < sound.positions[gauge] - 0.2


def test_a_gauge_taken_off_the_shared_sender_raises_the_other() -> None:
    circuit = find("boat_two_station")
    sound = see(circuit)
    for gauge, other in (("temperature", "temperature_second"), ("temperature_second", "temperature")):
        seen = see(circuit, opened=(f"{gauge}_stud_sender",))
        assert seen.degrees[gauge] == pytest.approx(ALL_TURNS, abs=0.5)
        # one gauge on a sender for two: it has the current of both
        assert seen.positions[other] > sound.positions[other] + 0.2


# ---- the sheets ----


@pytest.mark.parametrize("name", BIMETAL)
def test_checks_that_overheat_a_winding_say_so(name: str) -> None:
    sheet = find(name).sheet
    assert "regulated_gauge" in sheet.checks["feed_direct"].cautions
    assert "second or two" in sheet.cautions["heater_gauge"].words
    assert "off the foil first" in sheet.cautions["regulated_gauge"].words
    # no resistor offered in place of a sender is below the sender's own range
    for gauge in sheet.gauges.values():
        circuit = find(name)
        top = {gauge.reads: gauge.marks[-1].at}
        least = float(circuit.values(circuit.parameters(None, top))[circuit.part("sender", gauge.id).element])
        assert min(float(ohms) for ohms in sheet.checks["substitute"].targets) > 0.5 * least


@pytest.mark.parametrize("name", [name for name in available() if "tank" in find(name).sheet.places])
def test_work_at_the_tank_warns_of_vapour_and_of_sparks(name: str) -> None:
    circuit = find(name)
    assert {"fuel_vapour", "tank_joints"} <= set(circuit.sheet.places["tank"].cautions)
    assert "vapour" in circuit.sheet.cautions["fuel_vapour"].words
    for part in ("sender", "sender_connector", "sender_ground"):
        assert circuit.part(part, "fuel").place == "tank"


@pytest.mark.parametrize("name", ["boat_panel", "boat_two_station"])
def test_work_in_a_boats_engine_space_asks_for_air_first(name: str) -> None:
    sheet = find(name).sheet
    for place in ("engine", "harness_plug", "battery"):
        assert "engine_space" in sheet.places[place].cautions


@pytest.mark.parametrize("name", CIRCUITS)
def test_the_nuts_of_a_gauge_and_the_pins_of_a_plug_fail_together(name: str) -> None:
    sheet = find(name).sheet
    for gauge in sheet.gauges:
        studs = {
            part
            for part in sheet.parts
            if part.startswith(f"{gauge}_stud_") and sheet.parts[part].gauge == gauge
        }
        groups = [group for group in sheet.groups.values() if set(group.parts) == studs]
        neighbours = [group for group in sheet.groups.values() if set(group.parts) > studs]
        assert max(group.factor for group in groups) > max(group.factor for group in neighbours) > 1
    plug = "harness_plug" if name.startswith("boat") else "panel_connector"
    pins = {part for part in sheet.parts if plug in part}
    assert any(set(group.parts) == pins for group in sheet.groups.values())


@pytest.mark.parametrize("name", CIRCUITS)
def test_crossed_leads_belong_to_two_gauges_of_the_circuit(name: str) -> None:
    circuit = find(name)
    crossing = [part for part in circuit.sheet.parts.values() if "crossed" in part.modes]
    assert bool(crossing) == (len(with_sender(circuit)) > 1 and name != "boat_two_station")
    for part in crossing:
        assert {circuit.part("sender_connector", gauge).gauge for gauge in part.crosses} == set(part.crosses)


@pytest.mark.parametrize("name", available())
def test_no_two_parts_are_called_alike(name: str) -> None:
    """Whichever gauge is complained of, the name of a part leads back to it."""
    circuit = find(name)
    for gauge in circuit.sheet.gauges:
        for part in circuit.sheet.parts:
            assert circuit.part(circuit.short_name(part, gauge), gauge).id == part
