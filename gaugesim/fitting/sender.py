"""A sender's curve from measured ohms: thermistor, or a track under a wiper."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.errors import CaseError
from gaugesim.fitting.points import Points
from gaugesim.fitting.robust import BAD_DEVIATIONS, good_points, scatter
from gaugesim.physics.thermistor import steinhart_hart_ohms
from gaugesim.scenario.tolerance import DEVIATIONS_90, DEVIATIONS_95

ABSOLUTE_ZERO_CELSIUS = -273.15
REFERENCE_CELSIUS = 80.0
# 1/beta [1/K]: published gauge senders give 3600 to 4600 K
INVERSE_BETA, INVERSE_BETA_DEVIATION = 1 / 4000.0, 3e-5
# the third coefficient is taken up where it lowers the sum of squares by more than chance does once in 100
BEND_GAIN = 6.63
KNOTS = np.linspace(0.0, 1.0, 5)
KNOT_NAMES = ("empty", "quarter", "half", "three_quarters", "full")
# assumed: how much a track's slope changes from one quarter to the next, relative to its whole span
BEND_DEVIATION = 0.4


@dataclass(frozen=True)
class Quantified:
    """A number with its uncertainty.

    Attributes
    ----------
    value, low, high : float
        Best, and 5 and 95 % [unit].
    """

    value: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True)
class SenderFit:
    """A sender's curve.

    Attributes
    ----------
    kind : str
        ``beta``, ``steinhart_hart``, ``float_track`` or ``pressure_track``.
    fitted : ndarray, shape (points,)
        Ohms of the curve at the points [ohm].
    residuals : ndarray, shape (points,)
        In standard deviations [1].
    bad : ndarray of bool, shape (points,)
        Points that do not belong.
    suspects : tuple of int
        Points of which one does not belong, though nothing tells which.
    scale : float
        How many times wider than stated the points scatter, at least 1 [1].
    curve : callable
        From true values to ohms [ohm].
    loose : tuple of str
        Parameters that the points do not settle.
    """

    kind: str
    parameters: dict[str, Quantified]
    fitted: Floats
    residuals: Floats
    bad: NDArray[np.bool_]
    suspects: tuple[int, ...]
    scale: float
    curve: Callable[[Floats], Floats]
    loose: tuple[str, ...]


def fit_sender(points: Points) -> SenderFit | None:
    """Fit the sender's curve. None without points of the sender.

    Raises
    ------
    CaseError
        If the points cannot be one sender's.

    Examples
    --------
    >>> from gaugesim.fitting.points import parse_points
    >>> rows = [{"celsius": 25, "ohms": 2044}, {"celsius": 50, "ohms": 806.9}]
    >>> sender = fit_sender(parse_points({"gauge": "temperature", "sender": rows}))
    >>> sender.kind, round(sender.parameters["beta"].value, -2)
    ('beta', 3600.0)
    """
    if not points.sender:
        return None
    at = np.array([point.at for point in points.sender])
    ohms = np.array([point.ohms for point in points.sender])
    if points.gauge == "temperature":
        return _thermistor(points, at, ohms)
    return _track(points, at, ohms)


@dataclass(frozen=True)
class _Solved:
    """What a linear model came to: solution, its covariance, residuals of the points, and so on."""

    x: Floats
    covariance: Floats
    off: Floats
    bad: NDArray[np.bool_]
    suspects: tuple[int, ...]
    scale: float
    squares: float


@dataclass(frozen=True)
class _LinearModel:
    """A linear model ``rows @ x = target``, rows in standard deviations, some of them priors."""

    rows: Floats
    target: Floats
    priors: int  # how many of the last rows are priors

    def solve(self) -> _Solved:
        """Fit it, bad points left out."""
        count = len(self.rows) - self.priors
        sifted = good_points(count, lambda keep: self._off(self._plain(keep))[:count], self._freedom)
        keep = sifted.keep
        x = self._plain(keep)
        off = self._off(x)[:count]
        scale = scatter(off[keep], self._freedom(keep))
        data = self.rows[:count][keep] / scale
        precision = data.T @ data + self.rows[count:].T @ self.rows[count:]
        return _Solved(
            x,
            np.asarray(np.linalg.inv(precision), dtype=np.float64),
            off,
            ~keep,
            sifted.suspects,
            scale,
            float(np.sum(off[keep] ** 2)),
        )

    def _off(self, x: Floats) -> Floats:
        return np.asarray(self.rows @ x - self.target)

    def _kept(self, keep: NDArray[np.bool_]) -> NDArray[np.bool_]:
        return np.concatenate([keep, np.ones(self.priors, dtype=bool)])

    def _plain(self, keep: NDArray[np.bool_]) -> Floats:
        kept = self._kept(keep)
        return np.asarray(np.linalg.lstsq(self.rows[kept], self.target[kept], rcond=None)[0])

    def _freedom(self, keep: NDArray[np.bool_]) -> float:
        data = self.rows[: len(keep)][keep]
        every = self.rows[self._kept(keep)]
        settled = np.trace(data @ np.linalg.pinv(every.T @ every) @ data.T)
        return float(keep.sum() - settled)


def _thermistor(points: Points, at: Floats, ohms: Floats) -> SenderFit:
    if np.any(ohms <= 0):
        raise CaseError("a thermistor of no ohms", points.path.name, "leave a shorted sender out")
    kelvin = at - ABSOLUTE_ZERO_CELSIUS
    logarithm = np.log(ohms)
    # an error of the ohms counts as the error of 1/T that it stands for
    deviation = np.hypot(
        points.errors.at / DEVIATIONS_95 / kelvin**2,
        INVERSE_BETA * np.log1p(points.errors.ohms) / DEVIATIONS_95,
    )
    line = np.column_stack([np.ones_like(kelvin), logarithm]) / deviation[:, None]
    prior = np.array([[0.0, 1 / INVERSE_BETA_DEVIATION]])
    target = np.append(1 / kelvin / deviation, INVERSE_BETA / INVERSE_BETA_DEVIATION)
    solved = _LinearModel(np.vstack([line, prior]), target, 1).solve()
    kind, coefficients = "beta", np.append(solved.x, 0.0)
    covariance = np.zeros((3, 3))
    covariance[:2, :2] = solved.covariance
    if len(at) >= 4:
        bent = _LinearModel(np.column_stack([line, logarithm**3 / deviation]), target[:-1], 0).solve()
        gain = solved.squares - bent.squares + BAD_DEVIATIONS**2 * float(solved.bad.sum() - bent.bad.sum())
        if bent.x[2] > 0 and bent.x[1] > 0 and gain > BEND_GAIN * bent.scale**2:
            kind, solved, coefficients, covariance = "steinhart_hart", bent, bent.x, bent.covariance
    if coefficients[1] <= 0:
        raise CaseError("the ohms do not fall with the temperature", points.path.name, "is it a thermistor?")

    def curve(celsius: Floats) -> Floats:
        return np.asarray(steinhart_hart_ohms(celsius, *coefficients), dtype=float)

    # ohms at the reference, and beta there: 1/T = A + B x + C x^3, dx/d(1/T) = 1/(B + 3 C x^2)
    x = float(np.log(curve(np.array([REFERENCE_CELSIUS]))[0]))
    slope = coefficients[1] + 3 * coefficients[2] * x**2
    by = np.array([1.0, x, x**3]) / slope
    bend = -(np.array([0.0, 1.0, 3 * x**2]) - 6 * coefficients[2] * x * by) / slope
    log_deviation = float(np.sqrt(by @ covariance @ by))
    beta_deviation = float(np.sqrt(bend @ covariance @ bend)) / slope
    parameters = {
        "ohms_at_80": _of_logarithm(x, log_deviation, "ohm"),
        "beta": _normal(1 / slope, beta_deviation, "K"),
    }
    if kind == "steinhart_hart":
        for name, value, variance in zip("abc", coefficients, np.diag(covariance), strict=True):
            parameters[name] = _normal(float(value), float(np.sqrt(variance)), "1/K")
    loose = ("beta",) if beta_deviation > 0.5 * INVERSE_BETA_DEVIATION / INVERSE_BETA**2 else ()
    return SenderFit(
        kind, parameters, curve(at), solved.off, solved.bad, solved.suspects, solved.scale, curve, loose
    )


def _track(points: Points, at: Floats, ohms: Floats) -> SenderFit:
    full = 1.0 if points.gauge == "fuel" else float(at.max())
    if full <= 0:
        raise CaseError(
            "no pressure at any point of the sender", points.path.name, "measure it under pressure"
        )
    share = at / full
    span = max(float(np.ptp(ohms)), 1.0)
    rows = _interpolation(share)
    slope = span  # ohms for the whole way: what an error of the level is worth
    deviation = np.hypot(points.errors.ohms * ohms + 0.3, slope * points.errors.at / full) / DEVIATIONS_95
    bends = np.diff(np.eye(5), n=2, axis=0) / (BEND_DEVIATION * span)
    loose_ends = 1e-3 * np.eye(5) / span  # so that one point alone still has an answer
    model = _LinearModel(
        np.vstack([rows / deviation[:, None], bends, loose_ends]),
        np.concatenate([ohms / deviation, np.zeros(len(bends)), np.full(5, 1e-3 * ohms.mean() / span)]),
        len(bends) + 5,
    )
    solved = model.solve()
    knots = np.maximum(solved.x, 0.0)
    deviations = np.sqrt(np.diag(solved.covariance))
    names = KNOT_NAMES if points.gauge == "fuel" else ("none", *KNOT_NAMES[1:])
    front = "track" if points.gauge == "fuel" else "pressure"
    parameters = {
        f"{front}_{name}": Quantified(
            float(value),
            float(max(value - DEVIATIONS_90 * spread, 0.0)),
            float(value + DEVIATIONS_90 * spread),
            "ohm",
        )
        for name, value, spread in zip(names, knots, deviations, strict=True)
    }
    if front == "pressure":
        parameters["pressure_bar"] = Quantified(full, full, full, "bar")
    loose = tuple(
        name
        for name, spread in zip(parameters, deviations, strict=False)
        if spread > 0.5 * BEND_DEVIATION * span
    )

    def curve(values: Floats) -> Floats:
        return np.asarray(_interpolation(np.asarray(values) / full) @ knots)

    kind = "float_track" if front == "track" else "pressure_track"
    return SenderFit(
        kind, parameters, curve(at), solved.off, solved.bad, solved.suspects, solved.scale, curve, loose
    )


def _interpolation(share: Floats) -> Floats:
    """Shares of the knots at places along the track, (points, knots); held beyond its ends."""
    return np.stack([np.interp(share, KNOTS, row) for row in np.eye(5)], axis=1)


def _normal(value: float, deviation: float, unit: str) -> Quantified:
    width = DEVIATIONS_90 * deviation
    return Quantified(float(value), float(value - width), float(value + width), unit)


def _of_logarithm(logarithm: float, deviation: float, unit: str) -> Quantified:
    low, high = logarithm - DEVIATIONS_90 * deviation, logarithm + DEVIATIONS_90 * deviation
    return Quantified(float(np.exp(logarithm)), float(np.exp(low)), float(np.exp(high)), unit)
