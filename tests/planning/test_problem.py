"""The problem itself: what it refuses, and what a step does to a state."""

from dataclasses import replace

import numpy as np
import pytest

from gaugesim.planning import (
    CHECK,
    NO_PLACE,
    REPAIR,
    Problem,
    Step,
    after_check,
    after_repair,
    next_action,
    start,
    step_minutes,
)
from gaugesim.planning.prune import not_dominated

SOUND = {
    "weight": [0.5, 0.3, 0.2],
    "outcomes": [[[1, 0], [0.5, 0.5], [0, 1]], [[1.0], [1.0], [1.0]]],
    "check_minutes": [2, 3],
    "check_places": [[0, 2], []],
    "setup_minutes": [1, 10, 5],
    "repair_minutes": [20, 30],
    "repair_places": [1, NO_PLACE],
    "repair_of": [0, 1, 1],
    "price": [60, 0],
    "price_per_minute": 2.0,
}


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"weight": [0, 0, 0]}, "must not be zero for every fault"),
        ({"weight": [0.5, -0.3, 0.2]}, "weight must be a row of finite numbers, zero or more"),
        ({"weight": [0.5, np.nan, 0.2]}, "weight must be a row of finite numbers"),
        ({"outcomes": [[[1, 0], [0.5, 0.4], [0, 1]]] * 2}, r"outcomes\[0\] must have rows .* sum to 1"),
        ({"outcomes": [[[1.0], [1.0]]] * 2}, r"outcomes\[0\] must have one row for each of 3 faults"),
        ({"check_minutes": [2]}, "check_minutes must be as long as outcomes, 2, but has 1"),
        ({"check_minutes": [2, 0]}, "check_minutes must be above zero"),
        ({"check_places": [[0, 3], []]}, "check_places must name places below 3, but has 3"),
        ({"repair_minutes": [20, 0]}, "repair_minutes must be above zero"),
        ({"repair_places": [1, 7]}, "repair_places must name places below 3, but has 7"),
        ({"repair_places": [0.5, 1]}, "repair_places must be a row of whole numbers"),
        ({"repair_of": [0, 1, 2]}, "repair_of must name repairs below 2"),
        ({"opened": {5}}, "opened must name places below 3, but has 5"),
        ({"price": [1]}, "price must be as long as repair_minutes, 2, but has 1"),
        ({"price_per_minute": 0}, "price_per_minute must be above zero, but 0 was given"),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else "",
)
def test_what_does_not_fit_is_refused_with_what_would(wrong: dict[str, object], sentence: str) -> None:
    Problem(**SOUND)
    with pytest.raises(ValueError, match=sentence):
        Problem(**(SOUND | wrong))


def test_its_numbers_cannot_be_changed() -> None:
    problem = Problem(**SOUND)
    with pytest.raises(ValueError, match="read-only"):
        problem.weight[0] = 1.0


def test_left_out_each_fault_has_its_own_repair_and_parts_cost_nothing() -> None:
    problem = Problem([0.5, 0.5], [], [], [], [], [10, 20], [NO_PLACE, NO_PLACE])
    assert problem.repair_of.tolist() == [0, 1]
    assert problem.repair_cost.tolist() == [10, 20]


def test_a_price_counts_as_minutes_at_the_rate() -> None:
    assert Problem(**SOUND).repair_cost.tolist() == [20 + 60 / 2, 30]


def test_places_are_paid_for_once() -> None:
    problem = Problem(**SOUND)
    state = start(problem)
    assert step_minutes(problem, state, Step(CHECK, 0)) == 2 + 1 + 5
    assert step_minutes(problem, state, Step(REPAIR, 0)) == 50 + 10
    assert step_minutes(problem, state, Step(REPAIR, 1)) == 30
    after = after_check(problem, state, 0, 1)
    assert after.opened == {0, 2}
    assert after.remaining == {1}
    assert step_minutes(problem, after, Step(CHECK, 0)) == 2


def test_weights_after_a_check_are_joint_with_its_outcome() -> None:
    problem = Problem(**SOUND)
    first, second = (after_check(problem, start(problem), 0, outcome) for outcome in (0, 1))
    assert first.weight.tolist() == pytest.approx([0.5, 0.15, 0.0])
    assert second.weight.tolist() == pytest.approx([0.0, 0.15, 0.2])


def test_a_repair_in_vain_rules_out_all_that_it_mends() -> None:
    problem = Problem(**SOUND)
    after = after_repair(problem, start(problem), 1)
    assert after.weight.tolist() == [0.5, 0.0, 0.0]
    assert after.opened == frozenset()
    assert after_repair(problem, after, 0).opened == {1}


def test_a_check_that_another_outdoes_is_left_out() -> None:
    """The second tells less of every pair than the first, the third more of one pair, the last is quicker."""
    shown = np.array([[[0.9, 0.5, 0.1]], [[0.8, 0.5, 0.2]], [[0.5, 0.5, 0.0]], [[0.8, 0.5, 0.2]]])
    likelihood = np.concatenate([shown, 1 - shown], axis=1)
    minutes, needs = np.array([2.0, 2.0, 2.0, 1.0]), np.zeros((4, 1), dtype=np.bool_)
    assert not_dominated(likelihood, minutes, needs).tolist() == [0, 2, 3]


def test_a_step_that_may_do_harm_is_not_proposed_while_that_is_believed() -> None:
    """The jumper is quickest, but burns with the third fault; once that is out of the question it is not."""
    shows = [[[1, 0], [0, 1], [0, 1]], [[1, 0], [1, 0], [0, 1]]]
    risky = Step(CHECK, 0)
    harm = {risky: np.array([0.0, 0.0, 1.0]), Step(REPAIR, 1): np.array([0.0, 0.0, 1.0])}
    problem = Problem([0.5, 0.45, 0.05], shows, [1, 2], [[], []], [], [30, 30, 30], [NO_PLACE] * 3, harm=harm)
    assert next_action(replace(problem, harm={})).step == risky
    action = next_action(problem)
    assert action.step == Step(CHECK, 1)
    assert {choice.step for choice in action.alternatives}.isdisjoint(harm)
    assert next_action(problem, after_check(problem, start(problem), 1, 0)).step == risky
