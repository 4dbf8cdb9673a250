"""What a fit came to: the movement, its parameters with their uncertainty, the sender, what remains open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.errors import UnsolvableError
from gaugesim.fitting.comparison import compare_movements
from gaugesim.fitting.design import LEAST_PROBABILITY, Measurement, NextPoint, next_point
from gaugesim.fitting.estimation import Data, Estimate, arranged
from gaugesim.fitting.fitted_values import settled_parameters
from gaugesim.fitting.points import Points
from gaugesim.fitting.sender import Quantified, SenderFit, fit_sender
from gaugesim.scenario.tolerance import DEVIATIONS_90

# a parameter is open when the points leave more than this of what was plausible before
OPEN_SHARE = 0.5


@dataclass(frozen=True)
class Fit:
    """A gauge and its sender, fitted.

    Attributes
    ----------
    estimates : tuple of Estimate
        One for each kind of movement, the likeliest first; empty if only the sender was measured.
    probabilities : ndarray, shape (estimates,)
    apart : mapping
        From two kinds of movement that remain to the measurement that tells them apart best, or None.
    """

    points: Points
    data: Data
    estimates: tuple[Estimate, ...]
    probabilities: Floats
    sender: SenderFit | None
    next_point: NextPoint | None
    apart: Mapping[tuple[str, str], Measurement | None]

    @property
    def best(self) -> Estimate:
        """The likeliest kind of movement.

        Raises
        ------
        UnsolvableError
            If nothing of the gauge was measured.
        """
        if not self.estimates:
            raise UnsolvableError("no point of the gauge itself", str(self.points.path), "add [[needle]]")
        return self.estimates[0]

    @property
    def movement(self) -> str | None:
        """Its name; None if nothing of the gauge was measured."""
        return self.estimates[0].movement.topology if self.estimates else None

    @property
    def remaining(self) -> dict[str, float]:
        """The kinds of movement that are not ruled out, with their probabilities."""
        return {
            estimate.movement.topology: float(share)
            for estimate, share in zip(self.estimates, self.probabilities, strict=True)
            if share >= LEAST_PROBABILITY
        }

    @property
    def parameters(self) -> dict[str, Quantified]:
        """The movement's parameters, by the names of the netlist and of the sheet."""
        return settled_parameters(self.estimates[0]) if self.estimates else {}

    @property
    def open_parameters(self) -> tuple[str, ...]:
        """Parameters of the movement that the points say little about."""
        if not self.estimates:
            return ()
        estimate = self.estimates[0]
        share = np.sqrt(np.diag(estimate.covariance)) / estimate.movement.start()[1]
        given = {
            "sweep_degrees": self.points.sweep_degrees,
            "regulator_volts": self.points.regulator_volts,
        }
        return tuple(
            name
            for name, part in zip(estimate.movement.names, share, strict=True)
            if part > OPEN_SHARE and given.get(name) is None
        )

    def band(self, ohms: Floats) -> tuple[Floats, Floats]:
        """Where the needle would stand, and how far off that may be.

        Parameters
        ----------
        ohms : ndarray, shape (n,)
            In place of the sender [ohm].

        Returns
        -------
        position, half_width : ndarray, shape (n,)
            90 of 100 lie within the half width [position].
        """
        estimate = self.best
        supply = np.full(len(ohms), 12.5)
        steps = np.diag(1e-4 * estimate.movement.start()[1])
        vectors = np.concatenate([estimate.vector[None], estimate.vector + steps, estimate.vector - steps])
        positions, _ = estimate.movement.needle(vectors, np.asarray(ohms, dtype=float), supply)
        count = len(estimate.vector)
        slope = (positions[1 : count + 1] - positions[count + 1 :]) / (2 * np.diag(steps))[:, None]
        variance = np.einsum("pn,pq,qn->n", slope, estimate.covariance, slope)
        return positions[0], DEVIATIONS_90 * np.sqrt(variance)

    @property
    def bad(self) -> NDArray[np.bool_]:
        """Which rows of the needle and the coils do not belong."""
        return self.estimates[0].bad if self.estimates else np.zeros(0, dtype=bool)


def fit(points: Points) -> Fit:
    """Find the movement and the sender behind measured points.

    Raises
    ------
    CaseError
        If the points contradict themselves.

    Examples
    --------
    >>> from gaugesim.fitting.points import parse_points
    >>> rows = [{"ohms": ohms, "position": p} for ohms, p in [(10, 1), (18, 0.58), (33, 0.24), (73, 0)]]
    >>> coil = [{"between": ["stud_feed", "stud_sender"], "ohms": 20}]
    >>> fit(parse_points({"gauge": "fuel", "studs": 2, "needle": rows, "coil": coil})).movement
    'bimetal'
    """
    sender = fit_sender(points)
    data = arranged(points)
    if not data.kinds:
        return Fit(points, data, (), np.zeros(0), sender, None, {})
    estimates, probabilities = compare_movements(points)
    following, apart = next_point(points, estimates, probabilities)
    return Fit(points, data, estimates, probabilities, sender, following, apart)
