"""The planner's numbers worked out again in the plainest way: every step, every outcome, no arrays."""

import numpy as np

from gaugesim.planning import (
    CHECK,
    REPAIR,
    Belief,
    Policy,
    Problem,
    Step,
    after_check,
    after_repair,
    step_minutes,
)
from gaugesim.planning.compacted import all_of, batch_of
from gaugesim.planning.following import REPAIRS_ONLY


def possible_steps(problem: Problem, state: Belief) -> list[Step]:
    """Checks not done yet, and repairs that may help."""
    helping = {int(r) for r, weight in zip(problem.repair_of, state.weight, strict=True) if weight > 0}
    return [Step(CHECK, j) for j in sorted(state.remaining)] + [Step(REPAIR, i) for i in sorted(helping)]


def states_after(problem: Problem, state: Belief, step: Step) -> list[Belief]:
    if step.kind == REPAIR:
        after = [after_repair(problem, state, step.number)]
    else:
        outcomes = range(problem.outcomes[step.number].shape[1])
        after = [after_check(problem, state, step.number, outcome) for outcome in outcomes]
    return [each for each in after if each.weight.sum() > 0]


def least(problem: Problem, state: Belief, *, checks: bool = True) -> float:
    """Least expected minutes times the state's weight; without `checks` by repairs alone."""
    weight = state.weight.sum()
    values = [0.0] if weight == 0 else []
    for step in possible_steps(problem, state) if weight > 0 else []:
        if checks or step.kind == REPAIR:
            value = weight * step_minutes(problem, state, step)
            values.append(
                value + sum(least(problem, x, checks=checks) for x in states_after(problem, state, step))
            )
    return min(values)


def least_repairs_last(problem: Problem, state: Belief, interleaved: frozenset[int] = frozenset()) -> float:
    """The same for plans that go back to checks after some repairs only."""
    if not state.weight.sum() > 0:
        return 0.0
    best = least(problem, state, checks=False)
    for step in possible_steps(problem, state):
        if step.kind == CHECK or step.number in interleaved:
            own = state.weight.sum() * step_minutes(problem, state, step)
            after = states_after(problem, state, step)
            best = min(best, own + sum(least_repairs_last(problem, each, interleaved) for each in after))
    return best


def followed(problem: Problem, policy: Policy, state: Belief) -> float:
    """Expected minutes of following a policy, times the state's weight."""
    everything = all_of(problem)
    number = int(policy.choose(everything, batch_of(problem, state))[0])
    if number == REPAIRS_ONLY:
        return least(problem, state, checks=False)
    step = everything.step(number)
    own = state.weight.sum() * step_minutes(problem, state, step)
    return float(own + sum(followed(problem, policy, each) for each in states_after(problem, state, step)))


def shuffled(problem: Problem, seed: int) -> Problem:
    """The same problem with faults, checks, places and repairs under other numbers, weights times 3."""
    random = np.random.default_rng(seed)
    faults, checks = random.permutation(problem.faults), random.permutation(problem.checks)
    places, repairs = random.permutation(problem.places), random.permutation(problem.repairs)
    new_place = np.append(np.argsort(places), -1)
    return Problem(
        weight=3.0 * problem.weight[faults],
        outcomes=tuple(problem.outcomes[j][faults][:, ::-1] for j in checks),
        check_minutes=problem.check_minutes[checks],
        check_places=tuple(tuple(int(new_place[k]) for k in problem.check_places[j]) for j in checks),
        setup_minutes=problem.setup_minutes[places],
        repair_minutes=problem.repair_minutes[repairs],
        repair_places=new_place[problem.repair_places[repairs]],
        repair_of=np.argsort(repairs)[problem.repair_of[faults]],
        opened=frozenset(int(new_place[k]) for k in problem.opened),
        price=problem.price[repairs],
        price_per_minute=problem.price_per_minute,
    )
