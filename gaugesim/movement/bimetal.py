"""A heater winding bends a strip, slowly, and the strip moves the needle: see `gaugesim.physics.bimetal`."""

from __future__ import annotations

from typing import Any, ClassVar

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.movement.gauge import Gauge
from gaugesim.movement.kind import Movement, Prior, PriorKnowledge, Unknowns
from gaugesim.physics import bimetal
from gaugesim.table import Table

# what a regulator holds, or an unregulated supply: 4 to 12 V nine times in ten
_HELD_VOLTS = Prior(float(np.log(7.0)), 0.35)
# how well its volts are known where they were measured, relative
_HELD_MEASURED = 0.015
# where the needle lies with the winding cold, and how far full power for its ohms would take it
_REST = Prior(0.0, 0.15)
_RISE = Prior(float(np.log(2.2)), 0.5)


class Bimetal(Movement):
    """See the module."""

    id = "bimetal"
    constants = ("low", "high", "winding_seconds")
    heats = True
    power = 2
    unit = "W"
    winding = "rheater"
    accuracy = 0.04
    # 11 to 110 ohm nine times in ten
    ohms: ClassVar[Prior] = Prior(float(np.log(35.0)), 0.7)

    def read(self, table: Table) -> dict[str, Any]:
        """With the winding's own time constant."""
        return {**super().read(table), "winding_seconds": table.number("winding_seconds", 0.0, low=0)}

    def position(self, gauge: Gauge, drive: Floats) -> Floats:
        """By the law of the strip."""
        return np.asarray(bimetal.position(drive, gauge.low, gauge.high, gauge.stops))

    def free(self, gauge: Gauge, knowledge: PriorKnowledge) -> dict[str, Prior]:
        """What feeds it, where it lies cold, and how far full power takes it."""
        volts = knowledge.held_volts
        measured = volts is not None and Prior(float(np.log(volts)), _HELD_MEASURED)
        return {knowledge.design_volts: measured or _HELD_VOLTS, "rest": _REST, "rise": _RISE}

    def held(self, of: Unknowns) -> Floats:
        """The first of what is fitted."""
        return np.asarray(np.exp(of.free[:, :1]))

    def needle(self, of: Unknowns, amperes: Floats, closed: Floats) -> Floats:
        """By the heat, as a share of what the held volts would give."""
        heater = of.ohms[:, :1]
        watts = closed * amperes[:, :-2, 0] ** 2 * heater
        return np.asarray(
            of.free[:, 1:2] + of.sign * np.exp(of.free[:, 2:]) * watts * heater / self.held(of) ** 2
        )

    def scale(self, of: Unknowns, ends: Floats) -> tuple[Floats, Floats]:
        """Heat at the marks [W]."""
        first, rise = of.free[:, 1], of.sign * np.exp(of.free[:, 2])
        full = self.held(of)[:, 0] ** 2 / of.ohms[:, 0]
        return -first / rise * full, (1 - first) / rise * full

    def fitted(self, of: Unknowns, ends: Floats) -> dict[str, tuple[Floats, str, bool]]:
        """With what a regulator holds."""
        return {of.names[0]: (self.held(of)[:, 0], "V", True), **super().fitted(of, ends)}
