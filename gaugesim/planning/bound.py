"""Minutes that every plan needs: certified bounds from below, for where the optimum itself is out of reach.

Whoever knew the fault would still have to open the place of its repair and mend it. To that come the minutes
of finding out, bounded in three ways:

- by information: a plan ends knowing which repair was right, so its checks and its repairs in vain must have
  told that many bits. A check tells no more than its capacity each time it is done, and no more in all than
  what it is expected to tell if it comes first; a repair that helps with some probability tells no more than
  one such toss;
- by relaxation: checks that reveal all they can be made to reveal about the fault cannot err, and for few
  faults the optimum is known then. Many faults are divided into groups, and the group is given away;
- by checks that tell their luck as well (`coupled_bound`).

Source: T. M. Cover, J. A. Thomas, "Elements of Information Theory", 2nd edition, chapters 2 and 7 (chain
rule, data processing, capacity), from memory. The bounds are built from these here; the tests compare them
with optima.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import Batch, Compact, compact, plogp, restrict
from gaugesim.planning.exact import MOST_FAULTS, Certain
from gaugesim.planning.generous_bound import Coupled
from gaugesim.planning.problem import Belief, Problem, start
from gaugesim.planning.repairs import known_fault_minutes

# Faults of a group that is given away; a table over all its subsets is made.
_GROUP = 14
_MOST_STATES = 20_000
# prices of a bit that are tried [min]; every one gives a bound, the best is taken
_PRICES = np.geomspace(1e-2, 1e3, 400)
_CAPACITY_STEPS = 60
_SAME = 1e-9


def lower_bound(problem: Problem, state: Belief | None = None) -> float:
    """Expected minutes to the proven repair that every plan needs at least [min].

    Examples
    --------
    >>> problem = Problem([0.7, 0.3], [], [], [], [2, 20], [15, 10], [0, 1])
    >>> lower_bound(problem)  # repairs alone take 26
    26.0
    """
    what_matters = compact(problem, state or start(problem))
    weight = float(what_matters.initial.weight.sum())
    bounds = [information_bound(what_matters), relaxation_bound(what_matters)]
    if what_matters.checks:
        bounds.append(Coupled(what_matters).minutes())
    return max(bounds) / weight


def information_bound(compact: Compact) -> float:
    """Bound by the information that a plan must gather, times the state's weight [min]."""
    weight = float(compact.initial.weight.sum())
    fault = compact.initial.weight[0] / weight
    chance = compact.by_repair(fault[None])[0]
    needed = -plogp(chance).sum()
    total = _PRICES * needed + _repairs_in_vain(chance, compact.repair_minutes) + _checks(compact, fault)
    return float(known_fault_minutes(compact, compact.initial)[0]) + weight * max(0.0, float(total.max()))


def _repairs_in_vain(chance: Floats, minutes: Floats) -> Floats:
    """Least that each price of a bit leaves of repairs tried in vain, shape (prices,)."""
    price = _PRICES[:, None]
    with np.errstate(over="ignore"):
        vain = np.minimum(chance / np.expm1(np.log(2.0) * minutes / price), 1.0 - chance)
    bits = plogp(chance + vain) - plogp(chance) - plogp(vain)
    total: Floats = (vain * minutes - price * bits).sum(axis=1)
    return total


def _checks(compact: Compact, fault: Floats) -> Floats:
    """Least that each price of a bit leaves of checks and of opening places for them, shape (prices,)."""
    total = np.zeros(len(_PRICES))
    if not compact.checks:
        return total
    chance = compact.likelihood @ fault
    bits = -plogp(chance).sum(axis=1) - fault @ compact.row_bits
    capacity = np.maximum(_capacity(compact.likelihood), 1e-12)
    most = np.clip(bits / capacity, 0.0, 1.0)
    # of doing a check with probability 1, whatever place it needs: minutes less the price of what it may tell
    gain = np.minimum(compact.check_minutes - _PRICES[:, None] * capacity, 0.0)
    needs = compact.check_needs & compact.initial.closed[0]
    dearest = np.where(needs.any(axis=1), np.argmax(needs * compact.setup_minutes, axis=1), -1)
    total += gain[:, dearest < 0] @ most[dearest < 0]
    mended = compact.by_repair(fault[None])[0]
    for place in np.unique(dearest[dearest >= 0]):
        here = dearest == place
        # opened anyway this often; the least lies where some check is done as often as makes sense
        anyway = float(mended[compact.repair_place == place].sum())
        often = np.unique(np.clip(np.concatenate([[anyway, 1.0], most[here]]), anyway, 1.0))
        saved = gain[:, here] @ np.minimum(most[here][:, None], often)
        total += (saved + compact.setup_minutes[place] * (often - anyway)).min(axis=1)
    return total


def _capacity(likelihood: Floats) -> Floats:
    """A bound from above of what each check can tell about the fault at best, shape (checks,) [bit].

    For any distribution of outcomes, the largest divergence of a row from it is such a bound; iterating
    towards the best one (S. Arimoto, IEEE Transactions on Information Theory 18 (1972) 14, from memory)
    makes it tight.
    """
    faults = likelihood.shape[2]
    use = np.full((len(likelihood), faults), 1.0 / faults)
    best = np.full(len(likelihood), np.inf)
    rows = plogp(likelihood).sum(axis=1)
    for _ in range(_CAPACITY_STEPS):
        outcome = np.einsum("jof,jf->jo", likelihood, use)
        logarithm = np.log2(np.where(outcome > 0, outcome, 1.0))
        divergence = rows - np.einsum("jof,jo->jf", likelihood, logarithm)
        best = np.minimum(best, divergence.max(axis=1))
        use = use * np.exp2(divergence)
        use /= use.sum(axis=1, keepdims=True)
    return best


def relaxation_bound(compact: Compact) -> float:
    """Bound by checks that cannot err and groups given away, times the state's weight [min]."""
    weight = compact.initial.weight[0]
    order = np.argsort(-weight, kind="stable")
    size = len(order) if len(order) <= MOST_FAULTS else _GROUP
    total = 0.0
    for begin in range(0, len(order), size):
        group = np.zeros(len(weight))
        group[order[begin : begin + size]] = weight[order[begin : begin + size]]
        batch = Batch(group[None], compact.initial.closed, compact.initial.remaining)
        relaxed = _unerring(restrict(compact, batch))
        relaxed = restrict(relaxed, relaxed.initial, pruned=True)
        total += Certain(relaxed, _MOST_STATES).bound()
    return total


def _unerring(compact: Compact) -> Compact:
    """The same with checks that say which faults show like this one: what a check really shows is less."""
    if compact.certain:
        return compact
    likelihood = np.zeros((compact.checks, compact.faults, compact.faults))
    for j, shown in enumerate(compact.likelihood):
        alike = np.all(abs(shown[:, :, None] - shown[:, None, :]) <= _SAME, axis=0)
        likelihood[j, np.argmax(alike, axis=1), np.arange(compact.faults)] = 1.0
    return replace(compact, likelihood=likelihood)
