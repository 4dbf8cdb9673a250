"""The conversation as data: which question comes, what an answer does to the case."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from gaugesim.case import Seen, parse
from gaugesim.circuit import Circuit, available, find
from gaugesim.compose import load_kinds
from gaugesim.consultation import consult
from gaugesim.conversation import Talk, asking, begin, resume, step, withdraw
from gaugesim.conversation.answers import LOOKED, RESULTS, choices
from gaugesim.conversation.asking import tools_question
from gaugesim.conversation.casefile import with_entry, with_top
from gaugesim.conversation.complaint import COMPLAINTS, detail_question, entries
from gaugesim.conversation.question import understand
from gaugesim.diagnosis import diagnose
from gaugesim.errors import CaseError, UnsolvableError
from gaugesim.evidence.look_entries import seen_fields
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids, looks
from gaugesim.scenario.kinds import LOOKS
from gaugesim.scenario.tools import tools_for
from gaugesim.vocabulary import TOPICS
from gaugesim.vocabulary.quantity import DialFigure

PATH = Path("case.toml")
DRIVERS = [f"{asking.DRIVER}{one.id}" for one in load_kinds().questions]


@pytest.fixture(scope="module")
def circuits() -> dict[str, Circuit]:
    return {name: find(name) for name in available()}


@pytest.fixture(scope="module")
def at_a_check(circuits: dict[str, Circuit]) -> Talk:
    """Four studs, half whatever the engine does, the first check proposed."""
    state = begin(PATH, [circuits["temp_opposed_coil"]])
    state, _ = say(state, "stuck", "half", "c")
    assert state.question.id.startswith("check:")
    return state


def say(state: Talk, *answers: str) -> tuple[Talk, tuple[str, ...]]:
    notes: tuple[str, ...] = ()
    for answer in answers:
        state, notes = step(state, answer)
    return state, notes


def held(state: Talk) -> dict[str, Any]:
    """What the case file holds."""
    return tomllib.loads(state.at.text)


def named(circuits: dict[str, Circuit], text: str) -> Talk:
    """Take a case up again."""
    known = [circuits[name] for name in parse(tomllib.loads(text)).circuits]
    return resume(PATH, text, known)


def test_the_complaint_comes_first_then_whose_it_is(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, list(circuits.values()))
    assert state.question.id == "complaint"
    state, _ = say(state, "stuck")
    assert state.question.id == "gauge"
    assert state.at.text == ""
    state, _ = say(state, "coolant temperature gauge, by itself")
    assert held(state)["gauge"] == "temperature"
    assert held(state)["circuit"] == ["temp_bridge", "temp_opposed_coil", "temp_three_coil", "temp_two_coil"]
    assert state.question.id == "detail"
    state, _ = say(state, "MID.")
    assert held(state)["seen"] == [{"state": "running_warm", "needle": "half", "moves": "never"}]
    assert state.question.id == "after"
    state, _ = say(state, "rain")
    assert held(state)["seen"][-1] == {"after": "wet"}
    assert state.ranked


@pytest.mark.parametrize("typed", ["o ground_at:battery_positive", "o jumper_between:battery_positive:body"])
def test_a_dead_short_that_is_asked_for_is_refused(at_a_check: Talk, typed: str) -> None:
    for state, said in ((at_a_check, typed), (say(at_a_check, "o")[0], typed.removeprefix("o "))):
        after, (told,) = step(state, said)
        assert after is state
        assert "would burn the lead, and the wires that feed it" in told


@pytest.mark.parametrize("complaint", [choice.value for choice in COMPLAINTS])
@pytest.mark.parametrize("gauge", ["fuel", "temperature/several/boat", "voltmeter"])
def test_the_first_advice_comes_within_five_prompts(
    circuits: dict[str, Circuit], complaint: str, gauge: str
) -> None:
    """Whatever is wrong and however it is answered, nothing is asked that is not seen from the seat."""
    for choose in (0, -1):
        state, asked = begin(PATH, list(circuits.values())), []
        while not state.ranked:
            question = state.question
            asked.append(question.id)
            typed = {"complaint": complaint, "gauge": gauge}
            state, _ = step(state, typed.get(question.id, question.choices[choose].value))
            assert len(asked) <= 5, asked
        assert asked[:2] == ["complaint", "gauge"]
        assert set(asked) <= {"complaint", "gauge", "others", "detail", "heat", "after"}
        assert state.case.entries


@pytest.mark.parametrize("complaint", [choice.value for choice in COMPLAINTS])
@pytest.mark.parametrize("name", available())
def test_a_complaint_is_evidence_on_every_circuit(
    circuits: dict[str, Circuit], complaint: str, name: str
) -> None:
    circuit = circuits[name]
    gauge = next(iter(circuit.sheet.gauges))
    question = detail_question(complaint)
    for detail in ("", *(choice.value for choice in question.choices)) if question else ("",):
        text = with_top("", circuit=[name], gauge=gauge)
        for fields in entries(complaint, detail, [circuit], gauge):
            text = with_entry(text, "seen", fields)
        case = parse(tomllib.loads(text))
        assert case.entries
        for entry in case.entries:
            assert isinstance(entry, Seen)
            states = entry.between or (entry.state or circuit.sheet.default_state,)
            assert set(states) <= set(circuit.sheet.states)


def test_several_gauges_are_of_a_land_vehicle_or_of_a_boat(circuits: dict[str, Circuit]) -> None:
    """A single gauge of any movement may be in either, but no boat has a panel with a car's connector."""
    state, _ = say(begin(PATH, list(circuits.values())), "dead")
    offered = [choice.words for choice in state.question.choices]
    assert len({*offered}) == len(offered)
    for words in offered:
        after, _ = say(state, words)
        crafts = {circuit.sheet.craft for circuit in after.at.circuits}
        told = [craft for craft, said in (("boat", "in a boat"), ("land", "on land")) if said in words]
        assert told == [*crafts] or not told
        assert len(crafts) == 1 or "by itself" in words


