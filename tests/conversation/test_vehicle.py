"""Mine is different: a vehicle described in a few words ends as a case with that [vehicle] does."""

import tomllib
from pathlib import Path

import pytest

from gaugesim.case import parse
from gaugesim.circuit import available, find
from gaugesim.consultation import consult
from gaugesim.conversation import Talk, begin, resume, step
from gaugesim.conversation.vehicle import typed_ohms
from gaugesim.diagnosis import candidates

PATH = Path("case.toml")
DIFFERENT = ("too high", "fuel gauge, by itself", "v")


def said(*answers: str) -> Talk:
    state = begin(PATH, [find(name) for name in available()])
    for answer in answers:
        state, notes = step(state, answer)
        assert not any(note.startswith(("Not taken", "'")) for note in notes), (answer, notes)
    return state


def test_it_ends_as_a_case_with_that_vehicle() -> None:
    answers = ("1", "24", "negative", "1", "1 2", "240-33", "3", "none", "wire", "right", "winter")
    state = said(*DIFFERENT, *answers)
    vehicle = {
        "wiring": "vehicle",
        "volts": 24,
        "earth": "negative",
        "shares": ["feed", "ground"],
        "regulator": "none",
        "temperature": {},
        "fuel": {"ohms": [240, 33], "movement": "two_coil_series", "sender_ground": "wire"},
    }
    seen = [{"state": "running_warm", "needle": "reads_high"}, {"others": "right"}, {"after": "lay_up"}]
    own = tomllib.loads(state.at.text)
    assert own["vehicle"] == vehicle
    assert sorted(map(str, own["seen"])) == sorted(map(str, seen))
    assert "circuit" not in own
    written = consult(parse({"gauge": "fuel", "vehicle": vehicle, "seen": own["seen"]}))
    here = state.consultation
    assert [one.id for one in here.circuits] == [one.id for one in written.circuits]
    told = [(one.fault, one.probability) for one in here.diagnosis.ranking[:20]]
    assert told == [(one.fault, pytest.approx(one.probability)) for one in written.diagnosis.ranking[:20]]
    assert here.next_check is not None
    assert written.next_check is not None
    assert here.next_check.check == written.next_check.check


def test_what_is_not_said_stays_open() -> None:
    state = said(*DIFFERENT, "", "6", "c")
    assert tomllib.loads(state.at.text)["vehicle"] == {"volts": 6}
    assert len(state.at.circuits) > 1
    assert {one.sheet.volts for one in state.at.circuits} == {6.0}


def test_a_thermistor_by_two_points() -> None:
    state = said("stuck", "coolant temperature gauge, by itself", "mine", *[""] * 4, "20:700, 90:60", "c")
    assert tomllib.loads(state.at.text)["vehicle"]["temperature"] == {"points": [[20, 700], [90, 60]]}
    assert typed_ohms("700") == {}


def test_what_does_not_fit_is_not_taken() -> None:
    state = said(*DIFFERENT, "", "6", "", "", "")
    assert state.question.id == "vehicle:movement"
    state = said(*DIFFERENT, "", "6", "", "", "", "")
    after, notes = step(state, "10 v, points: its output pulses")
    assert notes[0].startswith("Not taken: is 10 V on a 6 V system")
    assert after.at == state.at


def test_killed_in_the_middle_it_goes_on_there() -> None:
    known = [find(name) for name in available()]
    state = begin(PATH, known)
    for answer in (
        "stuck",
        "fuel gauge, by itself",
        "v",
        "boat",
        "24",
        "",
        "1 2",
        "feed",
        "10-180",
        "c",
        "half",
    ):
        state, _ = step(state, answer)
        text = state.saved
        again = resume(PATH, text, candidates(parse(tomllib.loads(text))))
        assert again.question == state.question, answer
        assert again.saved == text
    assert state.question.id in ("after", "others")


def test_it_may_be_said_before_the_gauge_is_known() -> None:
    state = said("dead")
    state, notes = step(state, "v")
    assert notes == ("It is described as soon as it is known which gauge it is.",)
    state, _ = step(state, "oil")
    assert state.question.id == "vehicle:craft"
