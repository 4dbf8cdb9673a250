"""A coil whose current turns the needle against a spring: a voltmeter."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.movement.gauge import Gauge
from gaugesim.movement.kind import Movement, Prior, PriorKnowledge, Unknowns

# position at 12 V and its change for each volt, logarithm
_AT_12_VOLTS = Prior(0.5, 0.5)
_SLOPE = Prior(float(np.log(0.12)), 0.5)


class MovingCoil(Movement):
    """See the module."""

    id = "moving_coil"
    has_sender = False
    # its series resistor and coil
    ohms: ClassVar[Prior] = Prior(float(np.log(500.0)), 1.2)

    def free(self, gauge: Gauge, knowledge: PriorKnowledge) -> dict[str, Prior]:
        """Where it stands at 12 V, and what each volt moves it."""
        return {"at_12_volts": _AT_12_VOLTS, "slope": _SLOPE}

    def needle(self, of: Unknowns, amperes: Floats, closed: Floats) -> Floats:
        """By the volts across it."""
        across = amperes[:, :-2, 0] * of.ohms.sum(axis=1, keepdims=True)
        return np.asarray(of.free[:, :1] + of.sign * np.exp(of.free[:, 1:]) * (across - 12.0))

    def scale(self, of: Unknowns, ends: Floats) -> tuple[Floats, Floats]:
        """Currents at the marks [A]."""
        first, rise = of.free[:, 0], of.sign * np.exp(of.free[:, 1])
        total = of.ohms.sum(axis=1)
        return (12.0 - first / rise) / total, (12.0 + (1 - first) / rise) / total
