"""Minutes that every plan needs at least, where checks tell more than they do: their luck as well.

What a check that can err shows hangs on the fault and on luck. Let one number between 0 and 1, drawn evenly,
be the luck of a check: under each fault the number lies in the share of one outcome, the shares laid side by
side in the order of the outcomes. Whoever is told the number too knows of every fault whether it is still
possible, and nothing else about it. So what is known is a set of faults and a set of open places, and for few
faults the best plan under this relaxation is a table, filled from the small sets to the large ones.

Faults that show nearly the same are one cluster in that table; where luck makes its members show different
things, the fault is given away. So are faults that are hardly possible. Checks may be done any number of
times with new luck, and only the dearest places take time to open for anything but the right repair. Each of
these makes a plan cheaper, so that no plan for the problem itself takes less.

Source: the coupling of distributions on one line is that of M. Fréchet and W. Hoeffding, from memory; the
bound is built from it here, and the tests compare it with optima.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import Compact
from gaugesim.planning.problem import Booleans, Integers

# clusters of faults and dear places in the table: it has 2 to the power of both together
CLUSTERS, DEAR_PLACES = 8, 3
# faults that are told apart: so many at most, and what the others share is no more than this
_FAULTS, _LIGHT = 40, 1e-3
# shorter stretches of luck give the fault away
_SHORT = 2e-3
_NO_LENGTH = 1e-12


@dataclass(frozen=True, eq=False)
class _Checks:
    """Checks that need the same dear places; one row for each stretch of luck in which they tell anything.

    Attributes
    ----------
    step : ndarray of int, shape (checks,)
    minutes : ndarray, shape (checks,)
        [min]
    begin : ndarray of int, shape (checks,)
        First stretch of each.
    length : ndarray, shape (stretches,)
        Probability of the stretch [1].
    given_away : ndarray of int, shape (stretches,)
        Set of the clusters whose members would show different things.
    blocks : ndarray of int, shape (stretches, blocks)
        Sets of the clusters that show the same; empty ones fill up.
    """

    step: Integers
    minutes: Floats
    begin: Integers
    length: Floats
    given_away: Integers
    blocks: Integers


class Coupled:
    """The best plan where the luck of every check is told."""

    def __init__(self, compact: Compact, clusters: int = CLUSTERS, places: int = DEAR_PLACES) -> None:
        self._compact = compact
        weight, closed = compact.initial.weight[0], compact.initial.closed[0]
        opening = closed * compact.setup_minutes
        dear = np.argsort(-opening, kind="stable")[:places]
        self._dear = dear[opening[dear] > 0]
        self._bits = 1 << np.arange(len(self._dear))
        heavy = _heavy(weight)
        members = [heavy[part] for part in clustered(compact, heavy, clusters)]
        self._members = members
        self._sets = ((np.arange(1 << len(members))[:, None] >> np.arange(len(members))) & 1).astype(float)
        self._chance = self._sets @ [weight[part].sum() for part in members]
        # what is the same whatever is done: the light faults, and the cheap places of the others
        cheap = np.where(np.isin(np.arange(len(opening)), self._dear), 0.0, opening)
        own = compact.repair_minutes + opening[compact.repair_place]
        light = np.setdiff1d(np.arange(compact.faults), heavy)
        self._always = float(weight[light] @ own[compact.repair_of[light]])
        self._always += float(weight[heavy] @ cheap[compact.repair_place[compact.repair_of[heavy]]])
        self._repair_needs = self._needs(compact.located > 0)
        self._checks = self._stretches()
        self._least: dict[int, Floats] = {}
        for opened in range((1 << len(self._dear)) - 1, -1, -1):
            self._fill(opened)

    def minutes(self) -> float:
        """Bound for every plan from the initial state on, times its weight."""
        return float(self._least[0][-1]) + self._always

    def _needs(self, places: Booleans) -> Integers:
        """Set of the dear places among those needed."""
        needs: Integers = places[:, self._dear] @ self._bits
        return needs

    def _opening(self, needs: Integers) -> Floats:
        """Time to open sets of dear places [min]."""
        minutes: Floats = ((needs[..., None] & self._bits) > 0) @ self._compact.setup_minutes[self._dear]
        return minutes

    def _stretches(self) -> dict[int, _Checks]:
        """What checks tell, by the dear places that they need."""
        compact = self._compact
        check, length, given_away, blocks = stretches(compact.likelihood, self._members)
        needs = self._needs(compact.check_needs)
        packed = {}
        for need in np.unique(needs[check]):
            rows = needs[check] == need
            step, begin = np.unique(check[rows], return_index=True)
            minutes = compact.check_minutes[step]
            packed[int(need)] = _Checks(step, minutes, begin, length[rows], given_away[rows], blocks[rows])
        return packed

    def _fill(self, opened: int) -> None:
        least = np.zeros(len(self._sets))
        size = np.bitwise_count(np.arange(len(self._sets)))
        for n in range(1, len(self._members) + 1):
            rows = np.flatnonzero(size == n)
            least[rows] = self._values(least, rows, opened).min(axis=1)
        self._least[opened] = least

    def _given_away(self, opened: int, but: int = -1) -> Floats:
        """Minutes of opening and mending for every set, if the fault is known and was not one repair's."""
        compact = self._compact
        own = compact.repair_minutes + self._opening(self._repair_needs & ~opened)
        own = np.where(compact.repair_of == but, 0.0, compact.initial.weight[0] * own[compact.repair_of])
        minutes: Floats = self._sets @ [own[part].sum() for part in self._members]
        return minutes

    def _values(self, least: Floats, rows: Integers, opened: int) -> Floats:
        """Least of every step from sets of clusters on, shape (rows, checks + repairs)."""
        compact = self._compact
        values = np.full((len(rows), compact.checks + compact.repairs), np.inf)
        for need, checks in self._checks.items():
            after = opened | need
            then = least if after == opened else self._least[after]
            given_away = self._given_away(after)
            lost = rows[:, None] & checks.given_away
            left = rows[:, None, None] & checks.blocks
            nothing = (lost == 0) & (left == rows[:, None, None]).any(axis=2)
            later = np.where(nothing, 0.0, (then[left].sum(axis=2) + given_away[lost]) * checks.length)
            ahead = np.add.reduceat(later, checks.begin, axis=1)
            idle = 1.0 - np.add.reduceat(~nothing * checks.length, checks.begin, axis=1)
            spent = self._chance[rows, None] * (checks.minutes + self._opening(np.array(need & ~opened)))
            if after == opened:
                # done again until it tells something
                some = idle < 1.0 - _NO_LENGTH
                total = np.where(some, (spent + ahead) / np.where(some, 1.0 - idle, 1.0), np.inf)
            else:
                total = spent + ahead + idle * then[rows, None]
            values[:, checks.step] = total
        for repair in range(compact.repairs):
            after = opened | int(self._repair_needs[repair])
            then = least if after == opened else self._least[after]
            touched = sum(
                1 << k for k, part in enumerate(self._members) if np.any(compact.repair_of[part] == repair)
            )
            own = compact.repair_minutes[repair] + self._opening(np.array(after & ~opened))
            ahead = then[rows & ~touched] + self._given_away(after, repair)[rows & touched]
            hit = (rows & touched) > 0
            values[:, compact.checks + repair] = np.where(hit, self._chance[rows] * own + ahead, np.inf)
        return values


