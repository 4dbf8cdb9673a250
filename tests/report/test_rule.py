"""The page's rule against the planner's own numbers and against arithmetic done another way."""

from dataclasses import replace

import numpy as np
import pytest
from page_rule import at, bits, cost, standing
from report_cases import CASES, random_taps

from gaugesim.advice.next_step import way
from gaugesim.advice.telling import information
from gaugesim.planning.problem import BELIEVED, after_check, start
from gaugesim.report.first_steps import Planned
from gaugesim.report.tables import PageData


def tables(data: PageData) -> list[np.ndarray]:
    return [np.array(check.likelihood) for check in data.checks]


@pytest.mark.parametrize("case", CASES)
def test_it_begins_where_the_diagnosis_ends(make, case: str) -> None:
    made = make(case)
    at_first = standing(made.data)
    best, mend = made.consultation.next_option, made.consultation.mend
    assert at_first.mend == (mend.words if mend else "")
    offered = made.data.checks[at_first.next_check]
    assert offered.id == best.id
    assert sum(at_first.probability) == pytest.approx(1, abs=1e-12)
    assert at_first.minutes == 0
    for suspect in made.job.diagnosis.ranking[:3]:
        shown = sum(
            p
            for entry, p in zip(made.data.suspects, at_first.probability, strict=True)
            if entry.fault == suspect.fault
        )
        # faults below a thousandth are left out, and what they had goes to the rest
        assert shown == pytest.approx(suspect.probability, abs=0.02)


@pytest.mark.parametrize("case", CASES)
def test_taps_multiply_likelihoods_in_any_order(make, case: str) -> None:
    data = make(case).data
    table = tables(data)
    random = np.random.default_rng(20)
    for _ in range(20):
        taps = random_taps(data, random)
        weight = np.array([suspect.probability for suspect in data.suspects])
        product = weight * np.prod([table[check][outcome] for check, outcome in taps], axis=0)
        expected = product / product.sum()
        for order in (taps, taps[::-1]):
            assert standing(data, order).probability == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("case", CASES)
def test_likely_answers_lead_where_the_planner_goes(make, case: str) -> None:
    made = make(case)
    work, data = made.job, made.data
    number = way(work).check
    likely = {outcome for outcome, _ in data.plan.then}
    assert likely
    for outcome in likely:
        state = after_check(work.problem, start(work.problem), number, outcome)
        planned, now = way(work, state), standing(data, [(data.plan.check, outcome)])
        assert now.mend == (planned.mend.words if planned.mend else "")
        if planned.check is None:
            assert now.next_check == -1
        else:
            assert data.checks[now.next_check].id == work.options[planned.check].id


@pytest.mark.parametrize("case", CASES)
def test_off_the_plan_the_next_check_tells_most_for_its_time(make, case: str) -> None:
    data = make(case).data
    table = tables(data)
    random = np.random.default_rng(21)
    for _ in range(10):
        taps = random_taps(data, random)
        now = standing(data, taps)
        if at(data.plan, taps) is not None:
            continue
        weight = np.array(now.probability[:-1])
        weight /= weight.sum()
        told = [information(weight, one.T[:-1] / one.T[:-1].sum(axis=1, keepdims=True)) for one in table]
        worth = [
            -1.0
            if check in now.done or burnt(data, check, weight) > BELIEVED
            else told[check] / cost(data, check, now.opened)
            for check in range(len(data.checks))
        ]
        assert now.next_check not in now.done
        assert worth[now.next_check] == pytest.approx(max(worth), rel=1e-4)
        assert bits(data, now.next_check, now.probability) == pytest.approx(told[now.next_check], rel=1e-4)


def burnt(data: PageData, check: int, weight: np.ndarray) -> float:
    return float(weight @ (data.checks[check].burns or np.zeros(len(weight))))


def test_what_may_burn_is_not_offered_while_that_is_believed(make) -> None:
    """A check that tells more for its minutes than any other waits while its lead may be live."""
    data = replace(make("stuck_at_half").data, plan=None)
    first = standing(data).next_check
    assert first >= 0
    risky = replace(data.checks[first], burns=tuple([0.03] * (len(data.suspects) - 1)))
    checks = tuple(risky if check is data.checks[first] else check for check in data.checks)
    assert standing(replace(data, checks=checks)).next_check not in (first, -1)


def test_a_place_is_opened_once(make) -> None:
    data = make("stuck_at_half").data
    closed = {k for k, place in enumerate(data.places) if not place.open and place.minutes > 0}
    pair = [i for i, check in enumerate(data.checks) if closed & set(check.places)]
    first = pair[0]
    second = next(i for i in pair[1:] if data.checks[i].places == data.checks[first].places)
    way_in = sum(data.places[k].minutes for k in closed & set(data.checks[first].places))
    spent = standing(data, [(first, 0), (second, 0)]).minutes
    assert way_in > 0
    assert spent == pytest.approx(data.checks[first].minutes + data.checks[second].minutes + way_in)


def test_nothing_is_offered_when_all_is_done(make) -> None:
    data = make("stuck_at_half").data
    data = replace(data, checks=data.checks[:2], plan=Planned(0, ""))
    assert standing(data, [(0, 0), (1, 0)]).next_check == -1
