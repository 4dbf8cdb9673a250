"""Many changes at once: scenarios as flat arrays, which is what the engines are fast at."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.scenario.changes import Change, Reevaluation
from gaugesim.solve.network import Integers

_Entry = TypeVar("_Entry")


@dataclass(frozen=True)
class Scenarios:
    """A batch of changes, one row each.

    Attributes
    ----------
    source : ndarray of int, shape (n,)
        Which of the stacked changes each row belongs to.
    severity : ndarray, shape (n,)
    column : ndarray of int, shape (n, k)
        For each row its changed branches (numbered as in ``branches``) and paths (after them); -1 for none.
    ohms : ndarray, shape (n, k)
        Their new resistances [ohm].
    volts : mapping
        New electromotive force of sources [V], shape (n,), NaN where unchanged.
    parameters, turns, stuck, strength : mapping
        As in `Change`, each of shape (n,); NaN, 1, NaN and 1 where unchanged.
    number : ndarray of int, shape (n,)
        Which severity of its change each row has.
    """

    source: Integers
    severity: Floats
    branches: tuple[str, ...]
    paths: tuple[tuple[str, str], ...]
    column: Integers
    ohms: Floats
    volts: Mapping[str, Floats]
    parameters: Mapping[str, Floats]
    turns: Mapping[str, Floats]
    stuck: Mapping[str, Floats]
    strength: Mapping[str, Floats]
    number: Integers
    again: tuple[tuple[Reevaluation, ...], ...]

    def __len__(self) -> int:
        return len(self.source)

    def recall(self, what: Hashable, make: Callable[[], _Entry]) -> _Entry:
        """Something that follows from these scenarios, worked out once. Not to be changed by the caller."""
        if what not in self._kept:
            self._kept[what] = make()
        return self._kept[what]  # type: ignore[no-any-return]

    @cached_property
    def _kept(self) -> dict[Hashable, Any]:
        return {}

    def resistance(self, branch: str, before: float) -> Floats:
        """Resistance of a branch in each row, shape (n,) [ohm].

        Parameters
        ----------
        before : float
            Where no change touches it [ohm].
        """
        result = np.full(len(self), before)
        if branch in self.branches:
            number = self.branches.index(branch)
            for k in range(self.column.shape[1]):
                rows = self.column[:, k] == number
                result[rows] = self.ohms[rows, k]
        return result

    def take(self, rows: Integers) -> Scenarios:
        """Some of the rows."""

        def picked(values: Mapping[str, Floats]) -> dict[str, Floats]:
            return {name: array[rows] for name, array in values.items()}

        return Scenarios(
            self.source[rows],
            self.severity[rows],
            self.branches,
            self.paths,
            self.column[rows],
            self.ohms[rows],
            picked(self.volts),
            picked(self.parameters),
            picked(self.turns),
            picked(self.stuck),
            picked(self.strength),
            self.number[rows],
            self.again,
        )


def stack(changes: Sequence[Change]) -> Scenarios:
    """Put changes under one another.

    Returns
    -------
    Scenarios
        With one row for each severity of each change, in order.
    """
    counts = [len(change.severity) for change in changes]
    total = sum(counts)
    starts = np.cumsum([0, *counts])
    branches = tuple(dict.fromkeys(name for change in changes for name in change.branches))
    paths = tuple(dict.fromkeys(nodes for change in changes for nodes in change.paths))
    number: dict[object, int] = {name: i for i, name in enumerate(branches)}
    number |= {nodes: i for i, nodes in enumerate(paths, start=len(branches))}
    width = max([1, *(len(change.branches) + len(change.paths) for change in changes)])
    column = np.full((total, width), -1, dtype=np.intp)
    ohms = np.ones((total, width))
    for change, start, count in zip(changes, starts, counts, strict=False):
        rows = slice(start, start + count)
        for k, (key, values) in enumerate([*change.branches.items(), *change.paths.items()]):
            column[rows, k] = number[key]
            ohms[rows, k] = values

    def gathered(field: str, default: float) -> dict[str, Floats]:
        result: dict[str, Floats] = {}
        for change, start, count in zip(changes, starts, counts, strict=False):
            for name, values in getattr(change, field).items():
                result.setdefault(name, np.full(total, default))[start : start + count] = values
        return result

    return Scenarios(
        np.repeat(np.arange(len(changes)), counts),
        np.concatenate([change.severity for change in changes]) if changes else np.zeros(0),
        branches,
        paths,
        column,
        ohms,
        gathered("volts", np.nan),
        gathered("parameters", np.nan),
        gathered("turns", 1.0),
        gathered("stuck", np.nan),
        gathered("strength", 1.0),
        np.arange(total) - np.repeat(starts[:-1], counts),
        tuple(change.again for change in changes),
    )
