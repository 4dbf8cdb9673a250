"""Repairs alone: the order and its minutes against every other order."""

from itertools import permutations

import numpy as np
import pytest
from brute_force import least
from random_problems import random_problem

from gaugesim.planning import Problem, start
from gaugesim.planning.compacted import Batch, all_of
from gaugesim.planning.repairs import repair_minutes, urgency


def minutes_in_order(problem: Problem, order: tuple[int, ...]) -> float:
    opened, left, total = {0}, problem.weight.copy(), 0.0
    for repair in order:
        place = int(problem.repair_places[repair])
        opening = 0.0 if place in opened else problem.setup_minutes[place]
        total += left.sum() * (problem.repair_minutes[repair] + opening)
        opened.add(place)
        left[repair] = 0.0
    return total


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("setups", ["mild", "strong"])
def test_no_order_takes_less(seed: int, setups: str) -> None:
    problem = random_problem(seed, setups, erring=False, faults=6, binary=0, ternary=0)
    everything = all_of(problem)
    best = min(minutes_in_order(problem, order) for order in permutations(range(6)))
    assert repair_minutes(everything, everything.initial)[0] == pytest.approx(best, rel=1e-9)


def test_two_repairs_by_hand() -> None:
    # 0.7 / (15 + 2) is more than 0.3 / (10 + 20), so the first comes first: 17 + 0.3 * 30
    problem = Problem([0.7, 0.3], [], [], [], [2, 20], [15, 10], [0, 1])
    everything = all_of(problem)
    assert repair_minutes(everything, everything.initial)[0] == pytest.approx(26.0)


def test_opening_a_place_may_pay_for_several_repairs_only() -> None:
    # by itself none of the two behind the panel comes first, 0.3/25 against 0.3/20; both together do, 0.6/30
    problem = Problem([0.3, 0.3, 0.3], [], [], [], [20], [5, 5, 20], [0, 0, -1])
    everything = all_of(problem)
    urgent = urgency(everything, everything.initial)[0]
    assert min(urgent[:2]) > urgent[2]
    assert repair_minutes(everything, everything.initial)[0] == pytest.approx(0.9 * 25 + 0.6 * 5 + 0.3 * 20)


def test_faults_of_one_repair_count_together() -> None:
    apart = Problem([0.1, 0.5, 0.4], [], [], [], [3], [10, 12, 8], [0, -1, 0])
    shared = Problem([0.3, 0.06, 0.5, 0.04, 0.1], [], [], [], [3], [8, 10, 12], [0, 0, -1], [0, 1, 2, 1, 0])
    values = [repair_minutes(all_of(x), all_of(x).initial)[0] for x in (apart, shared)]
    assert values[1] == pytest.approx(values[0])


def test_many_rows_are_what_each_row_is() -> None:
    random = np.random.default_rng(3)
    everything = all_of(random_problem(1, "strong", erring=True))
    rows = 9_000  # more than are worked on at once
    batch = Batch(
        random.dirichlet(np.full(everything.faults, 0.3), rows),
        random.random((rows, len(everything.setup_minutes))) < 0.5,
        np.ones((rows, everything.checks), dtype=np.bool_),
    )
    together = repair_minutes(everything, batch)
    for row in (0, 4_000, 8_999):
        assert repair_minutes(everything, batch.take(np.array([row])))[0] == pytest.approx(together[row])


def test_nothing_left_takes_nothing() -> None:
    everything = all_of(random_problem(0, "mild", erring=False))
    none = Batch(np.zeros((1, 20)), everything.initial.closed, everything.initial.remaining)
    assert repair_minutes(everything, none)[0] == 0.0


def test_brute_force_agrees() -> None:
    problem = random_problem(5, "mild", erring=False, faults=5, binary=1, ternary=0)
    everything = all_of(problem)
    alone = repair_minutes(everything, everything.initial)[0]
    assert least(problem, start(problem), checks=False) == pytest.approx(alone, rel=1e-9)
