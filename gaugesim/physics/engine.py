"""Coolant of an engine that warms up from cold until its thermostat holds it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, not_negative, numbers, positive, result


def coolant_celsius(
    seconds: ArrayLike,
    start_celsius: ArrayLike,
    settled_celsius: ArrayLike,
    kelvin_per_second: ArrayLike,
    loss_seconds: ArrayLike,
    opens_below: ArrayLike,
) -> FloatArray:
    """Temperature of the coolant some time after a start with the engine as cold as the air.

    Heat r comes in at a constant rate, 1/τ of the excess over the air T_a goes, and once the thermostat
    begins to open at T_o the radiator takes a share more for each degree: with u = T − T_o,
    du/dt = r − (1/τ + κ u)(T_o + u − T_a). That is a logistic curve; κ makes it end where it settles.

    Parameters
    ----------
    seconds : array_like
        Time since the start [s].
    start_celsius : array_like
        Temperature of engine and air, T_a [celsius].
    settled_celsius : array_like
        Temperature at which the thermostat holds the engine [celsius].
    kelvin_per_second : array_like
        How fast a cold engine warms at first, r [K/s].
    loss_seconds : array_like
        Time constant τ of the block without its radiator [s].
    opens_below : array_like
        How far below the settled temperature the thermostat begins to open [K].

    Returns
    -------
    float or array
        Temperature of the coolant [celsius].

    Raises
    ------
    ValueError
        If a rate, time constant or distance is not above zero, the time negative, the start not below the
        thermostat's opening, or the heat too little to reach the settled temperature.

    Source
    ------
    Heat balance of a lumped body with a thermostat that opens in proportion.

    Examples
    --------
    >>> [round(float(coolant_celsius(60.0 * m, 20.0, 90.0, 0.2, 1500.0, 4.0))) for m in (0, 2, 4, 6, 8, 10)]
    [20, 43, 64, 84, 90, 90]
    """
    elapsed, air = not_negative("seconds", seconds), numbers("start_celsius", start_celsius)
    settled = numbers("settled_celsius", settled_celsius)
    rate, loss = positive("kelvin_per_second", kelvin_per_second), positive("loss_seconds", loss_seconds)
    low = positive("opens_below", opens_below)
    rise = settled - low - air  # to where the thermostat begins to open
    if np.any(rise <= 0):
        raise ValueError(
            f"start_celsius must lie below the thermostat's opening, but {start_celsius!r} was given"
        )
    most = rate * loss  # above the air, without a radiator
    if np.any(most <= rise + low):
        raise ValueError("kelvin_per_second times loss_seconds must be more than the rise, or it never warms")
    opens_at = loss * np.log(most / (most - rise))
    closed = air + most * -np.expm1(-elapsed / loss)
    slope = (rate / (rise + low) - 1 / loss) / low
    other = -(1 / (slope * loss) + rise) - low  # the second root of the balance, far below
    ratio = low / other * np.exp(-slope * (low - other) * np.maximum(elapsed - opens_at, 0.0))
    opened = settled - low + (low - other * ratio) / (1 - ratio)
    return result(np.where(elapsed <= opens_at, closed, opened))