def test_a_circuit_may_be_named_instead(circuits: dict[str, Circuit]) -> None:
    state, _ = say(begin(PATH, list(circuits.values())), "dead", "fuel_four_coil")
    assert held(state)["circuit"] == "fuel_four_coil"
    assert held(state)["seen"] == [{"state": "running_warm", "needle": "dead"}]
    state, _ = say(begin(PATH, list(circuits.values())), "dead", "boat_panel")
    assert state.question.id == "gauge"
    state, _ = say(state, "fuel")
    assert held(state)["circuit"] == "boat_panel"


def test_nothing_need_be_known(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, list(circuits.values()))
    asked = []
    while not state.question.id.startswith("check:"):
        asked.append(state.question.id)
        state, _ = say(state, "?")
    assert asked[:3] == ["complaint", "gauge", "after"]
    assert {*asked[3:]} <= {*DRIVERS}
    assert len(held(state)["circuit"]) == 9
    assert held(state).keys() == {"circuit", "gauge"}
    state, _ = say(state, "0" if not state.question.number else "?")
    assert held(state).keys() == {"circuit", "gauge"}


def test_answers_go_into_the_case(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, [circuits["temp_opposed_coil"]])
    state, notes = say(state, "2")
    assert notes == ("Noted: stuck in one place.",)
    state, notes = say(state, "40 %")
    assert notes == ("Noted: 0.4 of the scale.",)
    state, _ = say(state, "new sender", "r sender", "no change")
    assert held(state) == {
        "circuit": "temp_opposed_coil",
        "seen": [
            {"state": "running_warm", "needle": 0.4, "moves": "never"},
            {"after": "sender_work"},
        ],
        "replaced": [{"part": "sender", "result": "no_change"}],
    }


def test_only_a_needle_that_reads_hot_brings_the_question_of_heat(circuits: dict[str, Circuit]) -> None:
    asked = []
    for complaint in ("too low", "too high"):
        state, _ = say(begin(PATH, [circuits["temp_two_coil"]]), complaint)
        asked.append(state.question.id)
    assert asked == ["after", "heat"]


def test_an_engine_that_is_hot_is_not_asked_to_run(circuits: dict[str, Circuit]) -> None:
    circuit = circuits["temp_two_coil"]
    state, _ = say(begin(PATH, [circuit]), "too high", "yes", "?")
    for _ in range(8):
        assert state.advised is not None
        assert not circuit.sheet.states[state.advised.state].running
        assert state.advised.check != "crank"
        state, _ = say(state, "?")


# --- what moves the needle ---


def at_the_first_touch(state: Talk) -> Talk:
    for _ in range(12):
        if state.question.id.startswith(asking.DRIVER):
            break
        state, _ = say(state, "?")
    assert state.question.id == DRIVERS[0]
    return state


def test_two_questions_come_before_the_first_check_that_touches_anything(at_a_check: Talk) -> None:
    state, asked = at_the_first_touch(at_a_check), []
    proposed = state.advised
    assert proposed is not None
    assert not find_check(state.consultation.circuit, proposed.check).kind.is_look
    while state.question.id.startswith(asking.DRIVER):
        asked.append(state.question.id)
        state, _ = say(state, "do not know")
    assert asked == [*DRIVERS]
    assert state.question.id == f"check:{proposed.check}@{proposed.state}"
    assert "driven_by" not in held(state)


