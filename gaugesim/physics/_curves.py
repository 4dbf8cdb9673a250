"""Straight lines, tables and stops: the curves that senders and scales share."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, numbers, result


def share(values: FloatArray, low: ArrayLike, high: ArrayLike, low_name: str, high_name: str) -> FloatArray:
    """Where `values` lie between `low` (0) and `high` (1), beyond them too."""
    start, end = numbers(low_name, low), numbers(high_name, high)
    if np.any(start == end):
        raise ValueError(
            f"{low_name} and {high_name} must differ, but both are {start[start == end].flat[0]:g}"
        )
    return result((values - start) / (end - start))


def between_stops(position: FloatArray, stops: tuple[ArrayLike, ArrayLike]) -> FloatArray:
    """Needle position held between its two stops; not-a-number stays."""
    low, high = numbers("stops", stops[0]), numbers("stops", stops[1])
    if not np.all(low < high):
        raise ValueError(f"stops must be (low, high) with low below high, but {stops!r} was given")
    return result(np.clip(position, low, high))


def table(
    x_name: str, x_points: ArrayLike, y_name: str, y_points: ArrayLike, *, invertible: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Columns of a table, sorted so that x rises; y must be strictly monotone where it is to be inverted."""
    x, y = numbers(x_name, x_points), numbers(y_name, y_points)
    if x.ndim != 1 or x.shape != y.shape or x.size < 2:
        raise ValueError(
            f"{x_name} and {y_name} must be two lists of the same length, at least 2 long, "
            f"but their shapes are {x.shape} and {y.shape}"
        )
    if not (np.all(np.isfinite(x)) and np.all(np.isfinite(y))):
        raise ValueError(f"{x_name} and {y_name} must hold finite numbers only")
    order = np.argsort(x)
    x, y = x[order], y[order]
    if np.any(np.diff(x) == 0):
        raise ValueError(f"{x_name} must not hold a value twice")
    if invertible and not (np.all(np.diff(y) > 0) or np.all(np.diff(y) < 0)):
        raise ValueError(f"{y_name} must only rise or only fall along {x_name}")
    return x, y


def held(x: FloatArray, x_points: FloatArray, y_points: FloatArray) -> FloatArray:
    """Linear interpolation in a sorted table; beyond its ends the end value holds."""
    return result(np.interp(x, x_points, y_points))


def extended(x: FloatArray, x_points: FloatArray, y_points: FloatArray) -> FloatArray:
    """Linear interpolation in a sorted table; beyond its ends the last stretch goes on."""
    stretch = np.clip(np.searchsorted(x_points, x) - 1, 0, x_points.size - 2)
    slope = (y_points[1:] - y_points[:-1]) / (x_points[1:] - x_points[:-1])
    return result(y_points[stretch] + slope[stretch] * (x - x_points[stretch]))


def swapped(x_points: FloatArray, y_points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Exchange the columns of an invertible table, sorted by its new first column."""
    return (y_points, x_points) if y_points[-1] > y_points[0] else (y_points[::-1], x_points[::-1])
