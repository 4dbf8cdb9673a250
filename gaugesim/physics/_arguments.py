"""Arguments of the physics functions: turned into float arrays and refused with a sentence that helps."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugesim.errors import OutOfRangeError

FloatArray = NDArray[np.float64]
ABSOLUTE_ZERO_CELSIUS = -273.15


def result(values: ArrayLike) -> FloatArray:
    """Give arrays as they are and a single number as a plain float of numpy."""
    array: FloatArray = np.asarray(values, dtype=np.float64)[()]
    return array


def numbers(name: str, values: ArrayLike) -> FloatArray:
    """Float array of `values`; not-a-number passes, text and nothing do not."""
    if values is None or isinstance(values, str | bytes):
        raise ValueError(f"{name} must be a number or an array of numbers, but {values!r} was given")
    try:
        return np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise ValueError(
            f"{name} must be a number or an array of numbers, but {values!r} was given"
        ) from error


def _refuse(name: str, rule: str, values: FloatArray, good: NDArray[np.bool_]) -> FloatArray:
    if not np.all(good):
        first = np.extract(~good, values)[0]
        raise OutOfRangeError(f"{name} must be {rule}, but {first:g} was given")
    return values


def positive(name: str, values: ArrayLike) -> FloatArray:
    """Numbers above zero."""
    array = numbers(name, values)
    return _refuse(name, "above zero", array, array > 0)


def not_negative(name: str, values: ArrayLike) -> FloatArray:
    """Numbers that are zero or more."""
    array = numbers(name, values)
    return _refuse(name, "zero or more", array, array >= 0)


def between(name: str, values: ArrayLike, lowest: float, highest: float) -> FloatArray:
    """Numbers from `lowest` to `highest`."""
    array = numbers(name, values)
    return _refuse(name, f"from {lowest:g} to {highest:g}", array, (array >= lowest) & (array <= highest))


def kelvin(name: str, celsius: ArrayLike) -> FloatArray:
    """Absolute temperature [K] of `celsius`, which must be above absolute zero."""
    array = numbers(name, celsius)
    _refuse(name, f"above {ABSOLUTE_ZERO_CELSIUS:g} degrees Celsius", array, array > ABSOLUTE_ZERO_CELSIUS)
    return array - ABSOLUTE_ZERO_CELSIUS
