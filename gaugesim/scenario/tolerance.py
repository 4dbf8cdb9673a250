"""Tolerances: which parameters of a sound circuit vary, and by how much."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit

# 95 of 100 lie within this many standard deviations
DEVIATIONS_95 = 1.959963984540054
# 5 and 95 % of a normal distribution
DEVIATIONS_90 = 1.6448536269514722


@dataclass(frozen=True)
class Tolerances:
    """Independent standard-normal variables behind the parameters of a circuit in a state.

    Attributes
    ----------
    names : tuple of str
        Parameters; a process value carries the state with it, since "warm" today is not "warm" tomorrow.
    nominal : ndarray, shape (variables,)
        In the parameter's unit [1].
    deviation : ndarray, shape (variables,)
        One standard deviation: of the logarithm if ``relative`` [1], else in the parameter's unit [1].
    relative : ndarray of bool, shape (variables,)
    """

    names: tuple[str, ...]
    nominal: Floats
    deviation: Floats
    relative: np.ndarray

    def take(self, kept: NDArray[np.bool_]) -> Tolerances:
        """Some of the variables.

        Parameters
        ----------
        kept : ndarray of bool, shape (variables,)
        """
        names = tuple(name for name, keep in zip(self.names, kept, strict=True) if keep)
        return Tolerances(names, self.nominal[kept], self.deviation[kept], self.relative[kept])

    def places(self, some: Tolerances) -> list[int]:
        """Where some of the variables stand among these."""
        number = {name: i for i, name in enumerate(self.names)}
        return [number[name] for name in some.names]

    def values(self, normal: Floats) -> dict[str, Floats]:
        """Parameter values for draws of the variables. From parameter to an array of the trailing shape.

        Parameters
        ----------
        normal : ndarray, shape (variables, ...)
            Standard-normal numbers [1].
        """
        shape = (-1, *[1] * (normal.ndim - 1))
        step = self.deviation.reshape(shape) * normal
        nominal = self.nominal.reshape(shape)
        values = np.where(self.relative.reshape(shape), nominal * np.exp(step), nominal + step)
        return dict(zip(self.names, values, strict=True))


def tolerances(
    circuit: Circuit, parameters: Mapping[str, float], state: str | None = None, certain: Collection[str] = ()
) -> Tolerances:
    """The variables of a circuit in a state.

    Parameters
    ----------
    state : str, optional
        Its id: some states pin a process value down less well than others.
    """
    sheet = circuit.sheet
    values = circuit.parameter_values(parameters)
    wider = sheet.states[state].plus_minus if state else {}
    names, deviations, relative = [], [], []
    for part in sheet.parts.values():
        if part.parameter and part.tolerance > 0 and part.parameter not in certain:
            names.append(part.parameter)
            deviations.append(np.log1p(part.tolerance) / DEVIATIONS_95)
            relative.append(True)
    for quantity in sheet.quantities.values():
        if quantity.id in certain:
            continue
        plus_minus = wider.get(quantity.id, quantity.plus_minus)
        if plus_minus > 0:
            names.append(quantity.id)
            deviations.append(plus_minus / DEVIATIONS_95)
            relative.append(False)
        elif quantity.tolerance > 0:
            names.append(quantity.id)
            deviations.append(np.log1p(quantity.tolerance) / DEVIATIONS_95)
            relative.append(True)
    # two parts may share a parameter, as the two ends of one spool of wire do
    first = {name: i for i, name in reversed(list(enumerate(names)))}
    keep = sorted(first.values())
    names = [names[i] for i in keep]
    return Tolerances(
        tuple(names),
        np.array([values[name] for name in names], dtype=float),
        np.array(deviations)[keep] if keep else np.zeros(0),
        np.array(relative)[keep] if keep else np.zeros(0, dtype=bool),
    )
