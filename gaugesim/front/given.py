"""What is given beside a state: parameters with a number each, or with several that are swept over."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.errors import CaseError


def values_given(given: Mapping[str, Any] | None) -> dict[str, Floats]:
    """The values that are given for each parameter, shape (n,).

    Raises
    ------
    CaseError
        If one is no finite number, or there is none.
    """
    result = {}
    for name, written in (given or {}).items():
        try:
            values = np.atleast_1d(np.asarray(written, dtype=float)).ravel()
        except (TypeError, ValueError):
            values = np.array([np.nan])
        if not values.size or not np.isfinite(values).all():
            raise CaseError(f"given: {name}: {written!r} is not a number", "", "write for example 11.5")
        result[name] = values
    return result


def given_once(given: Mapping[str, Any] | None) -> dict[str, float]:
    """The value that is given for each parameter, see `values_given`."""
    result = values_given(given)
    for name, values in result.items():
        if len(values) > 1:
            raise CaseError(f"given: {name} has {len(values)} values", "", "give one; sweep() takes several")
    return {name: float(values[0]) for name, values in result.items()}