def test_once_it_is_known_it_is_not_asked_again(circuits: dict[str, Circuit], at_a_check: Talk) -> None:
    state, _ = say(at_the_first_touch(at_a_check), "no", "no")
    assert state.question.id.startswith("check:")
    assert held(state)["driven_by"] == "sender"
    again = named(circuits, state.at.text)
    for _ in range(4):
        assert not again.question.id.startswith(asking.DRIVER)
        again, _ = say(again, "?")


@pytest.mark.parametrize("answers", [("yes",), ("no", "yes"), ("?", "y")])
def test_what_else_moves_a_needle_is_declined_with_what_can_be_checked(
    circuits: dict[str, Circuit], at_a_check: Talk, answers: tuple[str, ...]
) -> None:
    state, _ = say(at_the_first_touch(at_a_check), *answers)
    for one in (state, named(circuits, state.at.text)):
        assert not one.ranked
        assert "what can still be checked" in one.question.text
        assert "the sender" in one.question.text
    with pytest.raises(UnsolvableError, match="what can still be checked"):
        consult(state.case)
    back, _ = say(state, "b")
    assert back.ranked
    assert back.question.id.startswith(asking.DRIVER)


# --- tools ---


def test_no_check_asks_for_a_tool_that_is_not_at_hand(circuits: dict[str, Circuit]) -> None:
    circuit = circuits["temp_two_coil"]
    state, _ = say(begin(PATH, [circuit]), "dead", "nothing")
    for _ in range(20):
        if state.question.id == "tools":
            break
        state, _ = say(state, "?")
    assert state.question.id == "tools"
    able, _ = say(state, "1 4")
    assert held(able)["at_hand"] == ["meter", "helper"]
    state, _ = say(state, "none")
    assert held(state)["at_hand"] == []
    needed = [tools_for(option.check) for option in state.consultation.job.options]
    assert needed
    assert not any(needed)
    needed = [tools_for(option.check) for option in able.consultation.job.options]
    assert {"meter"} in needed
    assert not any(one & {"lamp", "resistors"} for one in needed)


def test_what_is_not_at_hand_is_said_at_the_check(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "o sender_lead_volts")
    state, notes = say(state, "n")
    assert notes == ("Then without a multimeter.",)
    assert held(state)["at_hand"] == ["lamp", "resistors", "helper"]
    assert not any("meter" in tools_for(option.check) for option in state.consultation.job.options)


def test_tools_are_typed_in_any_order_and_nothing_else_is_taken(circuits: dict[str, Circuit]) -> None:
    heard = {
        typed: understand(tools_question(), typed) for typed in ("3 1", "lamp, meter", "all", "0", "7", "x")
    }
    found = {typed: one.choices and [choice.value for choice in one.choices] for typed, one in heard.items()}
    assert found == {
        "3 1": ["resistors", "meter"],
        "lamp, meter": ["lamp", "meter"],
        "all": ["meter", "lamp", "resistors", "helper"],
        "0": (),
        "7": None,
        "x": None,
    }
    assert heard["7"].complaint
    assert heard["x"].complaint


# --- the end ---


def test_a_job_ends_when_its_last_proof_is_seen(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "r stud_bias", "cured")
    asked = []
    while not state.over:
        asked.append(state.question.id)
        assert state.question.id.startswith("proof:")
        state, notes = say(state, "yes")
    assert len(asked) > 1
    assert notes[-1] == "That proves it: the job is done."
    assert not named_proofs(state)


def named_proofs(state: Talk) -> list[str]:
    return [need.state for need in state.consultation.proof_left]


def test_done_ends_a_job_that_nobody_proves_further(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "r stud_bias", "cured")
    state, _ = say(state, "d")
    assert state.over


def test_a_needle_that_is_not_right_after_the_cure_opens_the_job_again(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "r stud_bias", "cured", "too high")
    assert not state.over
    assert state.question.id.startswith(("check:", "tools", "idle"))


def test_a_check_is_recorded_with_its_state(at_a_check: Talk) -> None:
    advised = at_a_check.advised
    assert advised is not None
    assert advised.cautions or advised.check.startswith(("tap", *LOOKS))
    state, notes = say(at_a_check, "1")
    check = find_check(at_a_check.consultation.circuit, advised.check)
    look = check.kind.is_look
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


