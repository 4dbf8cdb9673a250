"""What was typed, and what was meant."""

from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from gaugesim.circuit import available, find
from gaugesim.conversation import Choice, Question, begin, step
from gaugesim.conversation.answers import LOOKED, choices
from gaugesim.conversation.complaint import complaint_question
from gaugesim.conversation.intake import gauge_question, part_question
from gaugesim.conversation.question import ask_back, tidy, understand
from gaugesim.vocabulary import TOPICS
from gaugesim.vocabulary.quantity import DialFigure, typed_quantity

NEEDLE = Question("needle", "Where is the needle?", choices(TOPICS["needle"]), number="position")
VOLTS = Question("volts", "What does the meter show?", choices(TOPICS["volts"]), number="volts")
LOOK = Question("look", "What does it look like?", LOOKED, commands=(Choice("other", "another check"),))


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("4", "half"),
        (" 4 ", "half"),
        ("4.", "half"),
        ("4)", "half"),
        ("HALF", "half"),
        ("  At  HALF!!", "half"),
        ("middle", "half"),
        ("three_quarters", "three_quarters"),
        ("three quarters", "three_quarters"),
        ("thr", "three_quarters"),
        ("on the low stop", "pegged_low"),
        ("pegged low", "pegged_low"),
        ("empty", "low"),
        ("hot", "high"),
        ("8", "undriven"),
    ],
)
def test_numbers_words_and_beginnings_are_taken(typed: str, value: str) -> None:
    heard = understand(NEEDLE, typed)
    assert heard.choice is not None
    assert heard.choice.value == value


@pytest.mark.parametrize(
    ("typed", "near"),
    [("hlaf", "half"), ("qarter", "quarter"), ("thre quaters", "three_quarters"), ("emtpy", "low")],
)
def test_a_near_word_is_offered_not_taken(typed: str, near: str) -> None:
    heard = understand(NEEDLE, typed)
    assert heard.choice is None
    assert near in [choice.value for choice in heard.near]


def test_one_near_word_is_asked_back_and_several_are_listed_with_their_numbers() -> None:
    half, high = NEEDLE.choices[3], NEEDLE.choices[5]
    assert ask_back(NEEDLE, [half]) == "at half? y for yes, or type it again."
    assert ask_back(NEEDLE, [half, high]) == "Which: 4 at half, 6 at the high end?"


@pytest.mark.parametrize(
    "typed", ["", "   ", "?", " ? ", "??", "don't know", "Dont know", "DUNNO", "unknown"]
)
def test_it_is_always_possible_not_to_know(typed: str) -> None:
    for question in (NEEDLE, VOLTS, LOOK):
        assert understand(question, typed).command == "unknown"


def test_a_bare_nought_is_not_to_know_unless_it_may_be_a_reading() -> None:
    assert understand(LOOK, "0").command == "unknown"
    assert "0 V" in understand(VOLTS, "0").complaint
    assert understand(VOLTS, "0 V").number == 0.0
    assert understand(VOLTS, "0.0").number == 0.0


@pytest.mark.parametrize(
    ("typed", "command"), [("b", "back"), (" B.", "back"), ("q", "stop"), ("quit", "stop"), ("H", "help")]
)
def test_back_stop_and_help_are_always_possible(typed: str, command: str) -> None:
    for question in (NEEDLE, VOLTS, LOOK):
        assert understand(question, typed).command == command


@pytest.mark.parametrize("typed", ["12", "-3", "xyz", "%%%", "\x1b[A", "ß" * 500, "4 5"])
def test_what_is_no_answer_is_never_taken(typed: str) -> None:
    heard = understand(LOOK, typed)
    assert (heard.choice, heard.number, heard.command) == (None, None, "")
    assert heard.complaint or heard.near


def test_a_complaint_says_what_would_be_right_and_shows_nothing_strange() -> None:
    assert understand(LOOK, "12").complaint == "There is no 12: give 1 to 9, or a word."
    assert "\x1b" not in understand(LOOK, "\x1b[2J").complaint


def test_a_small_whole_number_is_the_list_and_with_its_unit_a_reading() -> None:
    assert understand(VOLTS, "3").choice == VOLTS.choices[2]
    assert understand(VOLTS, "3 V").number == 3.0
    assert understand(VOLTS, "3.0").number == 3.0
    assert understand(VOLTS, "12").number == 12.0


@pytest.mark.parametrize(
    ("typed", "kind", "value"),
    [
        ("12.4", "volts", 12.4),
        ("12,4 V", "volts", 12.4),
        ("about 12 volts", "volts", 12.0),
        ("-0.3v", "volts", -0.3),
        ("400 mV", "volts", 0.4),
        ("13.8-14.2", "volts", (13.8, 14.2)),
        ("14 to 13 v", "volts", (13.0, 14.0)),
        ("68", "ohms", 68.0),
        ("68R", "ohms", 68.0),
        ("1k2", "ohms", 1200.0),
        ("2.2 kΩ", "ohms", 2200.0),
        ("OL", "ohms", float("inf")),
        ("inf", "ohms", float("inf")),
        (".4", "position", 0.4),
        ("40%", "position", 0.4),
        ("3/4", "position", 0.75),
        ("half", "position", None),
        ("", "volts", None),
    ],
)
def test_readings(typed: str, kind: str, value: object) -> None:
    assert typed_quantity(typed, kind) == value


