"""The parameters of a fitted movement under the names that netlist and sheet give them."""

from __future__ import annotations

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.fitting.estimation import Estimate
from gaugesim.fitting.movement import OpenMovement
from gaugesim.fitting.sender import Quantified
from gaugesim.scenario.tolerance import DEVIATIONS_90
from gaugesim.sheet import Gauge

STEP = 1e-4


def settled_parameters(estimate: Estimate) -> dict[str, Quantified]:
    """Best values with their 5 and 95 %.

    From name to `Quantified`: ohms at 20 degrees Celsius of each winding and resistor, ampere-turns over
    those of the first coil, and the constants of the scale as the sheet has them.
    """
    movement = estimate.movement
    steps = np.diag(STEP * movement.start()[1])
    values = _values(
        movement, np.concatenate([estimate.vector[None], estimate.vector + steps, estimate.vector - steps])
    )
    count = len(estimate.vector)
    result = {}
    for name, (figures, unit, positive) in values.items():
        scaled = np.log(figures) if positive else figures
        slope = (scaled[1 : count + 1] - scaled[count + 1 :]) / (2 * np.diag(steps))
        width = DEVIATIONS_90 * float(np.sqrt(slope @ estimate.covariance @ slope))
        low, high = scaled[0] - width, scaled[0] + width
        ends = np.exp([low, high]) if positive else np.array([low, high])
        result[name] = Quantified(float(figures[0]), float(ends[0]), float(ends[1]), unit)
    return result


def _values(movement: OpenMovement, vectors: Floats) -> dict[str, tuple[Floats, str, bool]]:
    """Values, unit, and whether they are always above zero."""
    of = movement.unknowns(vectors)
    ohms = {part.parameter: (np.exp(vectors[:, k]), "ohm", True) for k, part in enumerate(movement.parts)}
    return {**ohms, **movement.kind.fitted(of, movement.ends(of))}


def settled_gauge(estimate: Estimate) -> Gauge:
    """The gauge of the shipped circuit with the fitted constants; its marks are still the old ones."""
    of = estimate.movement.unknowns(estimate.vector[None])
    return estimate.movement.kind.with_fit(of, estimate.movement.ends(of))
