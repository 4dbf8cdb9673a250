"""Sums of branch currents from which needles and a voltmeter follow, where all is linear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.reading import Situation
from gaugesim.scenario.check import METER
from gaugesim.solve.network import Floats

# stands for no friction at all: any field turns the needle [A]
NO_FRICTION = 1e-60


def is_linear(place: Situation) -> bool:
    """Whether needles and reading follow from sums of the currents of one network.

    Parameters
    ----------
    place : Situation

    Returns
    -------
    bool
        Not where a regulator is at work, an ohmmeter or a test lamp is read, or a heater bends a strip.
    """
    still = len(place.phases) == 1 and place.meter is None
    return (
        still
        and place.check.reads not in ("ohms", "lamp")
        and all(gauge.movement in ("air_core", "moving_coil") for gauge in place.gauges)
    )


@dataclass(frozen=True)
class Sums:
    """Sums of branch currents from which a situation's needles and reading follow.

    Attributes
    ----------
    weights : ndarray, shape (sums, outputs)
        Of the currents of ``place.outputs``: two sums for an air-core gauge, as multiples of its friction,
        one for a moving coil, in positions, and one for a voltmeter [V].
    constants : ndarray, shape (sums,)
        Added to them.
    gauge : tuple of str
        Whose each sum is; ``""`` for the meter's.
    outputs : tuple of str
        Whose the currents are.
    """

    weights: Floats
    constants: Floats
    gauge: tuple[str, ...]
    outputs: tuple[str, ...]

    @property
    def gauges(self) -> tuple[str, ...]:
        """The gauges, each once."""
        return tuple(dict.fromkeys(name for name in self.gauge if name))

    @classmethod
    def of(cls, place: Situation) -> Sums:
        """The sums of a situation.

        Parameters
        ----------
        place : Situation

        Returns
        -------
        Sums
        """
        number = {place.network.names[k]: i for i, k in enumerate(place.outputs)}
        weights: list[Floats] = []
        constants: list[float] = []
        names: list[str] = []

        def add(name: str, terms: Sequence[tuple[str, float]], constant: float) -> None:
            row = np.zeros(len(number))
            for element, weight in terms:
                row[number[element]] += weight
            weights.append(row)
            constants.append(constant)
            names.append(name)

        for gauge in place.gauges:
            if gauge.movement == "air_core":
                # the field along the middle of the scale and towards its top mark
                unit = max(gauge.friction, NO_FRICTION)
                middle = np.radians((gauge.degrees_low + gauge.degrees_high) / 2)
                side = np.sign(gauge.degrees_high - gauge.degrees_low)
                for x, y in (
                    (np.cos(middle), np.sin(middle)),
                    (-side * np.sin(middle), side * np.cos(middle)),
                ):
                    terms = []
                    for coil in gauge.coils:
                        angle = np.radians(coil.degrees)
                        part = x * np.cos(angle) + y * np.sin(angle)
                        terms.append((coil.element, coil.turns * part / unit))
                    add(gauge.id, terms, (x * gauge.rest[0] + y * gauge.rest[1]) / unit)
            else:
                span = gauge.high - gauge.low
                add(gauge.id, [(gauge.element, 1 / span)], -gauge.low / span)
        if place.check.reads == "volts":
            add("", [(METER, float(place.network.ohms[place.network.branch(METER)]))], 0.0)
        return cls(
            np.array(weights).reshape(len(names), -1), np.array(constants), tuple(names), tuple(number)
        )