def stretches(likelihood: Floats, members: list[Integers]) -> tuple[Integers, Floats, Integers, Integers]:
    """Stretches of luck in which checks tell anything.

    Parameters
    ----------
    likelihood : ndarray, shape (checks, outcomes, faults)
        [1]

    Returns
    -------
    check : ndarray of int, shape (stretches,)
        Rising.
    length : ndarray, shape (stretches,)
        Probability of the stretch [1].
    given_away : ndarray of int, shape (stretches,)
        Set of the clusters whose members show different things.
    blocks : ndarray of int, shape (stretches, blocks)
        Sets of the other clusters, those that show the same together; empty ones fill up.

    Examples
    --------
    A check that is wrong once in ten times tells two faults apart for eight tenths of all luck.

    >>> likelihood = np.array([[[0.9, 0.1], [0.1, 0.9]]])
    >>> check, length, given_away, blocks = stretches(likelihood, [np.array([0]), np.array([1])])
    >>> length.round(6).tolist(), blocks.tolist()
    ([0.8], [[2, 1]])
    """
    checks, outcomes, _ = likelihood.shape
    bits = 1 << np.arange(len(members))
    every = int(bits.sum())
    border = np.clip(np.cumsum(likelihood, axis=1)[:, :-1], 0.0, 1.0)
    low = np.stack([border[:, :, part].min(axis=2) for part in members], axis=2)
    high = np.stack([border[:, :, part].max(axis=2) for part in members], axis=2)
    ends = np.broadcast_to([0.0, 1.0], (checks, 2))
    borders = np.concatenate([low, high], axis=1).reshape(checks, 2 * (outcomes - 1) * len(members))
    cuts = np.sort(np.concatenate([ends, borders], axis=1), axis=1)
    check, k = np.nonzero(np.diff(cuts, axis=1) > _NO_LENGTH)
    length = cuts[check, k + 1] - cuts[check, k]
    middle = ((cuts[check, k + 1] + cuts[check, k]) / 2)[:, None, None]
    first, last = (middle > high[check]).sum(axis=1), (middle > low[check]).sum(axis=1)
    split = (first != last) | (length < _SHORT)[:, None]
    given_away = split @ bits
    blocks = np.stack([((first == outcome) & ~split) @ bits for outcome in range(outcomes)], axis=1)
    blocks = -np.sort(-blocks, axis=1)
    tells = ~((given_away == 0) & (blocks[:, 0] == every))
    rows, which = np.unique(np.column_stack([check, given_away, blocks])[tells], axis=0, return_inverse=True)
    length = np.bincount(which.ravel(), length[tells], len(rows)).astype(np.float64)
    used = max(1, int((rows[:, 2:] > 0).any(axis=0).sum()))
    return rows[:, 0], length, rows[:, 1], rows[:, 2 : 2 + used]


