"""What may be said of a vehicle, and what is answered to a mistake in it."""

from pathlib import Path
from typing import Any

import pytest
from compose.vehicles import circuits, composed

from gaugesim.case import parse
from gaugesim.compose import from_words, load_kinds
from gaugesim.errors import CaseError, UnsolvableError

MISTAKES: list[tuple[dict[str, Any], str]] = [
    ({}, "gauges: is missing; name one or more of temperature, fuel"),
    ({"fule": {}}, "fule: no key here is called 'fule'; did you mean fuel?"),
    ({"fuel": {}, "volts": 13}, "volts: is 13; give the system's name, 6, 12 or 24 (12 comes nearest)"),
    ({"fuel": {}, "volts": 28}, "volts: is 28; give the system's name, 6, 12 or 24 (24 comes nearest)"),
    ({"fuel": {}, "earth": "positiv"}, "earth: no choice is called 'positiv'; did you mean positive?"),
    (
        {"fuel": {"movement": "three coyl"}},
        "fuel.movement: no movement of a fuel gauge is called 'three_coyl'",
    ),
    (
        {"fuel": {"ohms": [240]}},
        "fuel.ohms: is [240]; give two ohms, at the low and at the top mark: [240, 33]",
    ),
    ({"fuel": {"ohms": "240 ohm"}}, "fuel.ohms: is '240 ohm'; give two ohms"),
    ({"fuel": {"ohms": [240, 33, 100]}}, "fuel.ohms: is 240 to 33 to 100; give them from the low mark"),
    ({"fuel": {"ohms": [-1, 33]}}, "fuel.ohms: is -1 to 33; a sender has from 0 to 5000 ohms"),
    ({"fuel": {"ohms": [100, 99]}}, "fuel.ohms: is 100 to 99; the two ends lie too near together"),
    ({"fuel": {"ohms": [33, 240], "low_ohms": "top"}}, "fuel.low_ohms: is top, and ohms are [33, 240]"),
    ({"fuel": {"scale": [0, 60]}}, "fuel.scale: is given of a fuel gauge; leave it out"),
    (
        {"temperature": {"ohms": [22, 287]}},
        "temperature.ohms: is 22 to 287 of a temperature sender; it falls",
    ),
    (
        {"temperature": {"points": [[20, 60], [90, 700]]}},
        "temperature.points: are 20 degC 60 ohm and 90 degC",
    ),
    ({"temperature": {"points": [20, 60]}}, "temperature.points: is [20, 60]; give two points"),
    (
        {"oil_pressure": {"scale": [1, 5]}},
        "oil_pressure.scale: starts at 1; an oil pressure scale starts at 0",
    ),
    ({"voltmeter": {"ohms": [1, 2]}}, "voltmeter.ohms: is given of a voltmeter; leave it out"),
    ({"fuel": {}, "regulator": 8}, "regulator: is 8; give none, 5, 7 or 10"),
    ({"fuel": {}, "regulator": 10, "volts": 6}, "regulator: is 10 V on a 6 V system; a regulator holds less"),
    (
        {"fuel": {}, "stations": 2},
        "stations: is 2 with fuel; one station, or two for a temperature gauge alone",
    ),
    ({"temperature": {}, "stations": 2, "wiring": "vehicle"}, "stations: is 2 without a boat"),
    (
        {"fuel": {"movement": "bimetal", "studs": 4}},
        "no kind of gauge has all of this together; leave movement",
    ),
    ({"fuel": {"movement": "two_coil"}, "regulator": 10}, "no kind of gauge has all of this together"),
    (
        {"fuel": {}, "driven_by": "databus"},
        "driven_by: no choice is called 'databus'; did you mean data_bus?",
    ),
]


@pytest.mark.parametrize(("said", "answer"), MISTAKES, ids=[text.split(":")[0] for _, text in MISTAKES])
def test_mistakes_are_answered_in_a_line(said: dict[str, Any], answer: str) -> None:
    with pytest.raises(CaseError) as error:
        composed(said)
    assert str(error.value).startswith(f"lorry.toml: vehicle{'' if answer.startswith('no kind') else '.'}")
    assert answer in str(error.value)
    assert "\n" not in str(error.value)


def test_what_no_kind_has_is_refused_by_the_words_in_the_way() -> None:
    # said of the gauge itself, another movement may hang on a regulator
    (one,) = circuits({"fuel": {"movement": "two_coil", "regulator": 10}})
    assert one.sheet.regulator is not None


@pytest.mark.parametrize("driver", ["control_unit", "data_bus", "stepper"])
def test_other_drives_are_declined_with_what_can_still_be_checked(driver: str) -> None:
    with pytest.raises(UnsolvableError) as error:
        composed({"fuel": {}, "driven_by": driver})
    assert "is not solved here; what can still be checked: " in str(error.value)
    assert "sender" in str(error.value).split("still be checked")[1]


def test_two_questions_lead_to_every_drive_but_the_bus() -> None:
    kinds = load_kinds()
    assert len(kinds.questions) == 2
    answers = {answer for question in kinds.questions for answer in (question.yes, question.no) if answer}
    assert answers <= set(kinds.driven_by)
    assert {"sender", "stepper", "control_unit"} <= answers


def test_words_of_a_command_line_say_what_a_file_says() -> None:
    words = ["volts=24", "earth=positive", "fuel.ohms=240-33", "temperature.points=20:700,90:60", "voltmeter"]
    said = {
        "volts": 24,
        "earth": "positive",
        "fuel": {"ohms": [240, 33]},
        "temperature": {"points": [[20, 700], [90, 60]]},
        "voltmeter": {},
    }
    assert composed(from_words(words)) == composed(said)


def test_what_is_said_beats_the_kinds_and_any_pair_will_do() -> None:
    for ohms in ([61, 3], [1.5, 400], [240, 33]):
        for one in circuits({"fuel": {"ohms": ohms}}):
            known = one.parameter_values({})
            assert [known["track_empty"], known["track_full"]] == ohms


def test_what_is_said_makes_the_kinds_that_have_it_likelier() -> None:
    def share(said: dict[str, Any], words: str) -> float:
        return sum(one.share for one in composed(said) if words in one.words)

    assert share({"fuel": {}}, "three-coil") < 0.4
    assert share({"fuel": {"ohms": [240, 33]}}, "three-coil") > 0.6
    assert share({"temperature": {"studs": 4}}, "opposed-coil") + share(
        {"temperature": {"studs": 4}}, "bridge"
    ) == pytest.approx(1)
    assert share({"fuel": {}, "regulator": 5}, "bimetal") == pytest.approx(1)
    assert share({"fuel": {}, "volts": 6}, "0.4 to 30 ohm") > 0.4


def test_the_gauge_complained_of_need_not_be_said_twice() -> None:
    case = parse({"gauge": "fuel", "vehicle": {"volts": 24}}, Path("lorry.toml"))
    assert case.vehicle is not None
    assert [said.quantity for said in case.vehicle.gauges] == ["fuel"]
    second = parse({"gauge": "temperature_second", "vehicle": {}})
    assert second.vehicle is not None
    assert second.vehicle.stations == 2


def test_shares_of_the_published_kinds_are_shares() -> None:
    for volts in (6, 12, 24):
        assert sum(family.share[volts] for family in load_kinds().families.values()) <= 1.3
    for movement in load_kinds().movements.values():
        for design in movement.designs:
            assert len(design.ohms) == len(movement.parts)
            assert len(design.turns) in (0, len(movement.parts))
