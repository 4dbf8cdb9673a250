"""Jobs cut down until the optimum can be computed; the planner on complaints of circuits there."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.advice.jobs import job
from gaugesim.diagnosis import diagnose
from gaugesim.evaluation.block import CaseBlock
from gaugesim.evaluation.plans import compare_reduced, drawn_case
from gaugesim.planning import Problem, optimum, start
from gaugesim.planning.compacted import all_of, batch_of, compact
from gaugesim.planning.comparison import RULES
from gaugesim.planning.decide import ending_with_repairs, looking_ahead
from gaugesim.planning.exact_erring import table_size
from gaugesim.planning.reduced_problem import reduced
from gaugesim.planning.rollout import affordable
from gaugesim.planning.shortlist import sketch

# what the planner is held to
MEAN, WORST, AVOIDABLE = 1.005, 1.03, 1.015
REPAIRS, TWENTY, ENTRIES = 8, 20, 3e5
COMPLAINTS = [
    (name, number) for name in ("cluster_bimetal_5v", "temp_bridge", "fuel_four_coil") for number in range(2)
]


@cache
def whole_job(name: str, number: int) -> Problem:
    circuit = circuits.find(name)
    return job(diagnose(drawn_case(CaseBlock(circuit, "model", 1, 79, number)), [circuit])).problem


def test_looking_ahead_takes_hardly_longer_than_the_best_plan() -> None:
    found = [compare_reduced(whole_job(*one), REPAIRS, ENTRIES) for one in COMPLAINTS]
    assert all(entry.proven for entry in found)
    assert np.mean([entry.ratio for entry in found]) <= MEAN
    assert max(entry.ratio for entry in found) <= WORST
    own = np.mean([entry.ratio for entry in found]) - 1
    for rule in RULES:
        lost = np.mean([getattr(entry, rule) / entry.least for entry in found]) - 1
        assert lost > max(5 * own, MEAN - 1), rule


def test_nor_does_it_with_as_many_repairs_as_the_random_problems_have() -> None:
    found = [compare_reduced(whole_job(*one), TWENTY, ENTRIES, repairs_last=True) for one in COMPLAINTS[::2]]
    assert all(entry.proven for entry in found)
    assert np.mean([entry.ratio for entry in found]) <= MEAN
    assert max(entry.ratio for entry in found) <= WORST
    assert np.mean([entry.avoidable_ratio for entry in found]) <= AVOIDABLE


def test_where_repairs_come_last_a_core_has_room_for_more_checks() -> None:
    problem = whole_job("fuel_four_coil", 1)
    small = reduced(problem, TWENTY, ENTRIES, repairs_last=True)
    size = table_size(compact(small, start(small)), interleaved=0)
    assert small.repairs == TWENTY
    assert ENTRIES / 4 < size <= ENTRIES
    assert small.checks > reduced(problem, REPAIRS, ENTRIES).checks


@pytest.mark.parametrize("name", ["cluster_bimetal_5v", "fuel_four_coil"])
def test_a_core_is_as_much_of_a_job_as_can_be_computed(name: str) -> None:
    problem = whole_job(name, 0)
    small = reduced(problem, REPAIRS, ENTRIES)
    size = table_size(compact(small, start(small)))
    assert small.repairs == REPAIRS
    # one more check of three outcomes would be too much
    assert ENTRIES / 4 < size <= ENTRIES
    assert np.isfinite(small.weight).all()
    assert optimum(small) is not None


def test_a_core_is_looked_at_no_closer_than_the_whole_job() -> None:
    problem = whole_job("cluster_bimetal_5v", 2)
    small = reduced(problem, REPAIRS, ENTRIES)
    here, there = (sketch(all_of(one), batch_of(one, start(one))).likelihood.size for one in (small, problem))
    planner = looking_ahead(problem, small)
    assert affordable(here * planner.times) == affordable(there) != affordable(here)
    assert planner.few_faults == 0
    assert ending_with_repairs(problem, small) == replace(affordable(there), repairs_last=True)
    # where every step is looked at, a large job is looked at once
    assert affordable(there, every=True).leading < affordable(there).leading
    assert affordable(here, every=True) == affordable(here)


def test_a_core_keeps_a_repair_with_all_its_faults() -> None:
    """The second repair mends two faults, together the likeliest; the third is left out."""
    shows = [[0.9, 0.1], [0.1, 0.9], [0.2, 0.8], [0.5, 0.5]]
    problem = Problem([0.35, 0.3, 0.2, 0.15], [shows], [1], [[]], [], [5, 6, 7], [-1] * 3, [0, 1, 1, 2])
    small = reduced(problem, repairs=2)
    assert small.weight * 0.85 == pytest.approx([0.35, 0.3, 0.2])
    assert small.repair_of.tolist() == [0, 1, 1]
    assert small.repair_minutes.tolist() == [5, 6]
    assert small.outcomes[0].tolist() == shows[:3]


def test_repairs_that_no_check_tells_apart_come_last() -> None:
    """Three that look alike, the likeliest of all, and two more: one of each kind is kept first."""
    shows = [[0.9, 0.1]] * 3 + [[0.1, 0.9], [0.5, 0.5]]
    problem = Problem([0.3, 0.28, 0.26, 0.1, 0.06], [shows], [1], [[]], [], [5, 6, 7, 8, 9], [-1] * 5)
    assert reduced(problem, repairs=3).repair_minutes.tolist() == [5, 8, 9]
    assert reduced(problem, repairs=4).repair_minutes.tolist() == [5, 6, 8, 9]


def test_a_check_that_repeats_another_is_not_taken() -> None:
    """One that tells the same as the quickest adds nothing; a dear one that tells the rest is taken."""
    four = np.eye(4)
    half = four @ [[1, 0], [1, 0], [0, 1], [0, 1]]
    other = four @ [[1, 0], [0, 1], [1, 0], [0, 1]]
    problem = Problem([0.25] * 4, [half, half, other], [3, 2, 50], [[]] * 3, [], [9] * 4, [-1] * 4)
    assert reduced(problem).check_minutes.tolist() == [2, 50]
    # with room for one only
    assert reduced(problem, entries=16 * 3).check_minutes.tolist() == [2]
