"""One movement fitted to measured points: robust least squares, uncertainty from the Jacobian."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.fitting.movement import OpenMovement
from gaugesim.fitting.points import OPEN_OHMS, Points
from gaugesim.fitting.robust import CAUCHY_SCALE, cauchy, good_points, scatter
from gaugesim.scenario.tolerance import DEVIATIONS_95

# assumed: how often a reading is plainly wrong, and the ranges in which a wrong one may lie
BAD_SHARE = 0.03
BAD_RANGES = {"needle": 1.2, "volts": 12.0, "coil": 7.0}
# residual of an open circuit where the movement has a coil, or the other way round
CONTRADICTION = 8.0
STEP = 1e-5
DRAWS = 400
STARTS = 4


@dataclass(frozen=True)
class Data:
    """The points as arrays, one row a residual.

    Attributes
    ----------
    kinds : tuple of str
        ``needle``, ``volts`` or ``coil``.
    numbers : tuple of int
        Which point of that kind, from 0.
    deviations : ndarray, shape (rows,)
        One standard deviation [position], [V] or of the logarithm of ohms [1].
    """

    kinds: tuple[str, ...]
    numbers: tuple[int, ...]
    deviations: Floats


@dataclass(frozen=True)
class Estimate:
    """A movement with the parameters that fit best.

    Attributes
    ----------
    vector : ndarray, shape (parameters,)
    covariance : ndarray, shape (parameters, parameters)
    residuals : ndarray, shape (rows,)
        In standard deviations [1].
    bad : ndarray of bool, shape (rows,)
        Points that do not belong.
    suspects : tuple of int
        Rows of which one does not belong, though nothing tells which.
    scale : float
        How many times wider than stated the readings scatter, at least 1 [1].
    log_evidence : float
        Logarithm of the probability of the points under this kind of movement, up to a constant.
    """

    movement: OpenMovement
    vector: Floats
    covariance: Floats
    residuals: Floats
    bad: NDArray[np.bool_]
    suspects: tuple[int, ...]
    scale: float
    log_evidence: float


def arranged(points: Points) -> Data:
    """Put points into rows."""
    rows = [
        ("needle", i, points.errors.needle)
        for i, each in enumerate(points.needle)
        if np.isfinite(each.position)
    ]
    rows += [
        ("volts", i, points.errors.volts * max(each.volts, 0.5))
        for i, each in enumerate(points.needle)
        if np.isfinite(each.volts)
    ]
    # below some ohms a meter's leads and its last digit count
    rows += [
        ("coil", i, points.errors.ohms + 0.3 / max(each.ohms, 0.3)) for i, each in enumerate(points.coil)
    ]
    return Data(
        tuple(kind for kind, _, _ in rows),
        tuple(number for _, number, _ in rows),
        np.array([error for _, _, error in rows]) / DEVIATIONS_95,
    )


def residuals(movement: OpenMovement, points: Points, data: Data, vectors: Floats) -> Floats:
    """How far each row is off, in standard deviations, shape (sets, rows) [1].

    Parameters
    ----------
    vectors : ndarray, shape (sets, parameters)
        Parameter sets [1].
    """
    result = np.zeros((len(vectors), len(data.kinds)))
    if points.needle:
        ohms = np.array([point.ohms for point in points.needle])
        supply = np.array([point.supply_volts for point in points.needle])
        positions, volts = movement.needle(vectors, ohms, supply)
    for row, (kind, number) in enumerate(zip(data.kinds, data.numbers, strict=True)):
        if kind == "needle":
            needle = points.needle[number]
            off = positions[:, number] - needle.position
            result[:, row] = np.minimum(off * needle.pegged, 0) if needle.pegged else off
        elif kind == "volts":
            result[:, row] = volts[:, number] - points.needle[number].volts
        else:
            coil = points.coil[number]
            shown = movement.coil_ohms(vectors, coil)
            shown = np.full(len(vectors), np.nan) if shown is None else shown
            if coil.ohms >= OPEN_OHMS or not np.all(shown < OPEN_OHMS):
                agree = coil.ohms >= OPEN_OHMS and bool(np.all(shown >= OPEN_OHMS))
                result[:, row] = 0.0 if agree else CONTRADICTION * data.deviations[row]
            else:
                result[:, row] = np.log(shown / coil.ohms)
    return np.asarray(result / data.deviations)


def estimate(movement: OpenMovement, points: Points, data: Data) -> Estimate:
    """Fit one movement."""
    middle, deviation = movement.start()
    keep = np.ones(len(data.kinds), dtype=bool)
    ends = [
        (*_descend(each, points, data, start, keep, robust=True), each)
        for each, start in _starts(movement, points, data)
    ]
    vector, _, movement = min(ends, key=lambda end: end[1])

    def refitted(keep: NDArray[np.bool_]) -> Floats:
        again = _descend(movement, points, data, vector, keep)[0]
        return np.asarray(residuals(movement, points, data, again[None])[0])

    sifted = good_points(len(keep), refitted, lambda keep: _freedom(movement, points, data, vector, keep))
    keep = sifted.keep
    vector = _descend(movement, points, data, vector, keep)[0]
    final = residuals(movement, points, data, vector[None])[0]
    jacobian = _jacobian(movement, points, data, vector)[keep]
    scale = scatter(final[keep], _freedom(movement, points, data, vector, keep))
    precision = jacobian.T @ jacobian / scale**2 + np.diag(deviation**-2.0)
    covariance = np.asarray(np.linalg.inv(precision), dtype=np.float64)
    evidence = _log_evidence(data, final, keep, (vector - middle) / deviation, jacobian * deviation)
    return Estimate(movement, vector, covariance, final, ~keep, sifted.suspects, scale, evidence)


def _log_evidence(
    data: Data, final: Floats, keep: NDArray[np.bool_], away: Floats, jacobian: Floats
) -> float:
    """Laplace's approximation, with a bad point as one that may lie anywhere in its range."""
    precision = jacobian.T @ jacobian + np.eye(jacobian.shape[1])
    fit = -0.5 * float(np.sum(final[keep] ** 2) + np.sum(away**2)) - 0.5 * float(
        np.linalg.slogdet(precision)[1]
    )
    ranges = np.array([BAD_RANGES[kind] for kind in data.kinds])[~keep]
    anywhere = np.log(BAD_SHARE * data.deviations[~keep] * np.sqrt(2 * np.pi) / ranges)
    return fit + float(np.sum(anywhere))