@pytest.mark.parametrize(
    ("typed", "kind", "problem"),
    [
        ("12 ohm", "volts", "'ohm' is no unit for volts"),
        ("1000", "volts", "out of reach"),
        ("5m", "ohms", "megohm or 5 milliohm"),
        ("1/0", "position", "no number"),
        ("60", "position", "out of reach"),
    ],
)
def test_readings_that_cannot_be_meant(typed: str, kind: str, problem: str) -> None:
    with pytest.raises(ValueError, match=problem):
        typed_quantity(typed, kind)


def test_a_needle_is_told_by_the_figures_of_its_dial_too() -> None:
    where = Question("needle", "Where is it?", VOLTS.choices, "position")
    assert understand(where, "10,5 V").number == DialFigure(10.5, 10.5, "V")
    assert understand(where, "3/4").number == 0.75


@cache
def asked(circuit: str) -> tuple[Question, ...]:
    """Every question that a circuit leads to, each answered with its first choice, until one comes again.

    That something else than the sender drives the gauge would end it: it is denied.
    """
    state = begin(Path("case.toml"), [find(circuit)])
    questions = {state.question.id: state.question}
    while state.question.number == "" and not state.question.several:
        last = len(state.question.choices) - 1
        state, _ = step(state, state.question.label(last if state.question.id.startswith("driver:") else 0))
        if state.question.id in questions:
            break
        questions[state.question.id] = state.question
    assert len(questions) > 2
    # what is at hand is answered by several numbers, a reading by its own list
    return tuple(one for one in questions.values() if one.number == "" and not one.several)


@pytest.mark.parametrize("circuit", available())
def test_every_answer_that_is_offered_is_understood(circuit: str) -> None:
    for question in asked(circuit):
        for index, choice in enumerate(question.choices):
            # what is denied is written as nothing, which nobody types
            values = [choice.value] if choice.value else []
            for typed in (question.label(index), *values, choice.words, choice.words.upper()):
                assert understand(question, typed).choice == choice, (question.id, typed)


@pytest.mark.parametrize("circuit", available())
def test_two_letters_exchanged_never_make_another_answer(circuit: str) -> None:
    tables = [Question(name, "", choices(one), one.number) for name, one in TOPICS.items()]
    for question in (*asked(circuit), *tables, LOOK):
        names = {
            tidy(name) for choice in question.choices for name in (choice.value, choice.words, *choice.others)
        }
        for choice in question.choices:
            word = tidy(choice.words)
            for i, (first, second) in enumerate(pairwise(word)):
                typed = word[:i] + second + first + word[i + 2 :]
                if typed in names:
                    continue
                heard = understand(question, typed)
                assert heard.choice in (None, choice), (question.id, typed)
                assert heard.choice or choice in heard.near or len(word) < 4, (question.id, typed)


@pytest.mark.parametrize(
    ("topic", "typed", "value"),
    [
        *(("moves", "swings", "jumps"), ("moves", "fine", "follows"), ("moves", "dead", "never")),
        *(("consumer", "ok", "normal"), ("consumer", "on", "normal"), ("judged", "ok", "normal")),
        *(("volts", "zero", "none"), ("volts", "dead", "none"), ("volts", "on", "battery")),
        *(("lamp", "ok", "bright"), ("jump", "swings", "jumps"), ("heat", "overheating", "signs_of_heat")),
    ],
)
def test_near_synonyms(topic: str, typed: str, value: str) -> None:
    heard = understand(Question(topic, "", choices(TOPICS[topic])), typed).choice
    assert heard is not None
    assert heard.value == value


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        *(("zero", "on_a_stop"), ("pegged", "on_a_stop"), ("max", "on_a_stop"), ("fluctuates", "jumps")),
        *(("not working", "dead"), ("overheating", "high"), ("intermittent", "jumps")),
    ],
)
def test_near_synonyms_of_a_complaint(typed: str, value: str) -> None:
    heard = understand(complaint_question(), typed).choice
    assert heard is not None
    assert heard.value == value


def test_an_alternator_is_the_voltmeters_and_the_charging_circuits() -> None:
    gauge = understand(gauge_question([find(name) for name in available()]), "alternator").choice
    part = understand(part_question("part", "", find("boat_panel"), "voltmeter", ()), "alternator").choice
    assert gauge is not None
    assert gauge.value.startswith("voltmeter")
    assert part is not None
    assert part.value == "charging"
