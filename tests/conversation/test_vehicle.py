"""Mine is different: a vehicle described in a few words ends as a case with that [vehicle] does."""

import tomllib
from itertools import cycle
from pathlib import Path

import pytest

from gaugesim.case import parse
from gaugesim.circuit import Circuit, available, find
from gaugesim.consultation import consult
from gaugesim.conversation import Talk, begin, resume, step, withdraw
from gaugesim.conversation.complaint import COMPLAINTS
from gaugesim.conversation.vehicle import topics, typed_ohms
from gaugesim.diagnosis import candidates
from gaugesim.errors import CaseError

PATH = Path("case.toml")
GAUGES = ("fuel/alone", "temperature/several/land", "oil_pressure/several/boat", "temperature/alone")
DIFFERENT = ("too high", "fuel gauge, by itself", "v")


@pytest.fixture(scope="module")
def known() -> list[Circuit]:
    return [find(name) for name in available()]


def said(known: list[Circuit], *answers: str) -> Talk:
    state = begin(PATH, known)
    for answer in answers:
        state, notes = step(state, answer)
        assert not any(note.startswith(("Not taken", "'")) for note in notes), (answer, notes)
    return state


@pytest.mark.parametrize(
    ("complaint", "gauge"),
    [*zip([choice.value for choice in COMPLAINTS], cycle(GAUGES), strict=False)],
)
def test_whoever_describes_his_vehicle_has_the_first_advice_within_five_prompts(
    known: list[Circuit], complaint: str, gauge: str
) -> None:
    """And is asked no more than one thing of it, which is seen from the seat."""
    state, asked = said(known, complaint, gauge, "v"), ["complaint", "gauge", "v"]
    while not state.ranked:
        asked.append(state.question.id)
        assert state.question.text.endswith(")"), "what it is for"
        state, _ = step(state, state.question.choices[0].value)
    assert len(asked) <= 5, asked
    assert set(asked[3:]) <= {"detail", "heat", "vehicle:gauges", "others", "after"}
    assert state.advised or state.consultation.mend
    assert "circuit" not in tomllib.loads(state.at.text)


def test_it_ends_as_a_case_with_that_vehicle(known: list[Circuit]) -> None:
    told = ("battery", "24", "craft", "1", "gauges", "1 2", "ohms", "240-33", "movement", "3")
    told += ("regulator", "none", "sender_ground", "wire", "shares", "feed and ground")
    state = said(known, *DIFFERENT)
    for topic, answer in zip(told[::2], told[1::2], strict=True):
        state, _ = step(state, f"v {topic}")
        assert state.question.id == f"vehicle:{topic}"
        state, notes = step(state, answer.replace(" and ", " "))
        assert notes[0].startswith("Noted"), (topic, notes)
    state, _ = step(state, "right")
    state, _ = step(state, "winter")
    vehicle = {
        "wiring": "vehicle",
        "volts": 24,
        "earth": "negative",
        "shares": ["feed", "ground"],
        "regulator": "none",
        "temperature": {},
        "oil_pressure": {},
        "fuel": {"ohms": [240, 33], "movement": "two_coil_series", "sender_ground": "wire"},
    }
    seen = [{"state": "running_warm", "needle": "reads_high"}, {"others": "right"}, {"after": "lay_up"}]
    own = tomllib.loads(state.at.text)
    assert own["vehicle"] == vehicle
    assert own["seen"] == seen
    assert "circuit" not in own
    written = consult(parse({"gauge": "fuel", "vehicle": vehicle, "seen": seen}))
    here = state.consultation
    assert [one.id for one in here.circuits] == [one.id for one in written.circuits]
    told_here = [(one.fault, one.probability) for one in here.diagnosis.ranking[:20]]
    ranked = written.diagnosis.ranking[:20]
    assert told_here == [(one.fault, pytest.approx(one.probability)) for one in ranked]
    assert here.next_check is not None
    assert written.next_check is not None
    assert here.next_check.check == written.next_check.check


def test_what_is_not_said_stays_open(known: list[Circuit]) -> None:
    state = said(known, *DIFFERENT, "v battery", "6")
    assert tomllib.loads(state.at.text)["vehicle"] == {"fuel": {}, "volts": 6, "earth": "negative"}
    assert len(state.at.circuits) > 1
    assert {one.sheet.volts for one in state.at.circuits} == {6.0}


def test_the_gauge_question_tells_what_it_is_in_and_whether_there_are_others(known: list[Circuit]) -> None:
    state = said(known, "too low", "fuel/several/boat", "v")
    assert tomllib.loads(state.at.text)["vehicle"] == {"fuel": {}, "wiring": "boat"}
    assert state.question.id == "vehicle:gauges"
    after, _ = step(state, "1 2")
    assert {*after.at.circuits[0].sheet.gauges} == {"temperature", "fuel", "oil_pressure"}
    assert after.at.circuits[0].sheet.craft == "boat"
    # the answer may be taken back by another
    for _ in ("pending", "answer"):
        after, _ = step(after, "v gauges" if after.question.id != "vehicle:gauges" else "0")
    assert {*after.at.circuits[0].sheet.gauges} == {"fuel"}


