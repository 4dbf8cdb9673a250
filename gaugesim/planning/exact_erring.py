"""The least expected minutes that any plan can have, where checks can err: a table of all that may be seen.

A state is what each check has shown, if it has been done, and which repairs have been tried. Both only grow,
so the table is filled from the end. It is of use for few checks and few repairs only. Repairs that come last,
in their best order, need no place in the table and it reaches further.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import Batch, Compact
from gaugesim.planning.problem import Booleans, Integers
from gaugesim.planning.repairs import repair_minutes

# as many as a processor's cache holds
_ROWS_AT_ONCE, _ENTRIES_AT_ONCE = 5_000, 500_000


def table_size(compact: Compact, interleaved: int | None = None) -> float:
    """Size of the table for a problem.

    Parameters
    ----------
    interleaved : int, optional
        How many repairs may be followed by checks; left out, all.
    """
    seen = math.prod(int(n) + 1 for n in _outcomes(compact))
    return float(seen) * 2.0 ** _most(compact, interleaved)


def _most(compact: Compact, interleaved: int | None) -> int:
    return compact.repairs if interleaved is None else min(interleaved, compact.repairs)


def _outcomes(compact: Compact) -> Integers:
    """Number of outcomes of each check, up to the last that is possible."""
    possible: Booleans = np.any(compact.likelihood > 0, axis=2)
    last: Integers = (possible * np.arange(1, possible.shape[1] + 1)).max(axis=1, initial=0)
    return last


class Erring:
    """Optimal plans for a problem whose checks may err.

    Parameters
    ----------
    interleaved : int, optional
        How many repairs, the likeliest, may be followed by checks; left out, all. The others come last.
    """

    def __init__(self, compact: Compact, interleaved: int | None = None) -> None:
        self._compact = compact
        chance = compact.by_repair(compact.initial.weight)[0]
        self._interleaved = np.argsort(-chance, kind="stable")[: _most(compact, interleaved)]
        outcomes = _outcomes(compact)
        self._stride = np.cumprod(np.concatenate([[1], outcomes + 1])).astype(np.int64)
        # what is seen of the first checks, and of the others: a state is one of each
        half = compact.checks // 2
        self._histories = [
            _histories(compact, outcomes, 0, half),
            _histories(compact, outcomes, half, compact.checks),
        ]
        tried = np.arange(1 << len(self._interleaved))
        self._untried = np.ones((len(tried), compact.repairs), dtype=np.bool_)
        for bit, repair in enumerate(self._interleaved):
            self._untried[:, repair] = (tried >> bit) & 1 == 0
        self._not_opened = 1.0 - (~self._untried @ (compact.located > 0))
        self._least = np.empty((int(self._stride[-1]), len(tried)))
        done = np.add.outer(self._histories[1].done.sum(axis=1), self._histories[0].done.sum(axis=1)).ravel()
        at_once = min(_ROWS_AT_ONCE, max(1, _ENTRIES_AT_ONCE // len(tried)))
        for level in range(compact.checks, -1, -1):
            rows = np.flatnonzero(done == level)
            for begin in range(0, len(rows), at_once):
                self._fill(rows[begin : begin + at_once])

    def minutes(self) -> float:
        """Least expected time from the initial state on, times its weight."""
        return float(self._least[0, 0])

    def step_values(self) -> Floats:
        """Least expected time of each step from the initial state on, times its weight.

        Returns
        -------
        ndarray, shape (checks + repairs,)
            [min]; infinite for repairs that come last.
        """
        rows, first = np.zeros(1, dtype=np.intp), np.zeros(1, dtype=np.intp)
        weight, closed, _ = self._states(rows)
        left = self._left(weight)
        checks = [self._with_check(rows, left, closed, j)[0, 0] for j in range(self._compact.checks)]
        repairs = np.full(self._compact.repairs, np.inf)
        for bit, repair in enumerate(self._interleaved):
            repairs[repair] = self._with_repair(self._least[rows], left, closed, bit, first)[0, 0]
        return np.concatenate([checks, repairs])

    def _states(self, rows: Integers) -> tuple[Floats, Booleans, Booleans]:
        """Weight of the faults, closed places and checks done, as the checks alone make them."""
        second, first = np.divmod(rows, len(self._histories[0].likelihood))
        compact = self._compact
        done = np.concatenate([self._histories[0].done[first], self._histories[1].done[second]], axis=1)
        weight = self._histories[0].likelihood[first] * self._histories[1].likelihood[second]
        weight *= compact.initial.weight[0]
        return weight, compact.initial.closed[0] & ~(done @ compact.check_needs), done

    def _left(self, weight: Floats) -> Floats:
        """Weight of the faults that the repairs tried do not mend, shape (rows, sets of repairs)."""
        left: Floats = self._compact.by_repair(weight) @ self._untried.T.astype(np.float64)
        return left

    def _fill(self, rows: Integers) -> None:
        compact = self._compact
        weight, closed, done = self._states(rows)
        left = self._left(weight)
        least = self._repairs_alone(weight, closed, done)
        for j in range(compact.checks):
            new = np.flatnonzero(~done[:, j])
            if new.size:
                least[new] = np.minimum(least[new], self._with_check(rows[new], left[new], closed[new], j))
        # from where most have been tried to where none has
        tried = (~self._untried).sum(axis=1)
        for n in reversed(range(len(self._interleaved))):
            for bit, repair in enumerate(self._interleaved):
                sets = np.flatnonzero((tried == n) & self._untried[:, repair])
                least[:, sets] = np.minimum(
                    least[:, sets], self._with_repair(least, left[:, sets], closed, bit, sets)
                )
        self._least[rows] = least

    def _repairs_alone(self, weight: Floats, closed: Booleans, done: Booleans) -> Floats:
        """Time of all repairs but those tried, nothing being checked any more, shape (rows, sets)."""
        compact = self._compact
        sets = len(self._untried)
        if len(self._interleaved) == compact.repairs:
            # where all may be followed by checks that comes of itself
            least = np.full((len(weight), sets), np.inf)
            least[:, -1] = 0.0
            return least
        unmended = self._untried[:, compact.repair_of]
        batch = Batch(
            (weight[:, None] * unmended).reshape(-1, compact.faults),
            (closed[:, None] & (self._not_opened > 0)).reshape(-1, closed.shape[1]),
            np.repeat(~done, sets, axis=0),
        )
        return repair_minutes(compact, batch).reshape(-1, sets)

    def _with_check(self, rows: Integers, left: Floats, closed: Booleans, check: int) -> Floats:
        compact = self._compact
        opening = (closed * (compact.check_needs[check] * compact.setup_minutes)) @ self._not_opened.T
        value: Floats = left * (compact.check_minutes[check] + opening)
        outcomes = self._stride[check + 1] // self._stride[check] - 1
        for outcome in range(1, outcomes + 1):
            value += self._least[rows + outcome * self._stride[check]]
        return value

    def _with_repair(self, least: Floats, left: Floats, closed: Booleans, bit: int, sets: Integers) -> Floats:
        compact, repair = self._compact, self._interleaved[bit]
        place = compact.repair_place[repair]
        opening = np.outer(closed[:, place] * compact.setup_minutes[place], self._not_opened[sets, place])
        value: Floats = left * (compact.repair_minutes[repair] + opening) + least[:, sets | (1 << bit)]
        return value


@dataclass(frozen=True, eq=False)
class _Histories:
    """Everything that some of the checks may show, not having been done included; one row for each."""

    likelihood: Floats
    done: Booleans


def _histories(compact: Compact, outcomes: Integers, begin: int, end: int) -> _Histories:
    likelihood, done = np.ones((1, compact.faults)), np.zeros((1, 0), dtype=np.bool_)
    for check in range(begin, end):
        shown = np.concatenate([np.ones((1, compact.faults)), compact.likelihood[check, : outcomes[check]]])
        likelihood = (shown[:, None] * likelihood).reshape(-1, compact.faults)
        now = np.repeat(np.arange(len(shown)) > 0, len(done))
        done = np.column_stack([np.tile(done, (len(shown), 1)), now])
    return _Histories(likelihood, done)
