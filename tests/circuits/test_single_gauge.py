"""The symptoms of each air-core movement, alone and beside others, and what single gauges do.

Expected symptoms follow from Kirchhoff's laws and each movement's wiring, worked out by hand in the comments.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from circuits.looking import SCALE_ERROR, UNTOUCHED, Snapshot, see
from oracles import two_coil_series_degrees

from gaugesim.circuit import Circuit, find

TEMPERATURE = ("temp_two_coil", "temp_three_coil", "temp_bridge")
SERIES = ("fuel_two_coil_0_90", "fuel_two_coil_0_30")
FUEL = (*SERIES, "fuel_three_coil_240_33", "fuel_four_coil")
CIRCUITS = (*TEMPERATURE, *FUEL)
CLUSTERS = ("cluster_bimetal_5v", "cluster_bimetal_10v", "cluster_air_core", "boat_panel")
# what is in series with the sender, and with the coil that ends at stud G
BRANCH = (
    "stud_sender",
    "foil_sender",
    "panel_connector_sender",
    "sender_wire",
    "sender_connector",
    "sender",
    "sender_ground",
)
GROUND_BRANCH = ("stud_ground", "foil_ground", "panel_connector_ground", "panel_ground")


def ends(circuit: Circuit) -> tuple[dict[str, float], dict[str, float]]:
    """True values at the scale's low and top mark."""
    gauge = circuit.gauge()
    return {gauge.reads: gauge.marks[0].at}, {gauge.reads: gauge.marks[-1].at}


def sender_open(circuit: Circuit, given: Mapping[str, float], *opened: str) -> Snapshot:
    return see(circuit, given=given, opened=("sender_connector", *opened))


def lead_grounded(circuit: Circuit, given: Mapping[str, float], *opened: str) -> Snapshot:
    return see(circuit, given=given, opened=("sender_connector", *opened), joined=(("sender_lead", "0"),))


@pytest.mark.parametrize("name", [*CIRCUITS, "cluster_air_core", "boat_panel", "boat_two_station"])
def test_nothing_drives_a_needle_with_the_key_off_or_the_feed_lost(name: str) -> None:
    circuit = find(name)
    feed = ("fuse", "feed_wire", "harness_plug_feed" if name.startswith("boat") else "foil_feed")
    for seen in (see(circuit, "key_off"), *(see(circuit, opened=(part,)) for part in feed)):
        assert np.all(np.isnan([*seen.degrees.values()]))


# Sender open, lead grounded, ground stud open: each the needle's direction, None where it takes more than a
# glance at the wiring, and the end of the scale. With the sender open one current runs through all coils of a
# series movement, so turns add up; with the lead grounded nothing flows beyond S, nor does it with the ground
# stud open, and the low-ohm coil, coil E or the feed pair is left alone.
Symptoms = tuple[tuple[float | None, str], ...]
TWO_COIL: Symptoms = ((0.0, "low"), (None, "high"), (120.0, "high"))
THREE_COIL: Symptoms = ((np.degrees(np.arctan2(500, 350 - 700)), "low"), (0.0, "high"), (0.0, "high"))
SYMPTOMS: dict[tuple[str, str], Symptoms] = {
    ("temp_two_coil", ""): TWO_COIL,
    ("temp_three_coil", ""): (
        (np.degrees(np.arctan2(500, 200 - 450)), "low"), (0.0, "high"), (0.0, "high")
    ),
    ("fuel_two_coil_0_90", ""): ((np.degrees(np.arctan2(730, 200)), "high"), (0.0, "low"), (0.0, "low")),
    ("fuel_two_coil_0_30", ""): ((np.degrees(np.arctan2(550, 150)), "high"), (0.0, "low"), (0.0, "low")),
    ("fuel_three_coil_240_33", ""): THREE_COIL,
    ("fuel_four_coil", ""): (
        (np.degrees(np.arctan2(250 - 250, 250 - 920)), "low"), (45.0, "high"), (45.0, "high")
    ),
    ("cluster_air_core", "fuel"): THREE_COIL,
    ("cluster_air_core", "temperature"): TWO_COIL,
    ("cluster_air_core", "oil_pressure"): (
        (np.degrees(np.arctan2(700, 200)), "high"), (0.0, "low"), (0.0, "low")
    ),
    ("boat_panel", "fuel"): THREE_COIL,
    ("boat_panel", "temperature"): THREE_COIL,
    ("boat_panel", "oil_pressure"): THREE_COIL,
}  # fmt: skip


