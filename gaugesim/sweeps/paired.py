"""Two faults at once: as one change, and what needles ask of them beside the currents."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.reading import Response
from gaugesim.scenario.changes import Change
from gaugesim.scenario.fault import Fault, change, combine
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.solve.network import Integers


@dataclass(frozen=True)
class PairRows:
    """Some pairs and what they show.

    Attributes
    ----------
    first, second : ndarray of int, shape (n,)
        Numbers of the two scenarios among those of the sweep.
    """

    first: Integers
    second: Integers
    response: Response


def every_two(
    scenarios: Scenarios,
    first: Integers,
    second: Integers,
    elements: Sequence[str],
    parameters: Sequence[str],
) -> Scenarios:
    """Every two of some scenarios, as far as needles ask beside the currents.

    Parameters
    ----------
    first, second : ndarray of int, shapes (f,) and (s,)
        Rows [1].

    Returns
    -------
    Scenarios
        Of ``f * s`` rows, the second in turn for each of the first, which decides where both do.

    Examples
    --------
    >>> from gaugesim.scenario.scenarios import stack
    >>> wire, pin = (Change(np.zeros(1), branches={name: np.array([7.0])}) for name in ("r1", "r2"))
    >>> every_two(stack([wire, pin]), np.array([0]), np.array([1]), ["r1"], []).resistance("r1", 0.0)
    array([7.])
    """
    shape = len(first), len(second)

    def later(values: Floats, unchanged: float) -> Floats:
        given = values[second]
        same = np.isnan(given) if np.isnan(unchanged) else given == unchanged
        return np.where(same, values[first][:, None], given).ravel()

    def every(values: Mapping[str, Floats], unchanged: float) -> dict[str, Floats]:
        return {name: later(array, unchanged) for name, array in values.items()}

    count = shape[0] * shape[1]
    ohms = [later(scenarios.resistance(name, np.nan), np.nan) for name in elements]
    asked = {name: scenarios.parameters[name] for name in parameters if name in scenarios.parameters}
    table = np.array(ohms).reshape(len(ohms), count).T
    return Scenarios(
        np.zeros(count, dtype=np.intp),
        np.zeros(count),
        tuple(elements),
        (),
        np.where(np.isnan(table), -1, np.arange(len(ohms))),
        table,
        {},
        every(asked, np.nan),
        every(scenarios.turns, 1.0),
        every(scenarios.stuck, np.nan),
        every(scenarios.strength, 1.0),
        np.zeros(count, dtype=np.intp),
        ((),),
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
    severities : tuple of two ndarray, shapes (m,) and (n,)
        In the modes' own units [1].

    Returns
    -------
    Change
        Of ``m * n`` severities, those of the second fault in turn for each of the first.
    """
    grids = [grid.ravel() for grid in np.meshgrid(*severities, indexing="ij")]
    makes = [partial(change, circuit, fault, grid) for fault, grid in zip(faults, grids, strict=True)]
    return combine(makes, parameters)
