"""The planner against brute force, optima and bounds, and the simple rules that it looks ahead with."""

from dataclasses import replace

import numpy as np
import pytest
from brute_force import followed, least, least_repairs_last, shuffled, states_after
from random_problems import SETUPS, random_problem

from gaugesim.planning import (
    CHECK,
    MENDED,
    REPAIR,
    Node,
    Planner,
    Problem,
    Step,
    compare,
    expected_minutes,
    lower_bound,
    next_action,
    optimum,
    policies,
    start,
    step_minutes,
    tree,
)
from gaugesim.planning.compacted import Batch, Compact, all_of, batch_of
from gaugesim.planning.comparison import RULES
from gaugesim.planning.exact_erring import Erring
from gaugesim.planning.exact_leading import leading_values
from gaugesim.planning.expected_gain import after_each, expected_bits, setup_minutes
from gaugesim.planning.following import after_steps, follow
from gaugesim.planning.policies import InformationPerMinute, LeastMinutesNext, RepairsOnly
from gaugesim.planning.repairs import repairs_alone
from gaugesim.planning.rollout import Rollout
from gaugesim.planning.shortlist import MOST_CHECKS, sketch

# what the planner is held to: mean and worst expected minutes over the least, and mean of the avoidable ones
MEAN, WORST, AVOIDABLE = 1.005, 1.03, 1.015
CLOSE = 1e-9
# branches that are reached less often are finished by a simple rule
RARE = 1e-3
# everything is looked at, however little it matters
THOROUGH = {"most_checks": 99, "most_repairs": 99, "least_share": 0.0, "least_again": 0.0}


def tiny(seed: int, *, erring: bool) -> Problem:
    return random_problem(seed, "mild", erring=erring, faults=4, binary=2, ternary=1)


def total(problem: Problem) -> float:
    return float(problem.weight.sum())


@pytest.mark.parametrize("erring", [False, True])
@pytest.mark.parametrize("seed", range(3))
def test_the_optimum_is_that_of_brute_force(seed: int, *, erring: bool) -> None:
    problem = tiny(seed, erring=erring)
    assert optimum(problem) == pytest.approx(least(problem, start(problem)) / total(problem), rel=CLOSE)
    last = least_repairs_last(problem, start(problem)) / total(problem)
    found = optimum(problem, repairs_last=True)
    if erring:
        assert found == pytest.approx(last, rel=CLOSE)
    assert optimum(problem) <= last * (1 + CLOSE)


@pytest.mark.parametrize("interleaved", [0, 1, 2])
@pytest.mark.parametrize("seed", range(2))
def test_only_the_likeliest_repairs_may_be_followed_by_checks(seed: int, interleaved: int) -> None:
    problem = tiny(seed, erring=True)
    everything = all_of(problem)
    exact = Erring(everything, interleaved)
    free = frozenset(np.argsort(-problem.weight, kind="stable")[:interleaved].tolist())
    assert exact.minutes() == pytest.approx(least_repairs_last(problem, start(problem), free), rel=CLOSE)
    values = exact.step_values()
    for number in range(everything.checks + everything.repairs):
        step = everything.step(number)
        if step.kind == REPAIR and step.number not in free:
            assert np.isinf(values[number])
            continue
        after = states_after(problem, start(problem), step)
        own = total(problem) * step_minutes(problem, start(problem), step)
        by_hand = own + sum(least_repairs_last(problem, each, free) for each in after)
        assert values[number] == pytest.approx(by_hand, rel=CLOSE)


@pytest.mark.parametrize("rule", [*RULES.values(), LeastMinutesNext(), Planner()], ids=lambda rule: str(rule))
def test_expected_minutes_are_those_of_each_outcome_followed(rule: object) -> None:
    problem = tiny(3, erring=True)
    by_hand = followed(problem, rule, start(problem)) / total(problem)
    assert expected_minutes(problem, rule) == pytest.approx(by_hand, rel=CLOSE)