def _freedom(
    movement: OpenMovement, points: Points, data: Data, vector: Floats, keep: NDArray[np.bool_]
) -> float:
    """How many of the kept rows are left over once the parameters are settled [1]."""
    jacobian = _jacobian(movement, points, data, vector)[keep] * movement.start()[1]
    squares = np.linalg.svd(jacobian, compute_uv=False) ** 2
    return float(keep.sum() - np.sum(squares / (squares + 1.0)))


def _starts(movement: OpenMovement, points: Points, data: Data) -> list[tuple[OpenMovement, Floats]]:
    """The most promising of many plausible parameter sets; the scale may run either way."""
    middle, deviation = movement.start()
    draws = np.random.default_rng(1).standard_normal((DRAWS, len(middle)))
    draws[0] = 0.0
    sets = middle + deviation * draws
    ways = [replace(movement, sign=sign) for sign in (1, -1)]
    off = np.stack([residuals(way, points, data, sets) for way in ways])
    cost = CAUCHY_SCALE**2 * np.log1p((off / CAUCHY_SCALE) ** 2).sum(axis=-1) + (draws**2).sum(axis=1)
    order = np.argsort(cost, axis=None, kind="stable")[:STARTS]
    return [(ways[k // DRAWS], sets[k % DRAWS]) for k in order]


def _jacobian(movement: OpenMovement, points: Points, data: Data, vector: Floats) -> Floats:
    """Change of the residuals with each parameter, (rows, parameters), by central differences."""
    deviation = movement.start()[1]
    steps = np.diag(STEP * deviation)
    both = residuals(movement, points, data, np.concatenate([vector + steps, vector - steps]))
    up, down = both[: len(vector)], both[len(vector) :]
    return np.asarray(((up - down) / (2 * STEP * deviation[:, None])).T)


def _descend(
    movement: OpenMovement,
    points: Points,
    data: Data,
    start: Floats,
    keep: NDArray[np.bool_],
    robust: bool = False,
) -> tuple[Floats, float]:
    """Least squares over points and priors from one start; with the robust loss only on the points."""
    from scipy.optimize import least_squares

    middle, deviation = movement.start()

    # in deviations of the priors all parameters are of one size
    def off(away: Floats) -> Floats:
        rows = residuals(movement, points, data, (middle + deviation * away)[None])[0][keep]
        return np.concatenate([rows, away])

    def slope(away: Floats) -> Floats:
        rows = _jacobian(movement, points, data, middle + deviation * away)[keep] * deviation
        return np.concatenate([rows, np.eye(len(away))])

    minimum = least_squares(
        off,
        (start - middle) / deviation,
        jac=slope,
        loss=cauchy(int(keep.sum())) if robust else "linear",
        ftol=1e-9,
        xtol=1e-7,
        gtol=1e-6,
        max_nfev=100,
    )
    return np.asarray(middle + deviation * minimum.x), float(minimum.cost)
