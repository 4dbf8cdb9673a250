"""A check as a person is told it."""

import re

import pytest

from gaugesim.advice.check_advice import Advice, Outcome
from gaugesim.circuit import find
from gaugesim.cli.advice_text import advice_lines
from gaugesim.cli.shown_cautions import Warned
from gaugesim.vocabulary import TOPICS, outcome_clause, outcome_words


def told(*probabilities: float, news: bool = True) -> list[str]:
    outcomes = tuple(
        Outcome(f"o{k}", f"outcome{k}", f"outcome{k}", p, ((f"part{k}=open", f"fault{k}", 0.9),))
        for k, p in enumerate(probabilities)
    )
    advised = Advice("look_at:fuse", "key_off", "Look", "key off", 1.0, (), 0.5, (), outcomes, ("Look",), "")
    before = {} if news else {f"part{k}=open": 0.9 for k in range(len(probabilities))}
    lines = advice_lines(advised, find("temp_two_coil"), Warned(), before)
    return [line.removeprefix("  - if ") for line in lines if line.startswith("  - if ")]


def test_what_is_hardly_to_be_expected_is_told_together() -> None:
    lines = told(0.6, 0.2, 0.1, 0.04, 0.03, 0.01, 0.01)
    assert [line.split(" ")[0] for line in lines[:-1]] == [f"outcome{k}" for k in range(5)]
    assert lines[-1].startswith("anything else (2 %)")


@pytest.mark.parametrize("probabilities", [(0.97, 0.01, 0.01, 0.01), (0.3, 0.3, 0.2, 0.1, 0.1)])
def test_few_outcomes_are_all_told(probabilities: tuple[float, ...]) -> None:
    lines = told(*probabilities)
    assert [line.split(" ")[0] for line in lines] == [f"outcome{k}" for k in range(len(probabilities))]


def test_what_follows_alike_is_said_once() -> None:
    assert told(0.5, 0.3, 0.2, news=False) == [
        "outcome0 (50 %), outcome1 (30 %) or outcome2 (20 %): then little changes"
    ]


@pytest.mark.parametrize(
    ("reads", "word"), [(reads, word.id) for reads in TOPICS for word in TOPICS[reads].words]
)
def test_an_outcome_can_stand_behind_if(reads: str, word: str) -> None:
    """A needle, a lamp or the coolant is named with its article and has a verb."""
    clause, shown = outcome_clause(reads, word), outcome_words(reads, word)
    assert clause.endswith(shown.rpartition(" ")[2])
    assert "moves mov" not in shown
    if TOPICS[reads].subject:
        assert re.match(r"the \w+ (is|holds|jumps|stays|moves|rises|falls|flashes|never)\b", clause)
