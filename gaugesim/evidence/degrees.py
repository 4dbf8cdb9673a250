"""Degrees: the severities of a fault that are told apart, and what the fault does to a circuit at each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.scenario.fault import Change, Fault, Pair, change, merge
from gaugesim.solve.network import Integers

# slices of equal prior probability into which a fault's severity is cut
SLICES = 15
# the same in the first, rough round, and for a fault as one that comes and goes
ROUGH_SLICES = 4
# the same for each of two faults at once
PAIR_SLICES = 3
# what a fault does is worked out at all of these together: most of the work is the same for one as for many
_TOGETHER = (ROUGH_SLICES, SLICES, PAIR_SLICES)


def grid(fault: Fault | Pair, slices: int) -> tuple[Floats, ...]:
    """Severities of an entry's cells.

    Parameters
    ----------
    slices : int
        How many for a single fault with degrees [1].

    Returns
    -------
    tuple of ndarray, shape (cells,)
        Of each of its single faults; for a pair every slice of the one with every slice of the other. A
        fault that may be there at times only has its `kinds_of_cells` after one another.
    """
    if isinstance(fault, Fault):
        return (np.concatenate([fault.severities(count) for _, count in kinds_of_cells(fault, slices)]),)
    both = np.meshgrid(*(single.severities(PAIR_SLICES) for single in fault.singles), indexing="ij")
    return tuple(values.ravel() for values in both)


def kinds_of_cells(fault: Fault, slices: int) -> list[tuple[float, int]]:
    """Cells of a fault that is always there, and of the same fault as one that comes and goes.

    Share of such faults that come and go, all or none, and the slices of their severity.
    """
    at_times = fault.mode.at_times
    if at_times in (0.0, 1.0):
        return [(at_times, slices)]
    return [(0.0, slices), (1.0, min(slices, ROUGH_SLICES))]


def fault_changes(
    circuit: Circuit, faults: Iterable[Fault | Pair], slices: int, parameters: Mapping[str, float]
) -> list[Change]:
    """What entries change in a state, each for the severities of its `grid`.

    What a fault changes is worked out once for each state of a circuit.

    Parameters
    ----------
    slices : int
        How many for a single fault with degrees [1].
    parameters : mapping
        The state's parameter values.
    """
    kept: dict[str, Change] = circuit.recall("fault changes", parameters, dict)

    def whole(fault: Fault) -> Change:
        if fault.id not in kept:
            severity = np.concatenate([fault.severities(count) for count in _TOGETHER])
            kept[fault.id] = change(circuit, fault, severity, parameters)
        return kept[fault.id]

    def changed(fault: Fault | Pair) -> Change:
        if isinstance(fault, Pair):
            places = _both(*(_has_degrees(single) for single in fault.singles))
            return merge([whole(each).take(rows) for each, rows in zip(fault.singles, places, strict=True)])
        if slices not in _TOGETHER:
            return change(circuit, fault, grid(fault, slices)[0], parameters)
        counts = [count for _, count in kinds_of_cells(fault, slices)]
        return whole(fault).take(np.concatenate([_places(_has_degrees(fault), count) for count in counts]))

    return [changed(fault) for fault in faults]


def _has_degrees(fault: Fault) -> bool:
    return bool(fault.mode.severity.quantity)


@cache
def _places(degrees: bool, slices: int) -> Integers:
    """Where so many slices stand among those that are worked out together."""
    counts = [count if degrees else 1 for count in _TOGETHER]
    k = _TOGETHER.index(slices)
    return sum(counts[:k]) + np.arange(counts[k])


@cache
def _both(*degrees: bool) -> tuple[Integers, ...]:
    """The same for the cells of a pair."""
    places = np.meshgrid(*(_places(each, PAIR_SLICES) for each in degrees), indexing="ij")
    return tuple(rows.ravel() for rows in places)
