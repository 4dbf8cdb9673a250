"""Crossed coils turn a magnet along the sum of their fields: see `gaugesim.physics.air_core`."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, ClassVar

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.movement.gauge import Coil, Gauge
from gaugesim.movement.kind import Flows, Movement, Prior, PriorKnowledge, Unknowns
from gaugesim.physics import air_core
from gaugesim.table import Table

# ampere-turns of the other coils over those of the first, by movement and coil, as each works:
# in series the coil that the sender shunts sees little of the current and has several times the turns; a
# bucking coil must overcome the low-ohm coil; the ground pair of four coils must overcome the feed pair
_TURNS = {
    "two-coil": (Prior(0.0, 0.7),),
    "two-coil series": (Prior(float(np.log(3.0)), 0.6),),
    "three-coil": (Prior(float(np.log(2.0)), 0.35), Prior(float(np.log(1.8)), 0.5)),
    "four-coil": (Prior(0.0, 0.35), Prior(float(np.log(3.0)), 0.5), Prior(0.0, 0.5)),
    "opposed-coil": (Prior(float(np.log(1.7)), 0.5), Prior(float(np.log(1.9)), 0.5)),
    "bridge": (Prior(float(np.log(2.2)), 0.6),),
}
# of a coil of any other kind
_OTHER_TURNS = Prior(float(np.log(1.8)), 0.7)
# of two coils in parallel the angle is the maker's choice, the others stand at right angles [degree]
_FREE_ANGLE = "two-coil"
_COIL_DEGREES = Prior(105.0, 20.0)
# angle between the low and the top mark [degree]; how well a protractor on the glass measures it, relative
SWEEP = Prior(float(np.log(65.0)), 0.5)
SWEEP_MEASURED = 0.015
# how far the middle of the scale lies from the middle of the needle's way between sender grounded and off
# [degree]
_MIDDLE = Prior(0.0, 45.0)


class AirCore(Movement):
    """See the module."""

    id = "air_core"
    constants = ("degrees_low", "degrees_high", "friction")
    along_field = True
    unit = "degree"
    winding = ""
    stops = (-0.12, 1.12)
    # of a winding or resistor: 35 to 350 ohm nine times in ten
    ohms: ClassVar[Prior] = Prior(float(np.log(110.0)), 0.7)

    def read(self, table: Table) -> dict[str, Any]:
        """Coils, directions, friction, and a magnet's own field."""
        coils = []
        for entry in table.list_of_tables("coils"):
            coils.append(Coil(entry.text("element").lower(), entry.number("turns"), entry.number("degrees")))
            entry.end()
        low, high = table.number("degrees_low"), table.number("degrees_high")
        if not 0 < abs(high - low) <= 360:
            raise table.fail(
                "degrees_high",
                f"is {abs(high - low):g} degrees from degrees_low",
                "more than 0 and at most one turn, 360",
            )
        return {
            "coils": tuple(coils),
            "degrees_low": low,
            "degrees_high": high,
            "friction": table.number("friction", low=0),
            "rest": table.any("rest", _vector, "[x, y] in ampere-turns", (0.0, 0.0)),
        }

    def drive(self, gauge: Gauge, flows: Flows) -> Floats:
        """The field, shape (..., n, 2) [ampere-turns]."""
        amperes = np.stack(
            [flows.mean(coil.element, 1) * flows.turns(coil.element) for coil in gauge.coils], axis=-1
        )
        field = air_core.field(
            amperes * np.asarray(flows.strength)[..., None],
            [coil.turns for coil in gauge.coils],
            [coil.degrees for coil in gauge.coils],
            gauge.rest,
        )
        return np.stack(field, axis=-1)

    def position(self, gauge: Gauge, drive: Floats) -> Floats:
        """Along the field; a field that does not overcome friction leaves the needle anywhere."""
        x, y = drive[..., 0], drive[..., 1]
        degrees = air_core.needle_degrees(x, y)
        stands = air_core.position(degrees, gauge.degrees_low, gauge.degrees_high, gauge.stops)
        return np.where(air_core.is_driven(x, y, gauge.friction), stands, np.nan)

    def free(self, gauge: Gauge, knowledge: PriorKnowledge) -> dict[str, Prior]:
        """Turns over those of the first coil, a free angle, and the scale over the needle's way."""
        coils, sweep = knowledge.coils, knowledge.sweep_degrees
        turns = _TURNS.get(gauge.topology, (_OTHER_TURNS,) * (len(coils) - 1))
        priors = {f"{name}_turns": prior for name, prior in zip(coils[1:], turns, strict=True)}
        if gauge.topology == _FREE_ANGLE:
            priors[f"{coils[1]}_degrees"] = _COIL_DEGREES
        measured = sweep is not None and Prior(float(np.log(sweep)), SWEEP_MEASURED)
        return {**priors, "sweep_degrees": measured or SWEEP, "middle_degrees": _MIDDLE}

    def needle(self, of: Unknowns, amperes: Floats, closed: Floats) -> Floats:
        """By the field's angle from the middle of the needle's way."""
        field, middle = _way(of, amperes)
        angle = np.degrees(np.angle(field[:, :-2] / middle))
        return np.asarray(0.5 + of.sign * (angle - of.free[:, -1:]) / np.exp(of.free[:, -2:-1]))

    def scale(self, of: Unknowns, ends: Floats) -> tuple[Floats, Floats]:
        """Directions of the marks [degree]."""
        middle = np.degrees(np.angle(_way(of, ends)[1][:, 0])) + of.free[:, -1]
        half = of.sign * np.exp(of.free[:, -2]) / 2
        return middle - half, middle + half

    def fitted(self, of: Unknowns, ends: Floats) -> dict[str, tuple[Floats, str, bool]]:
        """Turns over those of the first coil, a free angle, the directions of the marks."""
        turns, degrees = _coils(of)
        low, high = self.scale(of, ends)
        ratios = (turns[:, 1:] / turns[:, :1]).T
        fitted = {name: (own, "1", True) for name, own in zip(of.names, ratios, strict=False)}
        if of.gauge.topology == _FREE_ANGLE:
            fitted[of.names[-3]] = (degrees[:, 1], "degree", False)
        return {**fitted, "degrees_low": (low, "degree", False), "degrees_high": (high, "degree", False)}

    def with_fit(self, of: Unknowns, ends: Floats) -> Gauge:
        """With the coils' turns and directions, and those of the marks."""
        turns, degrees = _coils(of)
        low, high = self.scale(of, ends)
        coils = tuple(
            replace(coil, turns=float(n), degrees=float(angle))
            for coil, n, angle in zip(of.gauge.coils, turns[0], degrees[0], strict=True)
        )
        return replace(of.gauge, coils=coils, degrees_low=float(low[0]), degrees_high=float(high[0]))


