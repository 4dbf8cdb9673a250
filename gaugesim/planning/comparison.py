"""How good a plan is: its expected minutes beside the least possible, and beside simple rules."""

from __future__ import annotations

from dataclasses import dataclass

from gaugesim.planning.bound import lower_bound
from gaugesim.planning.compacted import all_of, batch_of
from gaugesim.planning.decide import Planner
from gaugesim.planning.following import Policy, expected_minutes
from gaugesim.planning.policies import FixedOrder, InformationPerMinute, LeastMinutesNext, RepairsOnly
from gaugesim.planning.problem import Belief, Problem, start
from gaugesim.planning.rollout import Rollout
from gaugesim.planning.yardstick import optimum

# checks that are looked at where a plan is finished by a simple rule
_LOOKED_AT = 6
# rules that need no looking ahead, by what people call them
RULES: dict[str, Policy] = {
    "swap_parts": RepairsOnly(),
    "fixed_order": FixedOrder(),
    "information_per_minute": InformationPerMinute(),
}


@dataclass(frozen=True)
class Comparison:
    """Expected minutes to the proven repair, each from the same state.

    Attributes
    ----------
    planner : float
        Of the planner [min].
    least : float
        Of the best plan there is; or that no plan takes less than, if that is out of reach [min].
    proven : bool
        Whether ``least`` is the optimum.
    unavoidable : float
        Of opening the place of the fault and mending it, for one who knew it from the start [min].
    swap_parts : float
        Of replacing parts in order of likelihood for their minutes [min].
    fixed_order : float
        Of the checks in the order of their list, useless ones left out [min].
    information_per_minute : float
        Of the check that tells most for its minutes, until one repair is 95 % sure [min].
    """

    planner: float
    least: float
    proven: bool
    unavoidable: float
    swap_parts: float
    fixed_order: float
    information_per_minute: float

    @property
    def ratio(self) -> float:
        """The planner's minutes over the least."""
        return self.planner / self.least

    @property
    def avoidable_ratio(self) -> float:
        """The same for the minutes that do not have to be spent whatever is known; 1 where there are none."""
        least = self.least - self.unavoidable
        return (self.planner - self.unavoidable) / least if least > 1e-9 else 1.0


def compare(
    problem: Problem,
    state: Belief | None = None,
    least_probability: float = 0.0,
    repairs_last: bool = False,
    best: tuple[float, bool] | None = None,
    planner: Policy | None = None,
) -> Comparison:
    """Follow the planner and some simple rules over every outcome, and find the least that any plan takes.

    Parameters
    ----------
    least_probability : float, optional
        What is reached less often is finished by a simple rule [1].
    repairs_last : bool, optional
        Compare plans that never go back to checks after a repair. Where checks can err only their optimum may
        be in reach.
    best : tuple of (float, bool), optional
        The least minutes and whether they are the optimum, if they are known already [min].
    planner : Policy, optional
        What is followed; left out, what `next_action` would do.

    Examples
    --------
    >>> problem = Problem([0.6, 0.4], [[[1, 0], [0, 1]]], [4], [[0]], [2, 20], [15, 10], [0, 1])
    >>> found = compare(problem)
    >>> found.planner, found.least, found.proven, found.swap_parts
    (27.0, 27.0, True, 29.0)
    """
    state = state or start(problem)
    if planner is None:
        planner = Rollout(repairs_last=True) if repairs_last else Planner()
    rest = LeastMinutesNext(_LOOKED_AT)
    if best is None:
        least = optimum(problem, state, repairs_last)
        best = (lower_bound(problem, state), False) if least is None else (least, True)
    rules = {
        name: expected_minutes(problem, rule, state, least_probability, rest) for name, rule in RULES.items()
    }
    return Comparison(
        planner=expected_minutes(problem, planner, state, least_probability, rest),
        least=best[0],
        proven=best[1],
        unavoidable=unavoidable_minutes(problem, state),
        **rules,
    )


def unavoidable_minutes(problem: Problem, state: Belief | None = None) -> float:
    """Expected minutes of one who knows the fault: its place opened, the right repair made.

    Examples
    --------
    >>> unavoidable_minutes(Problem([0.7, 0.3], [], [], [], [2, 20], [15, 10], [0, 1])).__round__(6)
    20.9
    """
    everything = all_of(problem)
    batch = batch_of(problem, state or start(problem))
    chance = everything.by_repair(batch.weight)[0]
    opening = (batch.closed[0] * everything.setup_minutes)[everything.repair_place]
    return float(chance @ (everything.repair_minutes + opening)) / float(chance.sum())