@pytest.mark.parametrize("erring", [False, True])
@pytest.mark.parametrize("seed", range(8))
def test_no_plan_takes_less_than_the_bound(seed: int, *, erring: bool) -> None:
    problem = random_problem(seed, "strong", erring=erring, faults=7, binary=3, ternary=2)
    best = optimum(problem)
    assert lower_bound(problem) <= best * (1 + CLOSE)
    assert best <= expected_minutes(problem, Planner()) * (1 + CLOSE)


def test_the_bound_is_worth_something() -> None:
    problems = [random_problem(seed, "mild", erring=True, faults=7, binary=3, ternary=2) for seed in range(8)]
    assert np.mean([lower_bound(problem) / optimum(problem) for problem in problems]) > 0.8


@pytest.mark.parametrize("erring", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_looking_ahead_is_never_worse_than_the_rules_it_looks_ahead_with(seed: int, *, erring: bool) -> None:
    bases = (LeastMinutesNext(), InformationPerMinute(careful=True), RepairsOnly())
    problem = random_problem(seed, "strong", erring=erring, faults=8, binary=3, ternary=1)
    for leading in (0, 4):
        ahead = expected_minutes(problem, Rollout(bases, leading=leading, **THOROUGH))
        for base in bases:
            assert ahead <= expected_minutes(problem, base) * (1 + CLOSE), base


@pytest.mark.parametrize("rule", [LeastMinutesNext(2), LeastMinutesNext(6), LeastMinutesNext(6, horizon=2)])
@pytest.mark.parametrize("least", [0.0, 0.02])
def test_a_rule_followed_in_a_quicker_way_takes_the_same(rule: LeastMinutesNext, least: float) -> None:
    for seed in range(6):
        problem = random_problem(seed, "strong", erring=seed % 2 == 0, faults=9, binary=4, ternary=1)
        everything = all_of(problem)
        # states of different weight side by side, some of them too light to be followed
        _, batch = after_steps(everything, everything.initial, np.array([seed % 5]))
        found = rule.minutes(everything, batch, least)
        assert found == pytest.approx(follow(everything, batch, rule, least), rel=CLOSE)


@pytest.mark.parametrize("setups", SETUPS)
def test_after_an_unlikely_outcome_the_order_of_repairs_stays_as_it_was(setups: str) -> None:
    for seed in range(4):
        problem = random_problem(seed, setups, erring=True, faults=9, binary=4, ternary=1)
        everything = all_of(problem)
        _, batch = after_steps(everything, everything.initial, np.array([seed]))
        checks = np.tile(np.delete(np.arange(everything.checks), seed), (len(batch), 1))
        alone, times = repairs_alone(everything, batch)
        total_weight = float(everything.initial.weight.sum())
        exact, some, every = (
            after_each(everything, batch, checks, times, share * total_weight).minutes_of_checks
            for share in (0.0, 0.1, 1.0)
        )
        # places that a check opens would shorten what follows, and that is left out
        assert every == pytest.approx(np.repeat(alone[:, None], checks.shape[1], axis=1), rel=CLOSE)
        assert np.all((exact <= some * (1 + CLOSE)) & (some <= every * (1 + CLOSE)))
        assert some.sum() < every.sum() * (1 - CLOSE)
        assert some.sum() > exact.sum() * (1 + CLOSE)


def state_by_state(everything: Compact, state: Batch, rule: LeastMinutesNext, least: float) -> float:
    """The rule from one state on; after what is half as likely as the least, repairs stay as they were."""
    alone, times = repairs_alone(everything, state)
    if state.weight.sum() <= least:
        return float(alone[0])
    bits = expected_bits(everything, state)
    after = after_each(everything, state, np.arange(everything.checks)[None], times, 0.5 * least)
    own = state.weight.sum() * (everything.check_minutes + setup_minutes(everything, state)[0])
    minutes = np.where(bits[0] > 0, own + after.minutes_of_checks[0], np.inf)
    best = int(np.argmin(minutes))
    if minutes[best] >= alone[0]:
        return float(alone[0])
    rows = np.flatnonzero(after.column == best)
    ahead = [
        state_by_state(everything, after.batch.take(rows[i : i + 1]), rule, least) for i in range(len(rows))
    ]
    return float(minutes[best] + sum(ahead) - after.minutes[rows].sum())


def test_a_rule_followed_in_a_quicker_way_takes_over_the_order_of_repairs(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(policies, "_UNCHANGED", 0.5)
    rule, least, differ = LeastMinutesNext(), 0.05, 0
    for seed in range(20):
        problem = random_problem(seed, "strong", erring=True, faults=9, binary=4, ternary=1)
        everything = all_of(problem)
        _, batch = after_steps(everything, everything.initial, np.array([seed % 5]))
        found = rule.minutes(everything, batch, least)
        rows = [batch.take(np.array([row])) for row in range(len(batch))]
        assert found == pytest.approx(
            [state_by_state(everything, row, rule, least) for row in rows], rel=CLOSE
        )
        differ += not np.allclose(found, follow(everything, batch, rule, least), rtol=CLOSE)
    assert differ > 0


def test_following_leading_steps_by_more_rules_never_takes_more_minutes() -> None:
    lower = 0
    for seed in range(20):
        problem = random_problem(seed, "strong", erring=True, faults=9, binary=4, ternary=2)
        everything = all_of(problem)
        base = (LeastMinutesNext(1, horizon=1),)
        found = [
            Rollout(base, more, leading=3, most_next=1).values(everything, everything.initial)[1]
            for more in ((), (LeastMinutesNext(),))
        ]
        assert np.all(found[1] <= found[0] * (1 + CLOSE))
        lower += found[1].min() < found[0].min() * (1 - CLOSE)
    assert lower > 0


def test_beyond_a_horizon_only_repairs_follow() -> None:
    problem = random_problem(0, "mild", erring=True, faults=8, binary=5, ternary=1)
    minutes = [expected_minutes(problem, LeastMinutesNext(horizon=horizon)) for horizon in range(4)]
    assert minutes[0] == pytest.approx(expected_minutes(problem, RepairsOnly()))
    assert minutes[1] < minutes[0]
    assert minutes[2] != pytest.approx(minutes[1])
    assert expected_minutes(problem, LeastMinutesNext(horizon=6)) == pytest.approx(
        expected_minutes(problem, LeastMinutesNext())
    )


@pytest.mark.parametrize("setups", SETUPS)
def test_checks_that_cannot_err_are_planned_nearly_as_well_as_can_be(setups: str) -> None:
    found = [compare(random_problem(seed, setups, erring=False)) for seed in range(1000, 1008)]
    assert all(entry.proven for entry in found)
    assert min(entry.ratio for entry in found) >= 1 - CLOSE
    assert np.mean([entry.ratio for entry in found]) <= MEAN
    assert max(entry.ratio for entry in found) <= WORST
    assert np.mean([entry.avoidable_ratio for entry in found]) <= AVOIDABLE
    for rule in RULES:
        assert np.mean([getattr(entry, rule) / entry.least for entry in found]) > 1.02, rule


@pytest.mark.parametrize("setups", SETUPS)
def test_checks_that_can_err_are_planned_nearly_as_well_as_can_be(setups: str) -> None:
    """Repairs and checks in any order, so the exact optimum is in reach for few faults and checks only."""
    problems = [
        random_problem(seed, setups, erring=True, faults=9, binary=4, ternary=2) for seed in range(1000, 1006)
    ]
    # no exact planning in the end either; what is rare is finished by a simple rule
    taken = [
        expected_minutes(problem, Planner(few_faults=0), None, RARE, LeastMinutesNext())
        for problem in problems
    ]
    ratios = [minutes / optimum(problem) for minutes, problem in zip(taken, problems, strict=True)]
    assert min(ratios) >= 1 - CLOSE
    assert np.mean(ratios) <= MEAN
    assert max(ratios) <= WORST


def test_numbering_does_not_matter() -> None:
    problem = random_problem(4, "mild", erring=True, faults=8, binary=4, ternary=1)
    assert next_action(shuffled(problem, 1)).expected_minutes == pytest.approx(
        next_action(problem).expected_minutes, rel=1e-6
    )


def test_a_place_is_paid_for_once() -> None:
    """Two checks behind the panel: 20 minutes to get there, 1 for each, and the repairs are there too."""
    four = np.eye(4)
    problem = Problem(
        weight=[0.25] * 4,
        outcomes=[four @ [[1, 0], [1, 0], [0, 1], [0, 1]], four @ [[1, 0], [0, 1], [1, 0], [0, 1]]],
        check_minutes=[1, 1],
        check_places=[[0], [0]],
        setup_minutes=[20],
        repair_minutes=[30] * 4,
        repair_places=[0] * 4,
    )
    assert optimum(problem) == pytest.approx(20 + 1 + 1 + 30)
    assert next_action(problem).expected_minutes == pytest.approx(52)
    # by repairs alone: 1, 2, 3 or 4 of them
    assert compare(problem).swap_parts == pytest.approx(20 + 30 * 2.5)


def test_it_stops_checking_when_no_check_saves_its_minutes() -> None:
    """Nine in ten are the sender: a check of 10 minutes would save 0.1 times 15; information asks anyway."""
    problem = Problem([0.9, 0.1], [[[1, 0], [0, 1]]], [10], [[]], [0], [15, 5], [0, 0])
    assert next_action(problem).step == Step(REPAIR, 0)
    assert next_action(problem).expected_minutes == pytest.approx(15 + 0.1 * 5)
    asks = InformationPerMinute()
    assert (
        all_of(problem).step(int(asks.choose(all_of(problem), batch_of(problem, start(problem)))[0])).kind
        == CHECK
    )
    stops = expected_minutes(problem, InformationPerMinute(careful=True))
    assert stops == pytest.approx(15.5)
    assert expected_minutes(problem, asks) == pytest.approx(10 + 0.9 * 15 + 0.1 * 5)


def leaves(node: Node) -> list[Node]:
    return (
        [node] if not node.children else [leaf for child in node.children.values() for leaf in leaves(child)]
    )


def nodes(node: Node) -> list[Node]:
    return [node, *(deeper for child in node.children.values() for deeper in nodes(child))]


@pytest.mark.parametrize("pruned", [0.02, 0.2])
def test_a_tree_leaves_out_what_is_unlikely_and_nothing_else(pruned: float) -> None:
    problem = random_problem(2, "mild", erring=True, faults=8, binary=3, ternary=1)
    root = tree(problem, least_probability=pruned)
    ends = leaves(root)
    assert sum(leaf.probability for leaf in ends) == pytest.approx(1)
    assert all(leaf.probability < pruned for leaf in ends if leaf.cut)
    assert any(leaf.cut for leaf in ends)
    for node in nodes(root):
        assert (node.action is None) == (not node.children)
        assert node.action is None or node.probability >= pruned
        if node.action is not None:
            ahead = sum(child.probability * child.expected_minutes for child in node.children.values())
            assert node.expected_minutes == pytest.approx(node.action.minutes + ahead / node.probability)
            if node.action.step.kind == REPAIR:
                assert node.children[MENDED].expected_minutes == 0
    spent = sum(leaf.probability * (leaf.minutes + leaf.expected_minutes) for leaf in ends)
    assert spent == pytest.approx(root.expected_minutes)


def test_a_tree_of_one_step_shows_one_step() -> None:
    root = tree(tiny(1, erring=True), depth=1)
    assert root.action is not None
    assert all(child.action is None for child in root.children.values())


def test_many_checks_that_tell_nothing_leave_the_repairs() -> None:
    """Each has more outcomes than are looked at, and shows them alike whatever is wrong."""
    dumb = np.full((3, 9), 1 / 9)
    many = MOST_CHECKS + 6
    problem = Problem([0.5, 0.3, 0.2], [dumb] * many, [1] * many, [[]] * many, [0], [10, 20, 30], [0, 0, 0])
    small = sketch(all_of(problem), batch_of(problem, start(problem)))
    assert small.checks == 0
    assert next_action(problem).step == Step(REPAIR, 0)
    assert Planner(few_faults=0).values(all_of(problem), batch_of(problem, start(problem)))[1].min() == (
        pytest.approx(10 + 0.5 * 20 + 0.2 * 30)
    )


def test_one_who_knows_the_fault_still_mends_it() -> None:
    found = compare(Problem([0.6, 0.4], [[[1, 0], [0, 1]]], [4], [[0]], [2, 20], [15, 10], [0, 1]))
    assert found.unavoidable == pytest.approx(0.6 * (2 + 15) + 0.4 * (20 + 10))
    # the check is made in both cases, in the other one its place is opened besides
    assert found.least - found.unavoidable == pytest.approx(4 + 0.4 * 2)
    assert found.swap_parts == pytest.approx(2 + 15 + 0.4 * (20 + 10))
    assert found.ratio == found.avoidable_ratio == pytest.approx(1)


@pytest.mark.parametrize("seed", range(3))
def test_a_tree_that_is_cut_off_says_what_the_rest_takes(seed: int) -> None:
    problem = random_problem(seed, "strong", erring=True)
    rest = expected_minutes(problem, LeastMinutesNext())
    assert tree(problem, depth=0).expected_minutes == pytest.approx(rest, rel=0.03)


def many_checks(seed: int) -> Problem:
    """Few faults, but too many checks that can err for a table."""
    return random_problem(seed, "strong", erring=True, faults=6, binary=10, ternary=4)


def test_few_checks_that_lead_are_all_of_them() -> None:
    for seed in range(4):
        problem = random_problem(seed, "strong", erring=True, faults=3, binary=3, ternary=2)
        everything = all_of(problem)
        leading, exact = leading_values(everything, 1e5), Erring(everything).step_values()
        # a check that tells nothing does not lead
        tells = np.isfinite(leading)
        assert leading[tells] == pytest.approx(exact[tells], rel=CLOSE)
        assert leading.min() == pytest.approx(exact.min(), rel=CLOSE)


def test_the_optimum_over_leading_checks_lies_between_the_least_and_repairs_alone() -> None:
    for seed in range(4):
        problem = many_checks(seed)
        everything = all_of(problem)
        found = [leading_values(everything, most) for most in (40, 1_000, 30_000)]
        lead = [np.count_nonzero(np.isfinite(values[: everything.checks])) for values in found]
        assert 0 < lead[0] < lead[1] < lead[2] < everything.checks
        for values in found:
            assert values.min() >= lower_bound(problem) * total(problem) * (1 - CLOSE)
            assert values.min() <= repairs_alone(everything, everything.initial)[0][0] * (1 + CLOSE)
        assert found[2].min() < found[0].min()


def test_few_faults_are_planned_exactly_over_the_checks_that_lead() -> None:
    better = 0
    for seed in range(8):
        problem = many_checks(seed)
        state = batch_of(problem, start(problem))
        ahead = Planner(few_faults=0).values(all_of(problem), state)
        found = Planner().values(all_of(problem), state)
        assert not found[2]
        assert found[1].min() <= ahead[1].min() * (1 + CLOSE)
        assert found[1].min() >= lower_bound(problem) * (1 - CLOSE)
        better += found[1].min() < ahead[1].min() * (1 - CLOSE)
    assert better > 0


def test_every_step_is_looked_at_however_unlikely_what_it_is_for() -> None:
    """A person may do what the planner would not think of."""
    problem = many_checks(1)
    faint = replace(problem, weight=problem.weight * [1, 1, 1, 1e-6, 1e-6, 1e-6])
    everything, state = all_of(faint), batch_of(faint, start(faint))
    planner = Planner(few_faults=3)
    some, every = (planner.values(everything, state, every=every)[0] for every in (False, True))
    assert {3, 4, 5}.isdisjoint(some - faint.checks)
    assert {3, 4, 5}.issubset(every - faint.checks)
