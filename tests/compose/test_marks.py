"""The sound needle of a composed gauge stands at its marks, whatever sender, volts and earth were said."""

import math
from typing import Any

import pytest
from compose.vehicles import circuit, circuits, composed

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.reading import Situation, respond
from gaugesim.shortcomings import review

# half of what the marks of a scale may be off: they are written with two digits
WITHIN = 0.02
RANGES = [
    (0, 90),
    (0, 30),
    (240, 33),
    (10, 180),
    (73, 10),
    (240, 20),
    (450, 30),
    (700, 20),
    (33, 240),
    (5, 1500),
]
MOVEMENTS = ["two_coil", "two_coil_series", "three_coil", "four_coil", "opposed_coil", "bridge", "bimetal"]


def furthest_off(one: Circuit) -> float:
    """The largest distance of a sound needle from one of its marks."""
    state = {"voltmeter": "key_on_cold"}
    return max(
        abs(
            float(
                respond(Situation.of(one, state.get(name), given={gauge.reads: mark.at})).positions[name][0]
            )
            - mark.position
        )
        for name, gauge in one.sheet.gauges.items()
        for mark in gauge.marks
    )


@pytest.mark.parametrize("movement", MOVEMENTS)
def test_marks_of_every_range(movement: str) -> None:
    for number, ohms in enumerate(RANGES):
        volts, earth = (6, 12, 24)[number % 3], ("negative", "positive")[number % 2]
        said = {"volts": volts, "earth": earth, "fuel": {"movement": movement, "ohms": list(ohms)}}
        one = circuit(said)
        assert furthest_off(one) < WITHIN, said
        assert [mark.position for mark in one.sheet.gauges["fuel"].marks] == pytest.approx(
            [0, 0.25, 0.5, 0.75, 1], abs=0.01
        ), f"a track of which only the ends are said makes an even dial: {said}"


@pytest.mark.parametrize(
    "said",
    [
        {"temperature": {}},
        {"temperature": {"points": [[20, 700], [90, 60]], "scale": [60, 110]}, "volts": 24},
        {"temperature": {"studs": 4}, "volts": 6},
        {"temperature": {}, "stations": 2},
        {"oil_pressure": {"scale": [0, 5]}, "earth": "positive"},
        {"fuel": {}, "temperature": {}, "oil_pressure": {}, "voltmeter": {}, "wiring": "boat", "volts": 24},
        {"fuel": {}, "temperature": {}, "shares": [], "regulator": 10},
        {"fuel": {}, "oil_pressure": {}, "regulator": 7, "regulator_kind": "electronic", "wiring": "boat"},
        {"fuel": {"sender_ground": "thread"}, "temperature": {"sender_ground": "wire"}},
    ],
    ids=lambda said: "-".join(said),
)
def test_marks_of_what_is_not_said(said: dict[str, Any]) -> None:
    every = composed(said)
    assert sum(one.share for one in every) == pytest.approx(1)
    assert len({one.id for one in every}) == len(every) <= 6
    for one in circuits(said):
        assert furthest_off(one) < WITHIN, one.id


@pytest.mark.parametrize(
    "said",
    [
        {"volts": 24, "earth": "positive", "temperature": {"movement": "bridge"}},
        {
            "fuel": {"ohms": [0.5, 90]},
            "temperature": {"sender_ground": "wire"},
            "shares": ["feed"],
            "volts": 6,
        },
        {"fuel": {"movement": "bimetal"}, "wiring": "boat", "regulator": 7},
        {"temperature": {"movement": "bimetal"}, "regulator": 5, "regulator_kind": "electronic", "volts": 6},
    ],
    ids=["bridge", "own_grounds", "boat_regulator", "electronic_regulator"],
)
def test_nothing_is_missing_in_a_composed_circuit(said: dict[str, Any]) -> None:
    assert review(circuit(said)) == ()


@pytest.mark.parametrize("ohms", [(240, 33), (0.5, 90)])
def test_the_sense_follows_from_the_pair(ohms: tuple[float, float]) -> None:
    one = circuit({"fuel": {"ohms": list(ohms), "movement": "two_coil"}})
    shown = [
        float(respond(Situation.of(one, given={"fuel_level": level})).positions["fuel"][0])
        for level in (0, 1)
    ]
    assert shown == pytest.approx([0, 1], abs=0.01)
    assert one.parameter_values({})["track_empty"] == ohms[0]


def test_three_or_five_ohms_are_taken_as_they_are() -> None:
    five = [240.0, 170.0, 103.0, 65.0, 33.0]
    known = circuit({"fuel": {"ohms": five, "movement": "three_coil"}}).parameter_values({})
    names = ("track_empty", "track_quarter", "track_half", "track_three_quarters", "track_full")
    assert [known[name] for name in names] == five
    three = circuit({"fuel": {"ohms": [240, 120, 33], "movement": "three_coil"}})
    assert three.parameter_values({})["track_half"] == 120
    assert furthest_off(three) < WITHIN


def test_two_points_of_a_thermistor_are_on_its_curve() -> None:
    one = circuit({"temperature": {"points": [[20, 700], [90, 60]], "movement": "three_coil"}})
    known = one.parameter_values({})
    for celsius, ohms in ((20, 700), (90, 60)):
        turned = known["sender_beta"] * (1 / (celsius + 273.15) - 1 / 353.15)
        assert known["sender"] * math.exp(turned) == pytest.approx(ohms, rel=0.005)


def test_a_movement_that_cannot_follow_is_refused_by_name() -> None:
    with pytest.raises(
        CaseError, match=r"vehicle\.fuel: a bridge movement does not follow a sender of 90 to 60 ohm"
    ):
        composed({"fuel": {"movement": "bridge", "ohms": [90, 60]}})
