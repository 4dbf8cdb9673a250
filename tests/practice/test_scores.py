"""Scores mean something: who decides better scores better, and a level is as hard with any seed."""

import numpy as np
import pytest
from practice.conftest import circuit
from practice.learners import LEARNERS, courses

from gaugesim.practice.judge import decisions
from gaugesim.practice.task import RANGES, set_task

SEEDS = (0, 1, 2)
LEVEL = 2
CIRCUITS = (("temp_opposed_coil", "temperature"), ("fuel_three_coil_240_33", "fuel"))


@pytest.fixture(scope="module", params=CIRCUITS, ids=lambda entry: entry[0])
def table(request: pytest.FixtureRequest) -> dict[str, list[tuple[float, float]]]:
    """Regret and score of every learner on every seed."""
    name, gauge = request.param
    result: dict[str, list[tuple[float, float]]] = {}
    for seed in SEEDS:
        task = set_task(circuit(name), gauge, seed, LEVEL)
        for learner, choose in LEARNERS.items():
            *_, course = courses(task, choose)
            regret = sum(one.regret for one in decisions(course))
            search = task.difficulty.search_minutes
            result.setdefault(learner, []).append((regret, 100 * search / (search + regret)))
    return result


def regret(table: dict[str, list[tuple[float, float]]], learner: str) -> float:
    return float(np.mean([regret for regret, _ in table[learner]]))


def test_the_planner_loses_nothing(table: dict[str, list[tuple[float, float]]]) -> None:
    assert [lost for lost, _ in table["planner"]] == [0.0] * len(SEEDS)
    assert all(score == pytest.approx(100) for _, score in table["planner"])


def test_the_better_rule_loses_less(table: dict[str, list[tuple[float, float]]]) -> None:
    good, fixed, swapping, random = (regret(table, name) for name in [*LEARNERS][1:])
    search = np.mean(RANGES[LEVEL].minutes)
    assert 0 < good < 0.4 * search
    assert fixed > 1.5 * good
    assert swapping > 2 * good
    assert random > 1.5 * max(fixed, swapping)


def test_a_level_is_as_hard_with_any_seed(table: dict[str, list[tuple[float, float]]]) -> None:
    scores = [score for _, score in table["information per minute"]]
    assert max(scores) - min(scores) < 25
    assert min(scores) > 60
    assert max(score for _, score in table["random"]) < min(scores)