def test_what_was_done_or_passed_over_is_not_proposed_again(at_a_check: Talk) -> None:
    first = at_a_check.question.id
    answered, _ = say(at_a_check, "1")
    passed, _ = say(at_a_check, "?")
    assert first not in (answered.question.id, passed.question.id)
    again, _ = say(passed, "b")
    assert again.question.id == first


def test_another_check_by_name_with_a_reading(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "o", "Sender lead volts")
    assert state.advised is not None
    assert state.advised.check == "sender_lead_volts"
    assert state.advised.cautions
    where = state.advised.state
    state, notes = say(state, "12.4v")
    assert notes == ("Noted: 12.4 V.",)
    assert held(state)["measured"] == [{"check": "sender_lead_volts", "state": where, "volts": 12.4}]


def test_another_check_in_one_line_is_one_step(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "other sender_ohms")
    assert state.question.id.startswith("check:sender_ohms@")
    back, _ = say(state, "b")
    assert back.question == at_a_check.question
    state, notes = say(state, "2")
    assert notes == ("How many ohms? Type what the meter shows.",)
    state, _ = say(state, "OL")
    assert held(state)["measured"][0]["ohms"] == float("inf")


def test_a_needle_that_does_not_stir_under_a_check(at_a_check: Talk, circuits: dict[str, Circuit]) -> None:
    state, notes = say(at_a_check, "o unplug_sender", "where it was before")
    # where that was is known, and is what the case says
    assert notes == ("Noted: where it was before, at half.",)
    assert held(state)["measured"] == [{"check": "unplug_sender", "state": "key_on_cold", "needle": "half"}]
    unknown = named(circuits, 'circuit = "temp_opposed_coil"\n[[seen]]\nmoves = "never"\n')
    state, _ = say(unknown, "c", "o unplug_sender", "where it was before")
    assert held(state)["measured"] == [{"check": "unplug_sender", "state": "key_on_cold", "moves": "never"}]


def test_a_part_that_was_looked_at(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "l stud b", "lose")
    assert "inspected" not in held(state)
    state, _ = say(state, "y")
    assert held(state)["inspected"] == [{"part": "stud_bias", "found": "loose", "how": "looked"}]
    assert state.consultation.diagnosis.ranking[0].fault == "stud_bias=open"


def test_a_part_that_was_replaced_raises_the_stage(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "r", "sender", "no change")
    assert held(state)["replaced"] == [{"part": "sender", "result": "no_change"}]
    state, _ = say(state, "o tap:temperature", "steady")
    assert held(state)["measured"][0]["stage"] == 2
    state, _ = say(state, "r gauge", "cured")
    assert held(state)["replaced"][1] == {"part": "gauge", "result": "cured", "stage": 2}
    state, _ = say(state, "l sender_wire", "chafed")
    assert held(state)["inspected"][0]["stage"] == 3


def test_something_else_that_was_seen(at_a_check: Talk) -> None:
    state, _ = say(at_a_check, "s")
    kinds = {choice.value.partition("@")[0].partition(":")[0] for choice in state.question.choices}
    assert kinds
    assert kinds <= {*LOOKS}
    state, _ = say(at_a_check, "s switch_lights", "same")
    assert held(state)["seen"][-1] == {"between": ["lights_off", "lights_on"], "needle": "same"}


def test_not_to_know_leaves_what_was_begun(at_a_check: Talk) -> None:
    for begun in (["l"], ["l sender"], ["r sender"], ["o"], ["o sender_ohms"], ["s"]):
        state, _ = say(at_a_check, *begun)
        assert state.question != at_a_check.question
        state, _ = say(state, "")
        assert state.at.text == at_a_check.at.text
        assert state.question == at_a_check.question


def test_a_needle_is_told_by_the_figures_of_its_own_dial(circuits: dict[str, Circuit]) -> None:
    state, _ = say(begin(PATH, [circuits["temp_two_coil"]]), "stuck")
    refused, [note] = step(state, "12 V")
    assert "nothing that a coolant temperature gauge shows" in note
    taken, _ = step(refused, "80-90 C")
    assert taken.case.entries[0].needle == DialFigure(80.0, 90.0, "celsius")


def test_back_goes_through_every_step_to_the_beginning(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, list(circuits.values()))
    passed = [state]
    for answer in ("stuck", "temp", "half", "rain", "?", "r sender", "changed"):
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
    state, _ = say(begin(PATH, [circuits["temp_two_coil"]]), "stuck")
    after, notes = step(state, typed)
    assert (after.at, after.question, after.history) == (state.at, state.question, state.history)
    assert notes


