"""What no plan takes less than, against optima: bounds that are told the luck of checks."""

from dataclasses import replace

import numpy as np
import pytest
from random_problems import random_problem

from gaugesim.planning import Planner, Problem, expected_minutes, lower_bound, start
from gaugesim.planning.compacted import Compact, compact
from gaugesim.planning.exact import Certain
from gaugesim.planning.exact_erring import Erring
from gaugesim.planning.generous_bound import Coupled, clustered, stretches

CLOSE = 1e-9


def small(seed: int, setups: str = "mild", *, erring: bool, faults: int = 6) -> Problem:
    return random_problem(seed, setups, erring=erring, faults=faults, binary=2, ternary=1)


def all_of(problem: Problem) -> Compact:
    return compact(problem, start(problem))


@pytest.mark.parametrize("clusters", [1, 3, 8])
@pytest.mark.parametrize("places", [0, 1, 4])
def test_no_step_takes_less_than_where_luck_is_told(clusters: int, places: int) -> None:
    for seed in range(4):
        for erring in (False, True):
            everything = all_of(small(seed, "strong", erring=erring))
            exact = Erring(everything)
            coupled = Coupled(everything, clusters, places)
            assert coupled.minutes() <= exact.minutes() * (1 + CLOSE)


@pytest.mark.parametrize("setups", ["mild", "strong"])
def test_where_checks_have_no_luck_the_bound_is_the_optimum(setups: str) -> None:
    for seed in range(4):
        problem = random_problem(seed, setups, erring=False, faults=7, binary=4, ternary=2)
        # no fault is so unlikely that it is given away
        everything = all_of(replace(problem, weight=problem.weight + 0.05))
        coupled, exact = Coupled(everything, clusters=7, places=4), Certain(everything)
        assert coupled.minutes() == pytest.approx(exact.minutes(), rel=CLOSE)


def test_more_clusters_and_places_bring_it_closer() -> None:
    everything = all_of(random_problem(0, "strong", erring=True, faults=10, binary=6, ternary=2))
    found = [
        Coupled(everything, clusters, places).minutes() for clusters, places in [(2, 1), (6, 1), (10, 4)]
    ]
    assert found[0] < found[1] < found[2]


def test_stretches_of_luck_share_out_each_outcome() -> None:
    """Under every fault the stretches in which it shows an outcome are as long as that is probable."""
    likelihood = np.random.default_rng(1).dirichlet(np.ones(3), (4, 5)).transpose(0, 2, 1)
    check, length, given_away, blocks = stretches(likelihood, [np.array([k]) for k in range(5)])
    for j, shown in enumerate(likelihood):
        here = check == j
        # two faults show the same as often as the shares of their outcomes, side by side, overlap
        low = np.concatenate([np.zeros((1, 5)), np.cumsum(shown, axis=0)[:-1]])
        both = np.minimum((low + shown)[:, :, None], (low + shown)[:, None]) - np.maximum(
            low[:, :, None], low[:, None]
        )
        same = np.maximum(both, 0.0).sum(axis=0)
        for one in range(5):
            for other in range(one):
                pair = (1 << one) | (1 << other)
                together = ((blocks[here] & pair) == pair).any(axis=1)
                apart = (length[here] * ~together).sum()
                # stretches too short to matter give the fault away, which only adds to it
                assert 1 - same[one, other] <= apart + CLOSE <= 1 - same[one, other] + 0.03
    assert not given_away[length > 0.05].any()


def test_faults_that_show_the_same_come_into_one_cluster() -> None:
    rows = [[0.9, 0.1], [0.1, 0.9], [0.88, 0.12], [0.12, 0.88]]
    problem = Problem(np.ones(4), [rows], [2], [[]], [], [5, 6, 7, 8], [-1] * 4)
    parts = clustered(all_of(problem), np.arange(4), 2)
    assert sorted(part.tolist() for part in parts) == [[0, 2], [1, 3]]


def test_the_bound_is_close_where_few_faults_are_left() -> None:
    problems = [small(seed, erring=True) for seed in range(10, 16)]
    share = [lower_bound(problem) / expected_minutes(problem, Planner()) for problem in problems]
    assert max(share) <= 1 + CLOSE
    assert np.mean(share) > 0.93
