"""Straight lines and stops, which scales share."""

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