def _heavy(weight: Floats) -> Integers:
    order = np.argsort(-weight, kind="stable")
    left = weight.sum() - np.cumsum(weight[order])
    count = int((left > _LIGHT * weight.sum()).sum()) + 1
    return np.sort(order[: min(count, _FAULTS)])


def clustered(compact: Compact, faults: Integers, clusters: int) -> list[Integers]:
    """Divide faults into clusters: those that are hard to tell apart for their weight come together.

    Places in ``faults``.
    """
    weight = compact.initial.weight[0][faults]
    likelihood = compact.likelihood[:, :, faults]
    opening = (compact.initial.closed[0] * compact.setup_minutes) @ compact.check_needs.T
    apart = np.zeros((len(faults), len(faults)))
    for shown, minutes in zip(likelihood, compact.check_minutes + opening, strict=True):
        differ = abs(shown[:, :, None] - shown[:, None, :]).sum(axis=0)
        np.maximum(apart, differ / minutes, out=apart)
    parts: list[list[int] | None] = [[k] for k in range(len(faults))]
    lost = apart * np.add.outer(weight, weight)
    np.fill_diagonal(lost, np.inf)
    for _ in range(len(faults) - clusters):
        first, second = np.unravel_index(np.argmin(lost), lost.shape)
        parts[first], parts[second] = [*(parts[first] or []), *(parts[second] or [])], None
        weight[first] += weight[second]
        apart[first] = np.maximum(apart[first], apart[second])
        apart[:, first] = apart[first]
        lost[first] = np.where(np.isinf(lost[first]), np.inf, apart[first] * (weight[first] + weight))
        lost[:, first] = lost[first]
        lost[second] = lost[:, second] = np.inf
    return [np.sort(np.array(part)) for part in parts if part is not None]
