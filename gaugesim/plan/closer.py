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
from gaugesim.plan.coupled import Coupled
from gaugesim.plan.follow import after_steps
from gaugesim.plan.problem import Floats, Integers
from gaugesim.plan.repairs import repair_minutes

# a state whose two bounds are closer than this share of the whole is settled
_SETTLED = 1e-6


@dataclass(eq=False)
class _Looked:
    """A state that has been looked at, and the states after each of its steps.

    Attributes
    ----------
    compact : Compact
        What matters from it on.
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

    compact: Compact
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
        return float(self.steps().min()), float(most.min())


def closer_bound(compact: Compact, most_states: int, enough: float = np.inf) -> float:
    """Bound for every plan by looking at what it may begin with, times the state's weight.

    Parameters
    ----------
    compact : Compact
    most_states : int
        How many states are looked at.
    enough : float, optional
        A bound that high will do [min].

    Returns
    -------
    float
        [min]
    """
    weight = float(compact.initial.weight.sum())
    small = restrict(compact, compact.initial)
    if not small.checks:
        return float(repair_minutes(small, small.initial)[0])
    first = _look(small)
    for _ in range(most_states - 1):
        least, most = first.minutes()
        if least >= enough or most - least <= _SETTLED * weight or not _draw(first, _SETTLED * weight):
            break
    return first.minutes()[0]


def _look(small: Compact) -> _Looked:
    steps = np.arange(small.checks + small.repairs)
    before = small.initial.take(np.zeros(len(steps), dtype=np.intp))
    parent, after = after_steps(small, before, steps)
    opening = after.closed * small.setup_minutes
    known = small.by_repair(after.weight) * (small.repair_minutes + opening[:, small.repair_place])
    return _Looked(
        small,
        small.initial.weight.sum() * small.step_minutes(before, steps),
        Coupled(small).step_minutes(),
        parent,
        after,
        known.sum(axis=1),
        repair_minutes(small, after),
    )


def _draw(state: _Looked, settled: float) -> bool:
    """Look at one more state on the way of least bound; whether there was one."""
    here = np.flatnonzero(state.parent == np.argmin(state.steps()))
    for child in here[np.argsort(state.least[here] - state.most[here], kind="stable")]:
        if state.most[child] - state.least[child] <= settled:
            return False
        if child not in state.looked:
            small = restrict(state.compact, state.after.take(np.array([child])))
            if not small.checks:
                # nothing can be told any more, and the order of the repairs is known
                state.least[child] = state.most[child]
                return True
            state.looked[int(child)] = _look(small)
        elif not _draw(state.looked[int(child)], settled):
            continue
        least, most = state.looked[int(child)].minutes()
        state.least[child] = max(state.least[child], least)
        state.most[child] = min(state.most[child], most)
        return True
    return False
