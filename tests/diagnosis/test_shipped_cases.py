"""Each shipped case goes on with readings of a true fault, and that fault leads; another's lead to that."""

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from diagnosis.reports import report

from gaugesim.case import parse
from gaugesim.circuit import Circuit, find
from gaugesim.diagnosis import diagnose
from gaugesim.errors import CaseError
from gaugesim.paths import shipped_netlists
from gaugesim.table import load

CASES = shipped_netlists() / "cases"
# what is measured on, and for each true fault the least that it must come to
GOES_ON: dict[str, tuple[str, tuple[str, ...], dict[str, float]]] = {
    "needles_up_before_start": (
        "boat_panel",
        ("ohms_across:harness_plug_ground", "ohms_across:panel_ground"),
        {"harness_plug_ground=open": 0.8, "panel_ground=open": 0.8},
    ),
    "climbs_with_the_lights": (
        "cluster_air_core",
        ("drop_across:panel_connector_ground", "drop_across:panel_ground"),
        {"panel_connector_ground=high": 0.6, "panel_ground=high": 0.6},
    ),
    "stuck_at_half": (
        "temp_opposed_coil",
        ("drop_across:stud_bias", "volts_at:fuse_out", "volts_at:panel_feed"),
        # a blown fuse and a broken cable before it show the same there, as do switch and feed wire after it
        {"stud_bias=open": 0.8, "movement=stuck": 0.6, "fuse=open": 0.4, "feed_wire=open": 0.4},
    ),
    "all_read_high": (
        "cluster_bimetal_5v",
        (
            "jumper_across:panel_connector_ground",
            "drop_across:regulator_ground",
            "ohms_across:panel_connector_ground",
            "ohms_across:regulator_ground",
        ),
        {"regulator_ground=open": 0.8, "panel_connector_ground=open": 0.8, "regulator=stuck_closed": 0.2},
    ),
    "cured_for_a_week": (
        "temp_three_coil",
        (
            "volts_at:sender_lead",
            "ohms_across:stud_sender",
            "ohms_across:sender_wire",
            "ohms_across:sender_connector",
        ),
        {"sender_connector=open": 0.8, "stud_sender=open": 0.7, "sender_wire=open": 0.7},
    ),
    "which_movement": (
        "temp_three_coil",
        ("sender_ohms", "ohms_across:sender_connector"),
        {"sender=open": 0.8, "sender_connector=open": 0.7},
    ),
}
WAYS = [(name, fault) for name, (_, _, faults) in GOES_ON.items() for fault in faults]


@cache
def circuit_of(name: str) -> Circuit:
    return find(GOES_ON[name][0])


def entries(name: str) -> dict[str, Any]:
    return load(CASES / f"{name}.toml", CaseError)


def state_of(check: str) -> str:
    """A joint's drop is taken with the lights on, whose current it carries too."""
    if "ohms" in check:
        return "key_off"
    return "lights_on" if check.startswith("drop_across:panel") else "key_on_cold"


def test_every_shipped_case_goes_on() -> None:
    assert {Path(path).stem for path in CASES.glob("*.toml")} == set(GOES_ON)


@pytest.mark.parametrize(("name", "fault"), WAYS)
def test_readings_lead_to_the_fault(name: str, fault: str) -> None:
    _, checks, faults = GOES_ON[name]
    known = entries(name)
    gauge = known.get("gauge")
    measured = [report(circuit_of(name), fault, check, state_of(check), gauge) for check in checks]
    found = diagnose(parse({**known, "measured": [*known.get("measured", []), *measured]}))
    # gauges of other makes divide their volts otherwise, so that a few readings need not tell the movement
    assert found.circuits[circuit_of(name).id] > 0.2
    assert found.ranking[0].fault == fault
    assert found.ranking[0].probability > faults[fault]
