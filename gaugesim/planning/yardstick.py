"""The least expected minutes that any plan has: the yardstick, where it can be computed."""

from __future__ import annotations

from gaugesim.errors import UnsolvableError
from gaugesim.planning.compacted import compact, restrict
from gaugesim.planning.exact import MOST_FAULTS, Certain
from gaugesim.planning.exact_erring import Erring, table_size
from gaugesim.planning.problem import Belief, Problem, start

_MOST_STATES = 50_000
_MOST_ENTRIES = 2e7


def optimum(problem: Problem, state: Belief | None = None, repairs_last: bool = False) -> float | None:
    """Least expected minutes to the proven repair, if they can be computed in seconds.

    [min]; None if the problem is too large.

    Parameters
    ----------
    repairs_last : bool, optional
        Leave out plans that go back to checks after a repair. Where checks can err this reaches much further.

    Examples
    --------
    >>> optimum(Problem([0.6, 0.4], [[[1, 0], [0, 1]]], [4], [[0]], [2, 20], [15, 10], [0, 1]))
    27.0
    """
    what_matters = compact(problem, state or start(problem))
    weight = float(what_matters.initial.weight.sum())
    if what_matters.certain and not repairs_last:
        what_matters = restrict(what_matters, what_matters.initial, pruned=True)
        if what_matters.faults > MOST_FAULTS:
            return None
        try:
            return Certain(what_matters, _MOST_STATES).minutes() / weight
        except UnsolvableError:
            return None
    interleaved = 0 if repairs_last else None
    if table_size(what_matters, interleaved) > _MOST_ENTRIES:
        return None
    return Erring(what_matters, interleaved).minutes() / weight
