"""Bimetal (thermal) movement: a heater winding bends a strip, slowly, and the strip moves the needle."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, not_negative, numbers, positive, result
from gaugesim.physics._curves import between_stops, share


def position(
    watts: ArrayLike, watts_low: ArrayLike, watts_high: ArrayLike, stops: tuple[ArrayLike, ArrayLike]
) -> FloatArray:
    """Settled needle position: the strip's deflection is in proportion to the heater's power.

    Parameters
    ----------
    watts : array_like
        Mean power in the heater winding [W].
    watts_low, watts_high : array_like
        Power at which the needle stands on the scale's low and on its top mark [W].
    stops : tuple of two array_like
        Position of the low and of the high stop [1].

    Returns
    -------
    float or array
        0 at the low mark, 1 at the top mark, beyond them up to the stops [1].

    Raises
    ------
    ValueError
        If a power is negative, the two marks have the same power, or the stops are in the wrong order.

    Source
    ------
    Timoshenko (1925): curvature in proportion to temperature rise; the rise in proportion to power.

    Examples
    --------
    >>> round(float(position(0.3, 0.1, 0.5, (-0.1, 1.1))), 9)
    0.5
    """
    low, high = not_negative("watts_low", watts_low), not_negative("watts_high", watts_high)
    return between_stops(share(not_negative("watts", watts), low, high, "watts_low", "watts_high"), stops)


def first_order(start: ArrayLike, final: ArrayLike, seconds: ArrayLike, lag_seconds: ArrayLike) -> FloatArray:
    """Value on its way from `start` to `final` with a first-order lag.

    Parameters
    ----------
    start, final : array_like
        Value at first and value after a long time, in any one unit [1].
    seconds : array_like
        Time since the change [s].
    lag_seconds : array_like
        Time constant: 63.2 % of the way is done after it [s].

    Returns
    -------
    float or array
        Value after that time, in the same unit [1].

    Raises
    ------
    ValueError
        If the time is negative or the time constant not above zero.

    Source
    ------
    Solution of τ dy/dt = y_final − y; IEC 60539-1 defines the thermal time constant so.

    Examples
    --------
    >>> round(float(first_order(0.0, 1.0, 10.0, 10.0)), 4)
    0.6321
    """
    elapsed = not_negative("seconds", seconds) / positive("lag_seconds", lag_seconds)
    origin = numbers("start", start)
    return result(origin - np.expm1(-elapsed) * (numbers("final", final) - origin))


def still_missing(
    seconds: ArrayLike, winding_seconds: ArrayLike, strip_seconds: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """What a strip still lacks of its final bend: a share of what it lacked, and of what its winding lacked.

    The heater winding w warms with its own lag τ_w and the strip y follows it with another, τ_s. With both in
    one unit y − y_f = e^(−t/τ_s) (y₀ − y_f) + τ_w (e^(−t/τ_w) − e^(−t/τ_s))/(τ_w − τ_s) (w₀ − y_f).

    Parameters
    ----------
    seconds : array_like
        Time t since the power changed [s].
    winding_seconds : array_like
        Time constant τ_w of the winding; 0 where the strip is its own heater [s].
    strip_seconds : array_like
        Time constant τ_s of the strip [s].

    Returns
    -------
    strip, winding : float or array
        What is left of y₀ − y_f and of w₀ − y_f [1].

    Raises
    ------
    ValueError
        If the time or the winding's constant is negative, or the strip's not above zero.

    Source
    ------
    Solution of τ_w dw/dt = y_f − w, τ_s dy/dt = w − y.

    Examples
    --------
    >>> [round(float(share), 4) for share in still_missing(10.0, 0.0, 10.0)]
    [0.3679, 0.0]
    >>> [round(float(share), 4) for share in still_missing(10.0, 4.0, 10.0)]
    [0.3679, 0.1905]
    """
    elapsed = not_negative("seconds", seconds)
    strip = positive("strip_seconds", strip_seconds)
    winding = not_negative("winding_seconds", winding_seconds)
    quick, slow = np.minimum(strip, winding), np.maximum(strip, winding)
    # (e^(−t/slow) − e^(−t/quick))/(slow − quick), which stays finite where the two are one
    safe = np.where(quick > 0, quick, 1.0)
    gap = np.maximum(elapsed / safe - elapsed / slow, 0.0)
    share = np.where(gap > 0, -np.expm1(-gap) / np.where(gap > 0, gap, 1.0), 1.0)
    through = winding * elapsed / (safe * slow) * np.exp(-elapsed / slow) * share
    own = np.broadcast_to(np.exp(-elapsed / strip), np.shape(through))
    return result(own), result(np.where(quick > 0, through, 0.0))
