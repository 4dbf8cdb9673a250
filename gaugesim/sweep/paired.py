"""Two scenarios at once as one: for pairs with parts not linear, or of which both change many things."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.reading import Response
from gaugesim.scenario.change import Change
from gaugesim.scenario.fault import Fault, change, combine
from gaugesim.scenario.stack import Scenarios
from gaugesim.solve.network import Floats, Integers


@dataclass(frozen=True)
class PairRows:
    """Some pairs and what they show.

    Attributes
    ----------
    first, second : ndarray of int, shape (n,)
        Numbers of the two scenarios among those of the sweep.
    response : Response
        Arrays of shape (n,).
    """

    first: Integers
    second: Integers
    response: Response


def paired(scenarios: Scenarios, first: Integers, second: Integers) -> Scenarios:
    """Rows of scenarios two by two.

    Parameters
    ----------
    scenarios : Scenarios
    first, second : ndarray of int, shape (n,)
        Rows [1].

    Returns
    -------
    Scenarios
        Where both rows decide the same branch, source, needle or coil, the second does; two paths between the
        same nodes are both there. Their severity is the second's.

    Examples
    --------
    >>> from gaugesim.scenario.stack import stack
    >>> wire, pin = (Change(np.zeros(1), branches={name: np.array([7.0])}) for name in ("r1", "r2"))
    >>> paired(stack([wire, pin]), np.array([0]), np.array([1])).column
    array([[0, 1]])
    """
    one, other = scenarios.column[first], scenarios.column[second]
    again = ((one[:, :, None] == other[:, None, :]) & (other[:, None, :] < len(scenarios.branches))).any(
        axis=2
    )
    column = np.concatenate([np.where(again, -1, one), other], axis=1)
    ohms = np.concatenate([scenarios.ohms[first], scenarios.ohms[second]], axis=1)
    # used columns to the left, so that few are worked on
    order = np.argsort(column < 0, axis=1, kind="stable")
    most = max(1, int((column >= 0).sum(axis=1).max(initial=0)))
    column = np.take_along_axis(column, order, axis=1)[:, :most]
    ohms = np.take_along_axis(ohms, order, axis=1)[:, :most]

    def later(values: Mapping[str, Floats], unchanged: float) -> dict[str, Floats]:
        result = {}
        for name, array in values.items():
            given = array[second]
            same = np.isnan(given) if np.isnan(unchanged) else given == unchanged
            result[name] = np.where(same, array[first], given)
        return result

    return Scenarios(
        np.arange(len(first)),
        scenarios.severity[second],
        scenarios.branches,
        scenarios.paths,
        column,
        ohms,
        later(scenarios.volts, np.nan),
        later(scenarios.parameters, np.nan),
        later(scenarios.turns, 1.0),
        later(scenarios.stuck, np.nan),
        later(scenarios.strength, 1.0),
        np.zeros(len(first), dtype=np.intp),
        ((),) * len(first),
    )


def combined(
    circuit: Circuit,
    faults: tuple[Fault, Fault],
    severities: tuple[Floats, Floats],
    parameters: Mapping[str, float],
) -> Change:
    """Two faults of which one changes what the other acts on, at every severity of either.

    Parameters
    ----------
    circuit : Circuit
    faults : tuple of two Fault
    severities : tuple of two ndarray, shapes (m,) and (n,)
        In the modes' own units [1].
    parameters : mapping
        The state's parameter values.

    Returns
    -------
    Change
        Of ``m * n`` severities, those of the second fault in turn for each of the first.
    """
    grids = [grid.ravel() for grid in np.meshgrid(*severities, indexing="ij")]
    makes = [partial(change, circuit, fault, grid) for fault, grid in zip(faults, grids, strict=True)]
    return combine(makes, parameters)
