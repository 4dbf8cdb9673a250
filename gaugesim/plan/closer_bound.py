"""A bound drawn closer: what the first steps lead to is looked at one by one, and bounded there.

Every state has minutes that no plan takes less than, and minutes that repairs alone take. A step takes at
least its own and the bounds of the states after it; a state takes at least what its best step does. Time and
again the step of least bound is followed to the state about which least is known, and that one is looked at.

Source: the search is of the kind of N. J. Nilsson, "Principles of Artificial Intelligence" (1980), chapter 3
(AO*), with two bounds as in H. Warnquist, J. Kvarnström, P. Doherty, "Iterative bounding LAO*", European
Conference on Artificial Intelligence (2010), both from memory; the tests compare it with optima.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from gaugesim.plan.compact import Batch, Compact, restrict
from gaugesim.plan.coupled_bound import Coupled
from gaugesim.plan.follow import after_steps
from gaugesim.plan.problem import Booleans, Floats, Integers
from gaugesim.plan.prune import SAME
from gaugesim.plan.repairs import known_fault_minutes, repair_minutes

# a state whose two bounds are closer than this share of the whole is settled
_SETTLED = 1e-6


@dataclass(eq=False)
class _Looked:
    """A state that has been looked at, and the states after each of its steps.

    Attributes
    ----------
    alone : float
        Minutes of repairs alone; steps that cannot take less are left out [min].
    own, bound : ndarray, shape (steps,)
        Minutes of each step itself; of every plan that begins with it, at least [min].
    parent : ndarray of int, shape (states,)
        The step that each state comes after.
    after : Batch
        Those states.
    least, most : ndarray, shape (states,)
        What every plan takes at least from there, and what one takes at most [min].
    looked : dict
        Those that have been looked at too.
    """

    alone: float
    own: Floats
    bound: Floats
    parent: Integers
    after: Batch
    least: Floats
    most: Floats
    looked: dict[int, _Looked] = field(default_factory=dict)

    def steps(self) -> Floats:
        """What plans that begin with each step take at least [min]."""
        ahead = self.own + np.bincount(self.parent, self.least, len(self.own))
        return np.maximum(self.bound, ahead)

    def minutes(self) -> tuple[float, float]:
        """What every plan takes at least, and what one takes at most [min]."""
        most = self.own + np.bincount(self.parent, self.most, len(self.own))
        return float(self.steps().min(initial=self.alone)), float(most.min(initial=self.alone))


def closer_bound(compact: Compact, most_states: int, enough: float = np.inf) -> float:
    """Bound for every plan by looking at what it may begin with, times the state's weight.

    Parameters
    ----------
    most_states : int
        How many states are looked at.
    enough : float, optional
        A bound that high will do [min].

    Returns
    -------
    float
        [min]
    """
    settled = _SETTLED * float(compact.initial.weight.sum())
    small = restrict(compact, compact.initial)
    first = _look(small, small.initial, Coupled(small).step_minutes() if small.checks else None)
    for _ in range(most_states - 1):
        least, most = first.minutes()
        if least >= enough or most - least <= settled or not _draw(small, first, settled):
            break
    return first.minutes()[0]


def _look(small: Compact, state: Batch, bound: Floats | None = None) -> _Looked:
    """Look at a state; of some steps it may be known already what they take at least."""
    alone = float(repair_minutes(small, state)[0])
    least = _least_with(small, state)[0]
    if bound is not None:
        least = np.maximum(least, bound)
    steps = np.flatnonzero(_bears(small, state) & (least < alone))
    before = state.take(np.zeros(len(steps), dtype=np.intp))
    own = state.weight.sum() * small.step_minutes(before, steps)
    parent, after = after_steps(small, before, steps)
    most = repair_minutes(small, after)
    ahead = np.minimum(_least_with(small, after).min(axis=1, initial=np.inf), most)
    return _Looked(alone, own, least[steps], parent, after, ahead, most)


def _bears(small: Compact, state: Batch) -> Booleans:
    """Which steps can do anything: checks that tell, repairs that may help."""
    shown = small.likelihood[:, :, state.weight[0] > 0]
    tells = np.ptp(shown, axis=2).max(axis=1, initial=0.0) > SAME
    return np.concatenate([state.remaining[0] & tells, small.by_repair(state.weight)[0] > 0])


def _least_with(small: Compact, batch: Batch) -> Floats:
    """What every plan that begins with each step takes at least, shape (n, steps) [min].

    Whoever knew the fault would open the place of its repair and mend it; to that comes what the first step
    takes under every fault for which it is not needed.
    """
    weight = batch.weight.sum(axis=1)[:, None]
    chance = small.by_repair(batch.weight)
    opening = batch.closed * small.setup_minutes
    in_vain = opening * (weight - chance @ small.located)
    checks = small.check_minutes * weight + in_vain @ small.check_needs.T
    repairs = small.repair_minutes * (weight - chance) + in_vain[:, small.repair_place]
    first = np.concatenate(
        [np.where(batch.remaining, checks, np.inf), np.where(chance > 0, repairs, np.inf)], axis=1
    )
    least: Floats = known_fault_minutes(small, batch)[:, None] + first
    return least


def _draw(small: Compact, state: _Looked, settled: float) -> bool:
    """Look at one more state on the way of least bound; whether there was one."""
    steps = state.steps()
    if not steps.size:
        return False
    here = np.flatnonzero(state.parent == np.argmin(steps))
    for child in here[np.argsort(state.least[here] - state.most[here], kind="stable")]:
        if state.most[child] - state.least[child] <= settled:
            return False
        if child not in state.looked:
            state.looked[int(child)] = _look(small, state.after.take(np.array([child])))
        elif not _draw(small, state.looked[int(child)], settled):
            continue
        least, most = state.looked[int(child)].minutes()
        state.least[child] = max(state.least[child], least)
        state.most[child] = min(state.most[child], most)
        return True
    return False