def _coils(of: Unknowns) -> tuple[Floats, Floats]:
    """Turns and directions, (sets, coils); the first coil's turns stay: only ratios move the needle."""
    coils = of.gauge.coils
    ratios = np.exp(of.free[:, : len(coils) - 1])
    turns = coils[0].turns * np.concatenate([np.ones((len(ratios), 1)), ratios], axis=1)
    degrees = np.tile([coil.degrees for coil in coils], (len(ratios), 1)).astype(float)
    if of.gauge.topology == _FREE_ANGLE:
        degrees[:, 1] = of.free[:, len(coils) - 1]
    return turns, degrees


def _way(of: Unknowns, amperes: Floats) -> tuple[Floats, Floats]:
    """Fields as complex numbers, (sets, resistors), and the direction half way between the last two."""
    turns, degrees = _coils(of)
    directed = turns * np.exp(1j * np.radians(degrees))
    field = (amperes[..., list(of.coils)] * directed[:, None, :]).sum(axis=-1)
    opened, grounded = field[:, -2:-1], field[:, -1:]
    # from one end to the other the direction of a sum of two fields turns by less than half a turn
    return field, opened * np.exp(0.5j * np.angle(grounded / opened))


def _vector(value: Any) -> tuple[float, float]:
    x, y = value
    return float(x), float(y)
