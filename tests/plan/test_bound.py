"""What no plan takes less than, against optima: bounds that are told the luck of checks, and looks ahead."""

from dataclasses import replace

import numpy as np
import pytest
from random_problems import random_problem

from gaugesim.plan import Planner, Problem, expected_minutes, lower_bound, optimum, start
from gaugesim.plan.closer_bound import closer_bound
from gaugesim.plan.compact import Compact, compact
from gaugesim.plan.coupled_bound import Coupled, clustered, stretches
from gaugesim.plan.exact import Certain
from gaugesim.plan.exact_erring import Erring

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
            assert np.all(coupled.step_minutes() <= exact.step_values() * (1 + CLOSE))


@pytest.mark.parametrize("setups", ["mild", "strong"])
def test_where_checks_have_no_luck_the_bound_is_the_optimum(setups: str) -> None:
    for seed in range(4):
        problem = random_problem(seed, setups, erring=False, faults=7, binary=4, ternary=2)
        # no fault is so unlikely that it is given away
        everything = all_of(replace(problem, weight=problem.weight + 0.05))
        coupled, exact = Coupled(everything, clusters=7, places=4), Certain(everything)
        assert coupled.minutes() == pytest.approx(exact.minutes(), rel=CLOSE)
        possible = np.isfinite(exact.step_values())
        assert coupled.step_minutes()[possible] == pytest.approx(exact.step_values()[possible], rel=CLOSE)


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


def test_looking_at_first_steps_comes_to_the_optimum_in_the_end() -> None:
    for seed in range(3):
        problem = small(seed, erring=True, faults=4)
        everything, best = all_of(problem), optimum(problem)
        weight = everything.initial.weight.sum()
        looked = [closer_bound(everything, looks) / weight for looks in (1, 10, 2000)]
        assert looked[0] <= looked[1] <= looked[2]
        assert looked[2] == pytest.approx(best, rel=1e-4)
        assert looked[2] <= best * (1 + CLOSE)


@pytest.mark.parametrize("setups", ["mild", "strong"])
def test_looking_at_first_steps_never_comes_to_more_than_the_optimum(setups: str) -> None:
    for seed in range(20, 26):
        for erring in (False, True):
            problem = small(seed, setups, erring=erring)
            everything, best = all_of(problem), optimum(problem)
            for looks in (1, 10, 100):
                bound = closer_bound(everything, looks) / everything.initial.weight.sum()
                assert bound <= best * (1 + CLOSE)


def test_checks_that_tell_little_count_where_they_cost_little() -> None:
    weak = [[0.55, 0.45], [0.45, 0.55]]
    problem = Problem([0.5, 0.5], [weak] * 4, [0.1] * 4, [[]] * 4, [], [60, 60], [-1, -1])
    best = optimum(problem)
    assert best < 0.99 * (60 + 0.5 * 60)
    bound = lower_bound(problem, looks=2000)
    assert 0.99 * best < bound <= best * (1 + CLOSE)


def test_the_bound_is_close_where_few_faults_are_left() -> None:
    problems = [small(seed, erring=True) for seed in range(10, 16)]
    share = [lower_bound(problem, looks=20) / expected_minutes(problem, Planner()) for problem in problems]
    assert max(share) <= 1 + CLOSE
    assert np.mean(share) > 0.97


def test_enough_is_enough() -> None:
    problem = small(2, erring=True, faults=4)
    everything = all_of(problem)
    weight = everything.initial.weight.sum()
    first, most = (closer_bound(everything, looks) for looks in (1, 2000))
    assert first < most
    assert closer_bound(everything, 2000, enough=first) == first
    assert lower_bound(problem, enough=0.0) <= most / weight
