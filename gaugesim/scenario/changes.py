"""What a fault does to a circuit, for an array of severities; and several faults at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.expression import Value
from gaugesim.solve.network import Integers


@dataclass(frozen=True)
class Reevaluation:
    """Works the elements that one fault changes out for other parameter values.

    Attributes
    ----------
    make : callable
        From parameter values and numbers of severities to what becomes of elements [ohm or V].
    rows : ndarray of int, shape (n,)
        Which of them each severity of a change is.
    """

    make: Callable[[Mapping[str, Value], Integers], Mapping[str, Floats]]
    count: int
    rows: Integers


@dataclass(frozen=True)
class Change:
    """What a fault does to a circuit, for an array of severities.

    Attributes
    ----------
    severity : ndarray, shape (n,)
    branches : mapping
        New resistance of branches [ohm], each of shape (n,).
    volts : mapping
        New electromotive force of sources [V], likewise.
    paths : mapping
        Resistance of added paths [ohm] by their two nodes, likewise.
    parameters : mapping
        Parameters that have changed, for what is not a branch: a regulator's design voltage, a true value.
    turns : mapping
        Share of a coil's turns that still works [1] by element.
    stuck : mapping
        Position at which a gauge's needle stays.
    strength : mapping
        What is left of a movement's force [1] by gauge.
    again : tuple of Reevaluation
        Of each fault in it, where parameter values count for more than what the sound circuit's elements make
        of them.
    """

    severity: Floats
    branches: Mapping[str, Floats] = field(default_factory=dict)
    volts: Mapping[str, Floats] = field(default_factory=dict)
    paths: Mapping[tuple[str, str], Floats] = field(default_factory=dict)
    parameters: Mapping[str, Floats] = field(default_factory=dict)
    turns: Mapping[str, Floats] = field(default_factory=dict)
    stuck: Mapping[str, Floats] = field(default_factory=dict)
    strength: Mapping[str, Floats] = field(default_factory=dict)
    again: tuple[Reevaluation, ...] = ()

    def take(self, rows: Integers) -> Change:
        """The same for some of the severities, in any order and as often as wanted."""
        # most faults change one thing
        picked: dict[str, Any] = {
            field: {name: array[rows] for name, array in values.items()}
            for field in _FIELDS
            if (values := getattr(self, field))
        }
        again = tuple(replace(change, rows=change.rows[rows]) for change in self.again)
        return Change(self.severity[rows], **picked, again=again)


# what a change may hold, by name
_FIELDS = ("branches", "volts", "paths", "parameters", "turns", "stuck", "strength")
HEALTHY = Change(np.zeros(1))


def merge(changes: Sequence[Change]) -> Change:
    """Several faults at once as one change.

    Returns
    -------
    Change
        Where two of them decide the same thing the later one does; two paths between the same two nodes are
        both there. Its severities are those of the last.

    Examples
    --------
    >>> wire, pin = (Change(np.zeros(1), branches={"r1": np.array([ohms])}) for ohms in (5.0, 7.0))
    >>> merge([wire, pin]).branches
    {'r1': array([7.])}
    """
    if not changes:
        return HEALTHY
    paths: dict[tuple[str, str], Floats] = {}
    for change in changes:
        for (node_a, node_b), ohms in change.paths.items():
            nodes = (node_b, node_a) if (node_b, node_a) in paths else (node_a, node_b)
            paths[nodes] = parallel(paths[nodes], ohms) if nodes in paths else ohms

    united: dict[str, Any] = {
        field: {name: values for change in changes for name, values in getattr(change, field).items()}
        for field in _FIELDS
        if field != "paths"
    }
    return Change(
        changes[-1].severity,
        paths=paths,
        **united,
        again=tuple(again for change in changes for again in change.again),
    )


def parallel(first: Floats, second: Floats) -> Floats:
    """Resistance of two resistances side by side [ohm].

    Parameters
    ----------
    first, second : ndarray
        0 or more; 0 is a dead short, ``inf`` an open [ohm].

    Examples
    --------
    >>> parallel(np.array([6.0, 0.0, np.inf]), np.array([3.0, 3.0, 3.0]))
    array([2., 0., 3.])
    """
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / (1.0 / first + 1.0 / second))
