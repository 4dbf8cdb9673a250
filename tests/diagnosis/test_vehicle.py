"""A case that describes the vehicle: candidates with shares, volts that fit, and what does not."""

from typing import Any

import pytest

from gaugesim.case import Case, parse
from gaugesim.diagnosis import candidates, diagnose
from gaugesim.errors import CaseError

LOW = {"state": "running_warm", "needle": "pegged_low"}


def case(said: dict[str, Any], *measured: dict[str, Any], **more: Any) -> Case:
    data = {"gauge": "temperature", "vehicle": said, "seen": [LOW], "measured": list(measured)}
    return parse({**data, **more}, "lorry.toml")


def volts(check: str, value: Any) -> dict[str, Any]:
    return {"check": check, "state": "key_on_cold", "volts": value}


def test_the_shares_of_the_candidates_are_their_priors() -> None:
    known = {one.id: one.sheet.share for one in candidates(case({}))}
    assert sum(known.values()) == pytest.approx(1)
    # nothing seen: nothing is learned about which it is
    nothing = parse({"gauge": "temperature", "vehicle": {}})
    assert diagnose(nothing).circuits == pytest.approx(known)


def test_readings_sharpen_what_was_not_said() -> None:
    found = diagnose(case({}, volts("sender_lead_volts", 9.1)))
    before = {one.id: one.sheet.share for one in candidates(case({}))}
    gained = {name for name, share in found.circuits.items() if share > 1.5 * before[name]}
    # only where a coil feeds the lead through another is it clearly below the battery's volts
    assert gained == {"vehicle_temperature_three_coil_240_33", "vehicle_temperature_two_coil_series"}
    assert sum(found.circuits[name] for name in gained) > 0.8
    assert sum(found.circuits.values()) == pytest.approx(1)
    assert sum(suspect.probability for suspect in found.ranking) + found.none_of_these == pytest.approx(1)


@pytest.mark.parametrize(
    ("system", "check", "value", "answer"),
    [
        (
            12,
            "sender_lead_volts",
            25.2,
            "cannot have and a 24 V system has; is this a 24 V system?",
        ),
        (12, "sender_lead_volts", [25, 26], "say [vehicle] volts = 24"),
        (12, "volts_at:battery_positive", 25.2, "is this a 24 V system? say [vehicle] volts = 24"),
        (6, "volts_at:panel_feed", 12.4, "is this a 12 V system? say [vehicle] volts = 12"),
        (24, "volts_at:battery_positive", 12.6, "is this a 12 V system? say [vehicle] volts = 12"),
        (12, "volts_at:battery_positive", 6.3, "is this a 6 V system? say [vehicle] volts = 6"),
        (24, "volts_at:panel_feed", 50, "cannot have, nor any vehicle; read the meter again"),
    ],
)
def test_volts_that_do_not_fit_are_asked_about(system: int, check: str, value: Any, answer: str) -> None:
    with pytest.raises(CaseError) as error:
        diagnose(case({"volts": system}, volts(check, value)))
    assert str(error.value).startswith("lorry.toml: measured[1].volts: is ")
    assert answer in str(error.value)


@pytest.mark.parametrize(
    ("system", "check", "value"),
    [
        (12, "volts_at:battery_positive", 9.0),  # as flat as the list of faults has it
        (12, "volts_at:panel_feed", 17.5),  # and as overcharged
        (12, "volts_at:panel_feed", 0.3),
        (24, "volts_at:panel_feed", 12.0),  # half of it is lost in a poor joint
        (24, "sender_lead_volts", "battery"),
    ],
)
def test_volts_of_a_faulty_vehicle_are_taken(system: int, check: str, value: Any) -> None:
    said = {"volts": system, "temperature": {"movement": "two_coil"}}
    assert diagnose(case(said, volts(check, value))).ranking


def test_a_named_circuit_is_asked_about_its_volts_too() -> None:
    data = {"circuit": "temp_opposed_coil", "measured": [volts("volts_at:battery_positive", 25.2)]}
    with pytest.raises(CaseError, match=r"25\.2 V, which a 12 V system \(temp_opposed_coil\) cannot"):
        diagnose(parse(data))


def test_leads_the_wrong_way_round_are_asked_about_on_positive_earth() -> None:
    said = {"earth": "positive", "temperature": {"movement": "two_coil"}}
    with pytest.raises(CaseError, match=r"is -12\.4 V on a vehicle with positive earth; .* write 12\.4"):
        diagnose(case(said, volts("volts_at:panel_feed", -12.4)))
    assert diagnose(case(said, volts("volts_at:panel_feed", 12.4))).ranking


def test_a_vehicle_beside_circuits_leaves_those_that_fit() -> None:
    said = {"temperature": {"movement": "three_coil"}}
    assert [one.id for one in candidates(case(said, circuit="temp_*"))] == ["temp_three_coil"]
    named = candidates(case({}, circuit="vehicle_*_coil"))
    assert {one.id for one in named} == {"vehicle_temperature_two_coil", "vehicle_temperature_opposed_coil"}
    with pytest.raises(CaseError, match=r"vehicle: does not fit circuit temp_\*; leave circuit out"):
        candidates(case({"volts": 24}, circuit="temp_*"))