def test_a_guess_holds_for_the_next_line_only(circuits: dict[str, Circuit]) -> None:
    state, _ = say(begin(PATH, [circuits["temp_two_coil"]]), "stuck")
    taken, _ = say(state, "hlaf", "Y")
    assert held(taken)["seen"] == [{"state": "running_warm", "needle": "half", "moves": "never"}]
    lost, _ = say(state, "hlaf", "zzz", "y")
    assert lost.at == state.at


def test_a_case_is_taken_up_again_after_its_last_answer(circuits: dict[str, Circuit]) -> None:
    state = begin(PATH, [circuits["boat_panel"]])
    for answer in ("on a stop", "temp", "some", "up", "no", "?"):
        state, _ = step(state, answer)
        again = resume(PATH, state.saved, [circuits["boat_panel"]])
        assert again.question == state.question
        assert (again.at.complaint, again.at.others) == (state.at.complaint, state.at.others)
    assert state.ranked
    assert "conversation" not in held(state)


def test_what_was_begun_and_not_answered_is_asked_again(
    at_a_check: Talk, circuits: dict[str, Circuit]
) -> None:
    state, _ = say(at_a_check, "o tap:temperature", "steady", "l", "sender")
    again = named(circuits, state.at.text)
    assert again.at.pending is None
    assert again.question.id.startswith("check:")


def test_only_what_is_not_known_is_asked(circuits: dict[str, Circuit]) -> None:
    text = 'circuit = "boat_*"  # at the quay\n[[seen]]\nneedle = "dead"\n'
    state = resume(PATH, text, [circuits["boat_panel"], circuits["boat_two_station"]])
    assert state.question.id == "gauge"
    state, _ = say(state, "temp")
    assert held(state)["gauge"] == "temperature"
    assert "# at the quay" in state.at.text
    assert state.question.id == "others"
    state, _ = say(state, "right", "nothing")
    assert named(circuits, state.at.text.replace("boat_*", "boat_panel")).ranked


def test_a_circuit_of_the_persons_own_keeps_its_path(circuits: dict[str, Circuit]) -> None:
    text = 'circuit = ["own/temp_bridge.cir", "boat_panel"]\n'
    state = resume(PATH, text, [circuits["temp_bridge"], circuits["boat_panel"]])
    state, _ = say(state, "dead", "coolant temperature gauge, by itself")
    assert held(state)["circuit"] == "own/temp_bridge.cir"


def test_an_answer_that_does_not_fit_is_taken_back(at_a_check: Talk) -> None:
    state, notes = withdraw(at_a_check, CaseError("nothing shows this"))
    assert state.at == at_a_check.history[-1]
    assert notes == ("Not taken: nothing shows this.",)
    first = begin(PATH, at_a_check.at.circuits)
    with pytest.raises(CaseError, match="nothing shows this"):
        withdraw(first, CaseError("nothing shows this"))


def test_stopping(at_a_check: Talk) -> None:
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
    assert kinds.keys() | ({"heat", "coolant"} if several else {"judged"}) == {*TOPICS}
    count = 0
    for reads, (check_id, state) in kinds.items():
        if reads == "look":
            continue
        check = find_check(circuit, check_id, gauge)
        for choice in choices(TOPICS[reads]):
            if (reads, choice.value) != ("ohms", "sound"):  # asked for in ohms
                fields = seen_fields(circuit, check, state) if check.kind.is_look else {"check": check_id}
                fields |= {choice.key or TOPICS[reads].key: choice.written or choice.value}
                text = with_entry(text, "seen" if check.kind.is_look else "measured", fields)
                count += 1
    for choice in LOOKED:
        text = with_entry(text, "inspected", {"part": "sender", "found": choice.value})
    for choice in RESULTS:
        text = with_entry(text, "replaced", {"part": "sender", "result": choice.value})
    case = parse(tomllib.loads(text))
    found = diagnose(case, [circuit])
    assert len(case.entries) == count + len(LOOKED) + len(RESULTS)
    assert len(found.posteriors[0].observations) >= len(case.entries)


def test_how_the_others_are_is_asked_where_there_are_some(circuits: dict[str, Circuit]) -> None:
    state, _ = say(begin(PATH, list(circuits.values())), "dead", "fuel gauge, one of several, on land")
    assert state.question.id == "others"
    state, _ = say(state, "all", "nothing")
    assert [entry.get("others") for entry in held(state)["seen"]] == [None, "all_wrong", None]
    shared = {"fuse", "feed_wire", "ignition_switch", "regulator", "panel_connector_feed", "foil_feed"}
    assert {suspect.part for suspect in state.consultation.diagnosis.ranking[:3]} <= shared
    alone, _ = say(begin(PATH, list(circuits.values())), "dead", "fuel gauge, by itself")
    assert alone.question.id == "after"