def test_a_thermistor_by_two_points(known: list[Circuit]) -> None:
    state = said(known, "dead", "coolant temperature gauge, by itself", "mine", "", "v ohms", "20:700, 90:60")
    assert tomllib.loads(state.at.text)["vehicle"]["temperature"] == {"points": [[20, 700], [90, 60]]}
    assert typed_ohms("700") == {}


def test_what_does_not_fit_is_not_taken(known: list[Circuit]) -> None:
    state = said(known, *DIFFERENT, "v battery", "6", "v regulator")
    after, notes = step(state, "10 v, points: its output pulses")
    assert notes[0].startswith("Not taken: is 10 V on a 6 V system")
    assert after.at == state.at


def test_more_of_it_may_be_told_at_any_time_from_a_list_or_by_its_name(known: list[Circuit]) -> None:
    state = said(known, *DIFFERENT, "v")
    listed = [one.value for one in state.question.choices]
    assert listed == [one.value for one in topics({"fuel": {}}, "fuel")]
    assert "shares" not in listed
    for name in listed:
        after, _ = step(state, name)
        assert after.question.id == f"vehicle:{name}"
        left, _ = step(after, "")
        assert left.at.text == state.at.text


def test_what_has_to_be_known_before_anything_is_touched(known: list[Circuit]) -> None:
    """What it is in and its battery, each asked once and with Enter for not known."""
    state, asked = said(known, *DIFFERENT, ""), []
    while not state.question.id.startswith("check:") or "_at" not in state.question.id:
        asked.append(state.question.id)
        state, _ = step(state, "no" if state.question.id.startswith("driver:") else "")
        if len(asked) > 12:
            break
    assert asked.count("vehicle:craft") == asked.count("vehicle:battery") == 1
    looks = [name for name in asked[: asked.index("vehicle:craft")] if name.startswith("check:")]
    assert all(name.startswith(("check:watch", "check:turn", "check:switch", "check:see")) for name in looks)


def test_a_question_of_the_vehicle_tells_more_than_the_check_before_which_it_is_asked(
    known: list[Circuit],
) -> None:
    """Kinds of gauge that go opposite ways: their sender's ohms, and never what is behind the panel."""
    state = said(known, "on a stop", "fuel gauge, by itself", "v", "up", "")
    # what has to be known before anything is touched comes first
    while state.question.id.startswith("driver:") or state.question.id in (
        "vehicle:craft",
        "vehicle:battery",
    ):
        state, _ = step(state, "no" if state.question.id.startswith("driver:") else "")
    assert state.question.id == "vehicle:ohms"
    told, _ = step(state, "0-30")
    assert told.question.id not in ("vehicle:ohms", "vehicle:movement", "vehicle:regulator")
    # one kind of gauge: nothing is left to tell
    one = said(
        known, "on a stop", "fuel gauge, by itself", "v", "up", "", "v ohms", "0-30", "v movement", "3"
    )
    assert not one.question.id.startswith("vehicle:ohms")


def test_killed_in_the_middle_it_goes_on_there(known: list[Circuit]) -> None:
    state = begin(PATH, known)
    answers = ("stuck", "v", "fuel/several/boat", "half", "v", "ohms", "10-180", "v battery", "24", "1", "")
    for answer in answers:
        state, _ = step(state, answer)
        text = state.saved
        again = resume(PATH, text, candidates(parse(tomllib.loads(text))))
        if state.at.pending is None:
            assert again.question == state.question, answer
        assert again.saved == text


def test_it_may_be_said_before_the_gauge_is_known(known: list[Circuit]) -> None:
    state = said(known, "dead")
    state, notes = step(state, "v")
    assert notes == ("It is described as soon as it is known which gauge it is.",)
    state, _ = step(state, "oil_pressure/several/land")
    assert tomllib.loads(state.at.text)["vehicle"] == {"oil_pressure": {}, "wiring": "vehicle"}
    assert state.question.id == "vehicle:gauges"


def test_volts_of_another_system_are_asked_about_and_told_by_v(known: list[Circuit]) -> None:
    """What no 12 V system has is not taken; with the system told it is."""
    state = said(known, "too low", "fuel gauge, by itself", "", "o volts_at:panel_feed")
    taken, _ = step(state, "25.2 V")
    with pytest.raises(CaseError) as refused:
        _ = taken.consultation.diagnosis
    left, (note,) = withdraw(taken, refused.value)
    assert left.at == state.at
    assert "is this a 24 V system?" in note
    assert note.endswith("Here: v battery.")
    for answer in ("v battery", "24", "o volts_at:panel_feed", "25.2 V"):
        left, _ = step(left, answer)
    assert left.consultation.circuit.sheet.volts == 24
    assert left.consultation.diagnosis.ranking
