"""A job cut down to its core: as much of it as leaves the best plan of all within reach.

What the planner takes on jobs with the structure of real circuits can then be held against the optimum.
"""

from __future__ import annotations

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import plogp
from gaugesim.planning.problem import Booleans, Integers, Problem
from gaugesim.planning.shortlist import merged

# of an optimum computed in seconds: repairs, and entries of its table
MOST_REPAIRS, MOST_ENTRIES = 10, 2e7
# of every check so many outcomes are told apart
_OUTCOMES = 3
# repairs that differ less than this in what any check shows are alike
_ALIKE = 0.1
# so many of what all chosen checks show together are looked at, the likeliest
_JOINT = 300
# a check that tells less beside the others tells nothing [bit]
_NOTHING = 1e-4


def reduced(
    problem: Problem,
    repairs: int = MOST_REPAIRS,
    entries: float = MOST_ENTRIES,
    repairs_last: bool = False,
) -> Problem:
    """The likeliest repairs that checks tell apart, and the checks that tell most about them together.

    Each repair keeps all its faults. Outcomes between which least is told are merged. Then one check after
    the other is taken: the one that, beside those taken already, tells most about the repair for its minutes.

    Parameters
    ----------
    entries : float, optional
        Size of the table that the optimum may need, by `exact_erring.table_size`.

    Examples
    --------
    >>> apart = [[1, 0, 0], [0, 1, 0], [0, 0, 1]]
    >>> problem = Problem([0.5, 0.3, 0.2], [apart], [4], [[0]], [2, 20], [15, 10, 9], [0, 1, 1])
    >>> reduced(problem, repairs=2).weight.round(3).tolist()
    [0.625, 0.375]
    """
    kept = _likeliest_apart(problem, repairs)
    faults = np.flatnonzero(np.isin(problem.repair_of, kept) & (problem.weight > 0))
    weight = problem.weight[faults] / problem.weight[faults].sum()
    numbers, repair_of = np.unique(problem.repair_of[faults], return_inverse=True)
    every = np.arange(len(faults))
    tables = [merged(rows[faults].T[None], weight, every, _OUTCOMES)[0].T for rows in problem.outcomes]
    mends = repair_of[:, None] == np.arange(len(numbers))
    sets_of_repairs = 1.0 if repairs_last else 2.0 ** len(numbers)
    checks = _telling_together(problem, weight, mends, tables, entries / sets_of_repairs)
    return Problem(
        weight=weight,
        outcomes=tuple(tables[k] for k in checks),
        check_minutes=problem.check_minutes[checks],
        check_places=tuple(problem.check_places[k] for k in checks),
        setup_minutes=problem.setup_minutes,
        repair_minutes=problem.repair_minutes[numbers],
        repair_places=problem.repair_places[numbers],
        repair_of=repair_of,
        opened=problem.opened,
        price=problem.price[numbers],
        price_per_minute=problem.price_per_minute,
    )


def _likeliest_apart(problem: Problem, most: int) -> Integers:
    """The likeliest repairs, those first that some check tells from every one before."""
    chance = np.bincount(problem.repair_of, problem.weight, problem.repairs)
    shows = np.zeros((problem.repairs, sum(rows.shape[1] for rows in problem.outcomes)))
    if problem.checks:
        np.add.at(
            shows, problem.repair_of, problem.weight[:, None] * np.concatenate(problem.outcomes, axis=1)
        )
    shows /= np.where(chance > 0, chance, 1.0)[:, None]
    kept: list[int] = []
    others: list[int] = []
    for repair in np.argsort(-chance, kind="stable")[: np.count_nonzero(chance)].tolist():
        apart = abs(shows[kept] - shows[repair]).max(axis=1, initial=0.0) > _ALIKE
        (kept if apart.all() else others).append(repair)
    return np.array([*kept, *others][:most], dtype=np.intp)


def _telling_together(
    problem: Problem, weight: Floats, mends: Booleans, tables: list[Floats], size: float
) -> list[int]:
    """Checks taken one after the other, as long as all that they may show is not more than `size`."""
    closed = problem.setup_minutes.copy()
    closed[list(problem.opened)] = 0.0
    taken: list[int] = []
    # a row for each that they show together
    joint = weight[None]
    while True:
        left = [k for k in range(problem.checks) if k not in taken and tables[k].shape[1] + 1 <= size]
        before = _unsure(joint, mends)
        then = [(joint[:, None] * tables[k].T).reshape(-1, len(weight)) for k in left]
        bits = np.array([before - _unsure(rows, mends) for rows in then])
        if not np.any(bits > _NOTHING):
            return sorted(taken)
        opening = [closed[list(problem.check_places[k])].sum() for k in left]
        best = int(np.argmax(bits / (problem.check_minutes[left] + opening)))
        taken.append(left[best])
        size /= tables[left[best]].shape[1] + 1
        closed[list(problem.check_places[left[best]])] = 0.0
        joint = then[best][np.argsort(-then[best].sum(axis=1), kind="stable")[:_JOINT]]


def _unsure(joint: Floats, mends: Booleans) -> float:
    """Entropy of the repair that is left once it has been seen which row it is [bit]."""
    return float(plogp(joint.sum(axis=1)).sum() - plogp(joint @ mends).sum())
