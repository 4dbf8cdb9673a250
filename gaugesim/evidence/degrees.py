"""Degrees: the severities of a fault that are told apart, and what the fault does to a circuit at each."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.scenario.fault import Change, Fault, Pair, change, merge
from gaugesim.solve.network import Floats, Integers

# slices of equal prior probability into which a fault's severity is cut
SLICES = 15
# the same in the first, rough round
ROUGH_SLICES = 4
# the same for each of two faults at once
PAIR_SLICES = 3
# what a fault does is worked out at all of these together: most of the work is the same for one as for many
_TOGETHER = (ROUGH_SLICES, SLICES, PAIR_SLICES)


def grid(fault: Fault | Pair, slices: int) -> tuple[Floats, ...]:
    """Severities of an entry's cells.

    Parameters
    ----------
    fault : Fault or Pair
    slices : int
        How many for a single fault with degrees [1].

    Returns
    -------
    tuple of ndarray, shape (cells,)
        Of each of its single faults; for a pair every slice of the one with every slice of the other.
    """
    if isinstance(fault, Fault):
        return (fault.severities(slices),)
    both = np.meshgrid(*(single.severities(PAIR_SLICES) for single in fault.singles), indexing="ij")
    return tuple(values.ravel() for values in both)


class Changes:
    """What the faults of a circuit do to it in each state, worked out once.

    Parameters
    ----------
    circuit : Circuit
    """

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self._made: dict[tuple[str, frozenset[tuple[str, float]]], Change] = {}

    def of(self, fault: Fault | Pair, slices: int, parameters: Mapping[str, float]) -> Change:
        """What an entry changes in a state, for the severities of its `grid`.

        Parameters
        ----------
        fault : Fault or Pair
        slices : int
            How many for a single fault with degrees [1].
        parameters : mapping
            The state's parameter values.

        Returns
        -------
        Change
        """
        if isinstance(fault, Fault):
            if slices not in _TOGETHER:
                return change(self._circuit, fault, fault.severities(slices), parameters)
            return self._whole(fault, parameters).take(_places(fault, slices))
        places = np.meshgrid(*(_places(single, PAIR_SLICES) for single in fault.singles), indexing="ij")
        return merge(
            [
                self._whole(single, parameters).take(rows.ravel())
                for single, rows in zip(fault.singles, places, strict=True)
            ]
        )

    def _whole(self, fault: Fault, parameters: Mapping[str, float]) -> Change:
        key = fault.id, frozenset(parameters.items())
        if key not in self._made:
            severity = np.concatenate([fault.severities(count) for count in _TOGETHER])
            self._made[key] = change(self._circuit, fault, severity, parameters)
        return self._made[key]


def _places(fault: Fault, slices: int) -> Integers:
    """Where so many slices stand among those that are worked out together."""
    counts = [count if fault.mode.severity.quantity else 1 for count in _TOGETHER]
    k = _TOGETHER.index(slices)
    return sum(counts[:k]) + np.arange(counts[k])