@pytest.mark.parametrize(("name", "gauge"), SYMPTOMS)
def test_each_movement_shows_its_own_symptoms(name: str, gauge: str) -> None:
    circuit = find(name)
    shown = circuit.gauge(gauge or None)
    connector, stud = (circuit.part(part, shown.id).id for part in ("sender_connector", "stud_ground"))
    wire = (circuit.point("sender_lead", shown.id).node, "0")
    for mark in (shown.marks[0], shown.marks[-1]):
        at = {shown.reads: mark.at}
        sound = see(circuit, given=at)
        seen = (
            see(circuit, given=at, opened=(connector,)),
            see(circuit, given=at, opened=(connector,), joined=(wire,)),
            see(circuit, given=at, opened=(stud,)),
        )
        for one, (degrees, end) in zip(seen, SYMPTOMS[name, gauge], strict=True):
            position = one.positions[shown.id]
            assert position >= 1 if end == "high" else position <= SCALE_ERROR
            if degrees is not None:
                # the foil and the wire leave a few tenths of an ohm between a grounded lead and the coils
                assert one.degrees[shown.id] == pytest.approx(degrees, abs=0.5)
            for other in {*sound.positions} - {shown.id, "voltmeter"}:
                assert one.positions[other] == pytest.approx(sound.positions[other], abs=UNTOUCHED)


def test_the_bridge_swings_to_either_end_and_rests_at_half_without_its_tap() -> None:
    circuit = find("temp_bridge")
    cold, hot = ends(circuit)
    for at in (cold, hot):
        assert sender_open(circuit, at).position < 0
        assert lead_grounded(circuit, at).position > 1
        for seen in (
            see(circuit, given=at, opened=("stud_tap",)),
            sender_open(circuit, at, "stud_tap"),
            lead_grounded(circuit, at, "stud_tap"),
        ):
            assert seen.position == pytest.approx(0.5, abs=1e-12)
    # without the reference coil the bridge coil alone points a quarter turn from mid scale
    assert see(circuit, given=cold, opened=("stud_ground",)).direction == pytest.approx(180)
    assert see(circuit, given=hot, opened=("stud_ground",)).direction == pytest.approx(0)


@pytest.mark.parametrize("name", CIRCUITS)
def test_the_open_lead_reads_battery_only_where_nothing_else_loads_it(name: str) -> None:
    circuit = find(name)

    def lead(*opened: str) -> float:
        seen = see(circuit, "key_on_cold", opened=("sender_connector", *opened))
        return seen.volts("sender_lead") / seen.volts("battery_positive")

    if name == "temp_two_coil":
        assert lead() > 0.99
        return
    assert lead() < 0.85
    # the coil that loads it is then off: the ground stud's, or at the bridge the tap's
    assert lead("stud_tap" if name == "temp_bridge" else "stud_ground") > 0.99


@pytest.mark.parametrize("name", SERIES)
def test_the_series_two_coil_obeys_its_closed_form(name: str) -> None:
    circuit = find(name)
    coil_e, coil_f = circuit.gauge().coils
    for level in (0.0, 0.3, 1.0):
        given = {"fuel_level": level}
        values = circuit.values(circuit.parameters("key_on_cold", given))
        # the sender's branch and the gauge's ground meet at the body; all that is in series belongs to each
        branch = [circuit.part(part).element for part in BRANCH]
        ground = [circuit.part(part).element for part in GROUND_BRANCH]
        expected = two_coil_series_degrees(
            sum(float(values[part]) for part in branch),
            sum(float(values[part]) for part in (coil_f.element, *ground)),
            coil_f.turns / coil_e.turns,
        )
        assert see(circuit, "key_on_cold", given).direction == pytest.approx(expected, abs=1e-6)


