"""A check as a person is told it."""

import pytest

from gaugesim.advice.check_advice import Advice, Outcome
from gaugesim.circuit import find
from gaugesim.cli.advice_text import advice_lines
from gaugesim.cli.shown_cautions import Warned


def told(*probabilities: float) -> list[str]:
    outcomes = tuple(Outcome(f"o{k}", f"outcome{k}", p, ()) for k, p in enumerate(probabilities))
    advised = Advice("look_at:fuse", "key_off", "Look", "key off", 1.0, (), 0.5, (), outcomes, ("Look",), "")
    lines = advice_lines(advised, find("temp_two_coil"), Warned(), {})
    return [line.removeprefix("  - if ") for line in lines if line.startswith("  - if ")]


def test_what_is_hardly_to_be_expected_is_told_together() -> None:
    lines = told(0.6, 0.2, 0.1, 0.04, 0.03, 0.01, 0.01)
    assert [line.split(" ")[0] for line in lines[:-1]] == [f"outcome{k}" for k in range(5)]
    assert lines[-1].startswith("anything else (2 %)")


@pytest.mark.parametrize("probabilities", [(0.97, 0.01, 0.01, 0.01), (0.3, 0.3, 0.2, 0.1, 0.1)])
def test_few_outcomes_are_all_told(probabilities: tuple[float, ...]) -> None:
    lines = told(*probabilities)
    assert [line.split(" ")[0] for line in lines] == [f"outcome{k}" for k in range(len(probabilities))]
