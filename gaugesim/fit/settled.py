"""The parameters of a fitted movement under the names that netlist and sheet give them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugesim.fit.estimate import Estimate
from gaugesim.fit.movement import Movement
from gaugesim.fit.sender import Quantified
from gaugesim.scenario.tolerance import DEVIATIONS_90
from gaugesim.sheet import Gauge
from gaugesim.solve.network import Floats

STEP = 1e-4


def settled_parameters(one: Estimate) -> dict[str, Quantified]:
    """Best values with their 5 and 95 %.

    Returns
    -------
    dict
        From name to `Quantified`: ohms at 20 degrees Celsius of each winding and resistor, ampere-turns over
        those of the first coil, and the constants of the scale as the sheet has them.
    """
    movement = one.movement
    steps = np.diag(STEP * movement.start()[1])
    values = _values(movement, np.concatenate([one.vector[None], one.vector + steps, one.vector - steps]))
    count = len(one.vector)
    result = {}
    for name, (figures, unit, positive) in values.items():
        scaled = np.log(figures) if positive else figures
        slope = (scaled[1 : count + 1] - scaled[count + 1 :]) / (2 * np.diag(steps))
        width = DEVIATIONS_90 * float(np.sqrt(slope @ one.covariance @ slope))
        low, high = scaled[0] - width, scaled[0] + width
        ends = np.exp([low, high]) if positive else np.array([low, high])
        result[name] = Quantified(float(figures[0]), float(ends[0]), float(ends[1]), unit)
    return result


def _values(movement: Movement, vectors: Floats) -> dict[str, tuple[Floats, str, bool]]:
    """Values, unit, and whether they are always above zero."""
    parts = {part.parameter: k for k, part in enumerate(movement.parts)}
    result = {name: (np.exp(vectors[:, k]), "ohm", True) for name, k in parts.items()}
    if movement.gauge.movement == "air_core":
        turns, degrees = movement.turns(vectors)
        for k, name in enumerate(movement.names[len(parts) : len(parts) + turns.shape[1] - 1], start=1):
            result[name] = (turns[:, k] / turns[:, 0], "1", True)
        if movement.names[-3].endswith("_degrees"):
            result[movement.names[-3]] = (degrees[:, 1], "degree", False)
        low, high = movement.scale_degrees(vectors)
        return {**result, "degrees_low": (low, "degree", False), "degrees_high": (high, "degree", False)}
    low, high = movement.scale_amounts(vectors)
    if movement.gauge.movement == "bimetal":
        result[movement.names[1]] = (np.exp(vectors[:, 1]), "V", True)
    unit = "W" if movement.gauge.movement == "bimetal" else "A"
    return {**result, "low": (low, unit, False), "high": (high, unit, False)}


def settled_gauge(one: Estimate) -> Gauge:
    """The gauge of the shipped circuit with the fitted constants.

    Returns
    -------
    Gauge
        Its marks are still the old ones.
    """
    movement, vectors = one.movement, one.vector[None]
    gauge = movement.gauge
    if gauge.movement == "air_core":
        turns, degrees = movement.turns(vectors)
        low, high = movement.scale_degrees(vectors)
        coils = tuple(
            replace(coil, turns=float(n), degrees=float(angle))
            for coil, n, angle in zip(gauge.coils, turns[0], degrees[0], strict=True)
        )
        return replace(gauge, coils=coils, degrees_low=float(low[0]), degrees_high=float(high[0]))
    low, high = movement.scale_amounts(vectors)
    return replace(gauge, low=float(low[0]), high=float(high[0]))