def test_the_three_coil_obeys_its_closed_form() -> None:
    # S to G carries a current, the sender R2/Rs times as much, the low-ohm coil both:
    # cot(angle) = (n_low (1 + R2/Rs) - n_bucking)/n_high; supply and low-ohm coil's resistance are gone
    circuit = find("fuel_three_coil_240_33")
    low, bucking, high = (coil.turns for coil in circuit.gauge().coils)
    for level in (0.0, 0.5, 1.0):
        given = {"fuel_level": level}
        values = circuit.values(circuit.parameters("key_on_cold", given))
        sender = sum(float(values[circuit.part(part).element]) for part in BRANCH)
        through = sum(
            float(values[circuit.part(part).element])
            for part in ("coil_bucking", "coil_high", *GROUND_BRANCH)
        )
        cotangent = (low * (1 + through / sender) - bucking) / high
        seen = see(circuit, "key_on_cold", given)
        assert seen.direction == pytest.approx(np.degrees(np.arctan2(1.0, cotangent)), abs=1e-6)


@pytest.mark.parametrize("name", FUEL)
def test_a_worn_spot_shows_only_where_the_float_passes_it(name: str) -> None:
    circuit = find(name)
    without = sender_open(circuit, {}).position
    for level, worn in ((0.5, True), (0.58, False)):
        sound = see(circuit, given={"fuel_level": level}).position
        seen = see(circuit, given={"fuel_level": level, "float_spot": 0.5}).position
        assert seen == pytest.approx(without if worn else sound, abs=1e-4)


@pytest.mark.parametrize("name", FUEL)
def test_a_stuck_float_does_not_follow_the_tank(name: str) -> None:
    circuit = find(name)
    mode = circuit.part("sender").modes["stuck"]
    assert set(mode.set) == {"float_level"}
    held = [see(circuit, given={"fuel_level": level, "float_level": 0.25}).position for level in (0.0, 1.0)]
    assert held[0] == pytest.approx(held[1], abs=1e-12)
    assert held[0] == pytest.approx(see(circuit, given={"fuel_level": 0.25}).position, abs=1e-12)


@pytest.mark.parametrize("name", FUEL)
def test_a_sender_of_the_wrong_range_reads_wrong_at_an_end(name: str) -> None:
    circuit = find(name)
    mode = circuit.part("sender").modes["wrong_range"]
    wrong = {parameter: float(expression(lambda _: 0.0)) for parameter, expression in mode.set.items()}
    errors = [
        see(circuit, given={**at, **wrong}).position - see(circuit, given=at).position for at in ends(circuit)
    ]
    assert max(map(abs, errors)) > 0.5


@pytest.mark.parametrize("name", [*FUEL, *CLUSTERS])
def test_the_fuel_states_set_the_tank(name: str) -> None:
    circuit = find(name)

    def fuel(state: str, opened: tuple[str, ...] = (), **given: float) -> float:
        return see(circuit, state, given, opened).positions["fuel"]

    states = {"tank_empty": 0.0, "tank_half": 0.5, "tank_full": 1.0}
    positions = [fuel(state) for state in states]
    if name in CLUSTERS:
        assert positions == pytest.approx([*states.values()], abs=SCALE_ERROR)
    else:
        assert positions == pytest.approx(
            [fuel("key_on_cold", fuel_level=level) for level in states.values()], abs=1e-12
        )
    # the sender has a ground of its own: without it the sender is as good as unplugged
    ground, connector = (circuit.part(part, "fuel").id for part in ("sender_ground", "sender_connector"))
    assert fuel("tank_half", (ground,)) == pytest.approx(fuel("tank_half", (connector,)), abs=1e-9)
