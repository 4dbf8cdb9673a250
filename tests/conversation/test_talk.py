"""The conversation as data: which question comes, what an answer does to the case."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from gaugesim.case import parse
from gaugesim.circuit import Circuit, available, find
from gaugesim.conversation import State, begin, resume, step, withdraw
from gaugesim.conversation.answers import LOOKED, RESULTS, SHOWS
from gaugesim.conversation.casefile import with_entry, with_top
from gaugesim.conversation.intake import FEATURES
from gaugesim.diagnose import diagnose
from gaugesim.errors import CaseError
from gaugesim.evidence.looked import seen_fields
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.looks import LOOKS, is_look, looks

PATH = Path("case.toml")


@pytest.fixture(scope="module")
def circuits() -> dict[str, Circuit]:
    return {name: find(name) for name in available()}


@pytest.fixture(scope="module")
def at_a_check(circuits: dict[str, Circuit]) -> State:
    """Four studs, half whatever the engine does, the first check proposed."""
    state = begin(PATH, [circuits["temp_opposed_coil"]])
    state, _ = say(state, "half", "half", "never", "c")
    assert state.question.id.startswith("check:")
    return state


def say(state: State, *answers: str) -> tuple[State, tuple[str, ...]]:
    notes: tuple[str, ...] = ()
    for answer in answers:
        state, notes = step(state, answer)
    return state, notes


def held(state: State) -> dict[str, Any]:
    """What the case file holds."""
    return tomllib.loads(state.at.text)


def named(circuits: dict[str, Circuit], text: str) -> State:
    """Take a case up again."""
    known = [circuits[name] for name in parse(tomllib.loads(text)).circuits]
    return resume(PATH, text, known)


def test_gauge_and_features_leave_fewer_circuits(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, list(circuits.values()))
    assert state.question.id == "gauge"
    state, _ = say(state, "temp")
    assert held(state)["gauge"] == "temperature"
    assert set(held(state)["circuit"]) == {
        name for name, circuit in circuits.items() if "temperature" in circuit.sheet.gauges
    }
    state, _ = say(state, "by itself")
    assert state.question.id == "feature:studs"
    state, _ = say(state, "4")
    assert held(state)["circuit"] == ["temp_bridge", "temp_opposed_coil"]
    state, _ = say(state, "2")
    assert held(state)["circuit"] == "temp_opposed_coil"
    assert state.question.id == "needle:key_on_cold"


def test_studs_are_typed_as_they_are_counted(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, [circuits[name] for name in ("temp_two_coil", "temp_bridge", "temp_opposed_coil")])
    assert [state.question.label(i) for i in range(2)] == ["3", "4"]
    state, _ = say(state, "3")
    assert held(state)["circuit"] == "temp_two_coil"


def test_each_feature_parts_shipped_circuits(circuits: dict[str, Circuit]) -> None:
    having = [circuit for circuit in circuits.values() if "temperature" in circuit.sheet.gauges]
    for feature in FEATURES:
        values = {feature.of(circuit, "temperature") for circuit in having}
        assert len(values) > 1, feature.id
        assert not feature.choices or values <= {choice.value for choice in feature.choices}


def test_a_circuit_may_be_named_at_any_of_these(circuits: dict[str, Circuit]) -> None:
    state, _ = say(begin(PATH, list(circuits.values())), "fuel", "fuel_four_coil")
    assert held(state)["circuit"] == "fuel_four_coil"


def test_nothing_need_be_known(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, list(circuits.values()))
    asked = []
    while not state.question.id.startswith("needle:"):
        asked.append(state.question.id)
        state, _ = say(state, "?")
    assert asked == ["gauge", *(f"feature:{one.id}" for one in FEATURES), "circuit"]
    assert len(held(state)["circuit"]) == 9
    state = begin(PATH, [circuits["boat_panel"]])
    state, _ = say(state, "fuel")
    asked = []
    while not state.question.id.startswith("check:"):
        asked.append(state.question.id)
        state, _ = say(state, "")
        assert len(asked) < 30
    assert held(state).keys() == {"circuit", "gauge"}
    state, _ = say(state, "0" if not state.question.number else "?")
    assert held(state).keys() == {"circuit", "gauge"}


def test_answers_go_into_the_case(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, [circuits["temp_opposed_coil"]])
    state, notes = say(state, "4")
    assert notes == ("Noted: at half.",)
    state, notes = say(state, "40 %")
    assert notes == ("Noted: 0.4 of the scale.",)
    state, _ = say(state, "never", "rises", "dim", "dead", "sender", "no change")
    assert held(state) == {
        "circuit": "temp_opposed_coil",
        "seen": [
            {"state": "key_on_cold", "needle": "half"},
            {"state": "running_warm", "needle": 0.4},
            {"state": "running_warm", "moves": "never"},
            {"between": ["lights_off", "lights_on"], "needle": "rises"},
            {"consumer": "panel_lamps", "looks": "dim"},
            {"consumer": "same_fuse", "looks": "dead"},
        ],
        "replaced": [{"part": "sender", "result": "no_change"}],
    }


def test_only_a_needle_that_reads_hot_brings_the_question_of_heat(circuits: dict[str, Circuit]) -> None:
    asked = []
    for needle in ("half", "too high"):
        state, _ = say(begin(PATH, [circuits["temp_two_coil"]]), needle, "?", "?", "?")
        asked.append(state.question.id)
    assert asked == ["replaced_before", "engine"]


def test_the_other_gauges_are_asked_after(circuits: dict[str, Circuit]) -> None:
    state, _ = say(begin(PATH, [circuits["cluster_bimetal_5v"]]), "fuel", *["?"] * 6)
    assert state.question.id == "other:temperature"
    state, _ = say(state, "too high")
    assert held(state)["seen"] == [{"state": "running_warm", "gauge": "temperature", "needle": "reads_high"}]


def test_a_check_is_recorded_with_its_state(at_a_check: State) -> None:
    advised = at_a_check.advised
    assert advised is not None
    assert advised.cautions or advised.check.startswith(("tap", *LOOKS))
    state, notes = say(at_a_check, "1")
    check = find_check(at_a_check.consultation.circuit, advised.check)
    look = is_look(check)
    beside = {
        key: list(value) if isinstance(value, tuple) else value for key, value in at_a_check.question.fixed
    }
    assert look or beside == {"check": advised.check, "state": advised.state}
    assert held(state)["seen" if look else "measured"][-1] == {
        **beside,
        at_a_check.question.choices[0].key or at_a_check.question.key: at_a_check.question.choices[0].written
        or at_a_check.question.choices[0].value,
    }
    assert notes[0].startswith("Noted: ")


def test_what_was_done_or_passed_over_is_not_proposed_again(at_a_check: State) -> None:
    first = at_a_check.question.id
    answered, _ = say(at_a_check, "1")
    passed, _ = say(at_a_check, "?")
    assert first not in (answered.question.id, passed.question.id)
    again, _ = say(passed, "b")
    assert again.question.id == first


def test_another_check_by_name_with_a_reading(at_a_check: State) -> None:
    state, _ = say(at_a_check, "o", "Sender lead volts")
    assert state.advised is not None
    assert state.advised.check == "sender_lead_volts"
    assert state.advised.cautions
    where = state.advised.state
    state, notes = say(state, "12.4v")
    assert notes == ("Noted: 12.4 V.",)
    assert held(state)["measured"] == [{"check": "sender_lead_volts", "state": where, "volts": 12.4}]


def test_another_check_in_one_line_is_one_step(at_a_check: State) -> None:
    state, _ = say(at_a_check, "other sender_ohms")
    assert state.question.id.startswith("check:sender_ohms@")
    back, _ = say(state, "b")
    assert back.question == at_a_check.question
    state, notes = say(state, "2")
    assert notes == ("How many ohms? Type what the meter shows.",)
    state, _ = say(state, "OL")
    assert held(state)["measured"][0]["ohms"] == float("inf")


def test_a_needle_that_does_not_stir_under_a_check(at_a_check: State) -> None:
    state, _ = say(at_a_check, "o unplug_sender", "where it was before")
    assert held(state)["measured"] == [{"check": "unplug_sender", "state": "key_on_cold", "moves": "never"}]


def test_a_part_that_was_looked_at(at_a_check: State) -> None:
    state, _ = say(at_a_check, "l stud b", "lose")
    assert "inspected" not in held(state)
    state, _ = say(state, "y")
    assert held(state)["inspected"] == [{"part": "stud_bias", "found": "loose"}]
    assert state.consultation.diagnosis.ranking[0].fault == "stud_bias=open"


def test_a_part_that_was_replaced_raises_the_stage(at_a_check: State) -> None:
    state, _ = say(at_a_check, "r", "sender", "no change")
    assert held(state)["replaced"] == [{"part": "sender", "result": "no_change"}]
    state, _ = say(state, "o tap:temperature", "steady")
    assert held(state)["measured"][0]["stage"] == 2
    state, _ = say(state, "r gauge", "cured")
    assert held(state)["replaced"][1] == {"part": "gauge", "result": "cured", "stage": 2}
    state, _ = say(state, "l sender_wire", "chafed")
    assert held(state)["inspected"][0]["stage"] == 3


def test_something_else_that_was_seen(at_a_check: State) -> None:
    state, _ = say(at_a_check, "s")
    topics = [choice.value for choice in state.question.choices]
    assert topics == ["lights", "consumer:same_fuse"]
    state, _ = say(state, "1", "same")
    assert held(state)["seen"][-1] == {"between": ["lights_off", "lights_on"], "needle": "same"}


def test_not_to_know_leaves_what_was_begun(at_a_check: State) -> None:
    for begun in (["l"], ["l sender"], ["r sender"], ["o"], ["o sender_ohms"], ["s"], ["s", "1"]):
        state, _ = say(at_a_check, *begun)
        assert state.question != at_a_check.question
        state, _ = say(state, "")
        assert state.at.text == at_a_check.at.text
        assert state.question == at_a_check.question


def test_back_goes_through_every_step_to_the_beginning(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, list(circuits.values()))
    passed = [state]
    for answer in ("temp", "1", "4", "2", "half", "?", "never", "?", "?", "sender", "changed"):
        state, _ = step(state, answer)
        passed.append(state)
    for before in reversed(passed[:-1]):
        state, _ = step(state, "b")
        assert state.at == before.at
        if not before.question.id.startswith("check:"):
            assert state.question == before.question
    assert state.at.text == ""
    after, notes = step(state, "b")
    assert after.at == state.at
    assert "no step before" in notes[0]


@pytest.mark.parametrize("typed", ["hlaf", "99", "zzz", "h", "\x1b[A", "12 V"])
def test_what_is_no_answer_changes_nothing(circuits: dict[str, Circuit], typed: str) -> None:
    state = begin(PATH, [circuits["temp_two_coil"]])
    after, notes = step(state, typed)
    assert (after.at, after.question, after.history) == (state.at, state.question, ())
    assert notes


def test_a_guess_holds_for_the_next_line_only(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, [circuits["temp_two_coil"]])
    taken, _ = say(state, "hlaf", "Y")
    assert held(taken)["seen"] == [{"state": "key_on_cold", "needle": "half"}]
    lost, _ = say(state, "hlaf", "zzz", "y")
    assert lost.at == state.at


def test_a_case_is_taken_up_again_after_its_last_answer(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, [circuits["boat_panel"]])
    for answer in ("temp", "?", "low", "?", "same", "?", "right", "?", "?", "nothing"):
        before = state
        state, _ = step(state, answer)
        if state.at.text != before.at.text and not state.question.id.startswith("check:"):
            assert named(circuits, state.at.text).question == state.question


def test_what_was_begun_and_not_answered_is_asked_again(
    at_a_check: State, circuits: dict[str, Circuit]
) -> None:
    state, _ = say(at_a_check, "o tap:temperature", "steady", "l", "sender")
    again = named(circuits, state.at.text)
    assert again.at.pending is None
    assert again.question.id.startswith("check:")


def test_only_what_is_not_known_is_asked(circuits: dict[str, Circuit]) -> None:
    text = 'circuit = "boat_*"  # at the quay\n'
    state = resume(PATH, text, [circuits["boat_panel"], circuits["boat_two_station"]])
    assert state.question.id == "gauge"
    state, _ = say(state, "temp")
    assert state.at.text == f'{text}gauge = "temperature"\n'
    assert state.question.id == "circuit"


def test_what_one_candidate_lacks_is_not_asked_after(circuits: dict[str, Circuit]) -> None:
    both = [circuits["cluster_bimetal_5v"], circuits["cluster_bimetal_10v"]]
    asked = {question.id for question, _ in say(begin(PATH, both), "temp", "?")[0].asked_after}
    assert "other:fuel" in asked
    assert "other:oil_pressure" not in asked


def test_a_circuit_of_the_persons_own_keeps_its_path(circuits: dict[str, Circuit]) -> None:
    text = 'circuit = ["own/temp_bridge.cir", "temp_two_coil"]\n'
    state = resume(PATH, text, [circuits["temp_bridge"], circuits["temp_two_coil"]])
    state, _ = say(state, "4")
    assert held(state)["circuit"] == "own/temp_bridge.cir"


def test_an_answer_that_does_not_fit_is_taken_back(at_a_check: State) -> None:
    state, notes = withdraw(at_a_check, CaseError("nothing shows this"))
    assert state.at == at_a_check.history[-1]
    assert notes == ("Not taken: nothing shows this.",)
    first = begin(PATH, at_a_check.at.circuits)
    with pytest.raises(CaseError, match="nothing shows this"):
        withdraw(first, CaseError("nothing shows this"))


def test_stopping(at_a_check: State) -> None:
    state, notes = step(at_a_check, "q")
    assert (state.over, notes) == (True, ())
    assert state.at == at_a_check.at


@pytest.mark.parametrize("name", ["temp_opposed_coil", "cluster_bimetal_5v"])
def test_every_answer_to_every_kind_of_check_is_evidence(circuits: dict[str, Circuit], name: str) -> None:
    """What is offered at a check can be written into a case and read from it again."""
    circuit = circuits[name]
    gauge = next(iter(circuit.sheet.gauges))
    text = with_top("", circuit=[name], gauge=gauge)
    kinds = {}
    asked = [*looks(circuit, gauge), *((check_id, "key_on_cold") for check_id in check_ids(circuit, gauge))]
    for check_id, state in asked:
        kinds.setdefault(find_check(circuit, check_id, gauge).reads, (check_id, state))
    several = len(circuit.sheet.gauges) > 1
    assert kinds.keys() | ({"heat", "coolant"} if several else {"judged"}) == {*SHOWS, "look"}
    count = 0
    for reads, (check_id, state) in kinds.items():
        if reads == "look":
            continue
        check = find_check(circuit, check_id, gauge)
        choices, _, key = SHOWS[reads]
        for choice in choices:
            if (reads, choice.value) != ("ohms", "sound"):  # asked for in ohms
                fields = seen_fields(circuit, check, state) if is_look(check) else {"check": check_id}
                fields |= {choice.key or key: choice.written or choice.value}
                text = with_entry(text, "seen" if is_look(check) else "measured", fields)
                count += 1
    for choice in LOOKED:
        text = with_entry(text, "inspected", {"part": "sender", "found": choice.value})
    for choice in RESULTS:
        text = with_entry(text, "replaced", {"part": "sender", "result": choice.value})
    case = parse(tomllib.loads(text))
    found = diagnose(case, [circuit])
    assert len(case.entries) == count + len(LOOKED) + len(RESULTS)
    assert len(found.posteriors[0].observations) >= len(case.entries)
