"""The least expected minutes that any plan can have, where no check can err.

Then a state is the set of faults still possible and the set of places still closed. What it takes at least is
known beforehand: the optimum if no place took time to open, and the opening of the place where each fault is
mended. Steps are tried in the order of that bound; one that has come to more than the best so far is dropped.
"""

from __future__ import annotations

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.errors import UnsolvableError
from gaugesim.planning.compacted import Compact

# The bound is a table over all sets of faults.
MOST_FAULTS = 20


class Certain:
    """Optimal plans for a problem whose checks cannot err.

    Raises
    ------
    ValueError
        If a check can err, or there are more than `MOST_FAULTS` faults.
    """

    def __init__(self, compact: Compact, most_states: int = 1_000_000) -> None:
        if not compact.certain or compact.faults > MOST_FAULTS:
            raise ValueError(f"checks must not err, and there must be at most {MOST_FAULTS} faults")
        self._compact = compact
        self._most_states = most_states
        bit = np.int64(1) << np.arange(compact.faults, dtype=np.int64)
        self._outcomes = (compact.likelihood > 0) @ bit
        self._repairs = np.array([bit[compact.repair_of == i].sum() for i in range(compact.repairs)])
        self._weight = _sums(compact.initial.weight[0])
        self._free = self._without_setups()
        places = np.flatnonzero(compact.initial.closed[0])
        # faults mended at each closed place
        self._at = {int(k): int(bit[compact.repair_place[compact.repair_of] == k].sum()) for k in places}
        self._needs = [frozenset(np.flatnonzero(row).tolist()) for row in compact.check_needs]
        self._needs += [frozenset({int(k)}) for k in compact.repair_place]
        self._known: dict[tuple[int, frozenset[int]], float] = {}

    def step_values(self) -> Floats:
        """Least expected time of each step from the initial state on, times its weight.

        Returns
        -------
        ndarray, shape (checks + repairs,)
            [min]; infinite for a step that can do nothing.

        Raises
        ------
        UnsolvableError
            If there are more states than were allowed.
        """
        every, closed = (1 << self._compact.faults) - 1, frozenset(self._at)
        bounds = self._bounds(every, closed)
        return np.array(
            [
                self._value(every, closed, step, bounds[step], np.inf)
                if np.isfinite(bounds[step])
                else np.inf
                for step in range(len(bounds))
            ]
        )

    def minutes(self) -> float:
        """Least expected time from the initial state on, times its weight.

        Raises
        ------
        UnsolvableError
            If there are more states than were allowed.
        """
        return float(self._least((1 << self._compact.faults) - 1, frozenset(self._at)))

    def bound(self) -> float:
        """The same, or at least a bound from below if there are more states than were allowed [min]."""
        try:
            return self.minutes()
        except UnsolvableError:
            return self._least_bound((1 << self._compact.faults) - 1, frozenset(self._at))

    def _without_setups(self) -> Floats:
        """Optimum for every set of faults if no place took time to open."""
        compact = self._compact
        faults = compact.faults
        size = np.bitwise_count(np.arange(1 << faults, dtype=np.uint32))
        order = np.argsort(size, kind="stable")
        ends = np.cumsum(np.bincount(size, minlength=faults + 1))
        least = np.full(1 << faults, np.inf)
        least[0] = 0.0
        keep = ~self._repairs
        for n in range(1, faults + 1):
            sets = order[ends[n - 1] : ends[n]]
            weight, best = self._weight[sets], np.full(len(sets), np.inf)
            # a step that leaves the set as it was finds infinity there
            for minutes, masks in zip(compact.check_minutes, self._outcomes, strict=True):
                value = minutes * weight
                for mask in masks[masks > 0]:
                    value += least[sets & mask]
                np.minimum(best, value, out=best)
            for minutes, mask in zip(compact.repair_minutes, keep, strict=True):
                np.minimum(best, minutes * weight + least[sets & mask], out=best)
            least[sets] = best
        return least

    def _bounds(self, faults: int, closed: frozenset[int]) -> Floats:
        """What each step takes at least; infinite for one that changes nothing."""
        compact = self._compact
        after = np.zeros((len(self._needs), max(self._outcomes.shape[1], 1)), dtype=np.int64)
        after[: compact.checks, : self._outcomes.shape[1]] = faults & self._outcomes
        after[compact.checks :, 0] = faults & ~self._repairs
        own = np.concatenate([compact.check_minutes, compact.repair_minutes])
        least = self._free[after].sum(axis=1) + own * self._weight[faults]
        for k in closed:
            needs = np.array([k in places for places in self._needs])
            ahead = np.where(needs, self._weight[faults], self._weight[after & self._at[k]].sum(axis=1))
            least += compact.setup_minutes[k] * ahead
        return np.where((after == faults).any(axis=1), np.inf, least)

    def _least(self, faults: int, closed: frozenset[int]) -> float:
        if not faults:
            return 0.0
        key = faults, closed
        if key not in self._known:
            if len(self._known) >= self._most_states:
                raise UnsolvableError(f"the optimum takes more than {self._most_states} states")
            bounds = self._bounds(faults, closed)
            best = np.inf
            for step in np.argsort(bounds, kind="stable"):
                if bounds[step] >= best:
                    break
                best = min(best, self._value(faults, closed, int(step), bounds[step], best))
            self._known[key] = best
        return self._known[key]

    def _value(self, faults: int, closed: frozenset[int], step: int, bound: float, enough: float) -> float:
        """Expected time with a step, or whatever above `enough` shows that it is no better."""
        compact = self._compact
        if step < compact.checks:
            after = [faults & int(mask) for mask in self._outcomes[step]]
        else:
            after = [faults & ~int(self._repairs[step - compact.checks])]
        left = closed - self._needs[step]
        value = bound
        # the largest first: it is most likely to end the matter
        for rest in sorted(filter(None, after), key=lambda rest: -self._weight[rest]):
            value += self._least(rest, left) - self._least_bound(rest, left)
            if value >= enough:
                break
        return value

    def _least_bound(self, faults: int, closed: frozenset[int]) -> float:
        forced = sum(self._compact.setup_minutes[k] * self._weight[faults & self._at[k]] for k in closed)
        return float(self._free[faults] + forced)


def _sums(weight: Floats) -> Floats:
    """Sum over every subset, numbered by its bits."""
    sums = np.zeros(1)
    for each in weight:
        sums = np.concatenate([sums, sums + each])
    return sums
