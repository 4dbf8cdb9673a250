"""Instrument voltage regulator: a thermal interrupter that pulses the supply.

A bimetal contact opens when its heater, fed behind the contact, has warmed it enough, and closes when it has
cooled. Published figures (5 V, 7 V, 10 V) do not say whether they are the mean or the RMS of the pulses, so
every function that holds a design voltage is told which. A heated gauge answers to the mean square.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, fraction, not_negative, numbers, positive, result

CONVENTIONS = ("rms", "mean")


def duty(on_volts: ArrayLike, off_volts: ArrayLike, design_volts: ArrayLike, convention: str) -> FloatArray:
    """Share of the time for which the contact is closed.

    The share D makes the mean (or the mean square) of the heater's voltage, `on_volts` while closed and
    `off_volts` while open, equal to the design voltage (or its square). The heater does not feel polarity.

    Parameters
    ----------
    on_volts : array_like
        Heater voltage while the contact is closed [V].
    off_volts : array_like
        Heater voltage while it is open: 0 unless something else feeds it [V].
    design_volts : array_like
        Voltage that the regulator holds [V].
    convention : str
        What the design voltage is of the pulses: "rms" or "mean" [1].

    Returns
    -------
    float or array
        From 0 to 1; 1 where the closed contact cannot reach the design voltage [1].

    Raises
    ------
    ValueError
        If the design voltage is not above zero or the convention is neither "rms" nor "mean".

    Source
    ------
    Heat balance of an interrupter with a narrow band ("rms"); charge balance ("mean").

    Examples
    --------
    >>> round(float(duty(14.0, 0.0, 10.0, "rms")), 4), round(float(duty(14.0, 0.0, 10.0, "mean")), 4)
    (0.5102, 0.7143)
    """
    if convention not in CONVENTIONS:
        raise ValueError(f'convention must be "rms" or "mean", but {convention!r} was given')
    power = 2 if convention == "rms" else 1
    closed = np.abs(numbers("on_volts", on_volts)) ** power
    opened = np.abs(numbers("off_volts", off_volts)) ** power
    design = positive("design_volts", design_volts) ** power
    swing = closed - opened
    part = (design - opened) / np.where(swing == 0, 1.0, swing)
    return result(np.where(closed <= design, 1.0, np.where(opened >= design, 0.0, part)))


def mean(on_volts: ArrayLike, off_volts: ArrayLike, duty: ArrayLike) -> FloatArray:
    """Mean of a pulsing voltage: what a slow voltmeter shows.

    Parameters
    ----------
    on_volts, off_volts : array_like
        Voltage while the contact is closed and while it is open [V].
    duty : array_like
        Share of the time for which it is closed [1].

    Returns
    -------
    float or array
        Mean voltage [V].

    Raises
    ------
    ValueError
        If the duty is outside 0 to 1.

    Source
    ------
    Definition of the mean.

    Examples
    --------
    >>> round(float(mean(14.0, 0.0, 0.5)), 9)
    7.0
    """
    closed = fraction("duty", duty)
    return result(closed * numbers("on_volts", on_volts) + (1 - closed) * numbers("off_volts", off_volts))


def root_mean_square(on_volts: ArrayLike, off_volts: ArrayLike, duty: ArrayLike) -> FloatArray:
    """RMS of a pulsing voltage: what a heated gauge answers to.

    Parameters
    ----------
    on_volts, off_volts : array_like
        Voltage while the contact is closed and while it is open [V].
    duty : array_like
        Share of the time for which it is closed [1].

    Returns
    -------
    float or array
        Root of the mean square [V].

    Raises
    ------
    ValueError
        If the duty is outside 0 to 1.

    Source
    ------
    Definition of the root mean square.

    Examples
    --------
    >>> round(float(root_mean_square(14.0, 0.0, 0.25)), 9)
    7.0
    """
    return result(
        np.sqrt(mean(numbers("on_volts", on_volts) ** 2, numbers("off_volts", off_volts) ** 2, duty))
    )


def _thresholds(opens_at: ArrayLike, closes_at: ArrayLike) -> tuple[FloatArray, FloatArray]:
    high, low = positive("opens_at_rise", opens_at), positive("closes_at_rise", closes_at)
    if not np.all(low < high):
        raise ValueError(
            f"closes_at_rise must be below opens_at_rise, but they are {closes_at!r} and {opens_at!r}"
        )
    return high, low


def on_seconds(
    full_rise: ArrayLike, opens_at_rise: ArrayLike, closes_at_rise: ArrayLike, lag_seconds: ArrayLike
) -> FloatArray:
    """Time for which the contact stays closed in each cycle.

    t_on = τ ln[(ΔT∞ − ΔT_lo)/(ΔT∞ − ΔT_hi)].

    Parameters
    ----------
    full_rise : array_like
        Rise ΔT∞ = V²/(R G) that the heater would settle at with the contact held closed [K].
    opens_at_rise, closes_at_rise : array_like
        Rise ΔT_hi at which the contact opens and ΔT_lo, below it, at which it closes again [K].
    lag_seconds : array_like
        Time constant τ of the strip [s].

    Returns
    -------
    float or array
        Time closed; inf where the supply is too low to open it at all [s].

    Raises
    ------
    ValueError
        If the thresholds are not 0 < low < high, a rise is negative, or the time constant not above zero.

    Source
    ------
    Solution of the strip's heat balance between the two thresholds.

    Examples
    --------
    >>> round(float(on_seconds(100.0, 60.0, 50.0, 10.0)), 4)
    2.2314
    """
    high, low = _thresholds(opens_at_rise, closes_at_rise)
    full = not_negative("full_rise", full_rise)
    opens = full > high
    # ln[(F − lo)/(F − hi)] as log1p, so that a narrow band keeps its digits
    growth = np.log1p((high - low) / np.where(opens, full - high, 1.0))
    return result(np.where(opens, positive("lag_seconds", lag_seconds) * growth, np.inf))


def off_seconds(opens_at_rise: ArrayLike, closes_at_rise: ArrayLike, lag_seconds: ArrayLike) -> FloatArray:
    """Time for which the contact stays open in each cycle: the supply has no say in it.

    t_off = τ ln(ΔT_hi/ΔT_lo).

    Parameters
    ----------
    opens_at_rise, closes_at_rise : array_like
        Rise ΔT_hi at which the contact opens and ΔT_lo, below it, at which it closes again [K].
    lag_seconds : array_like
        Time constant τ of the strip [s].

    Returns
    -------
    float or array
        Time open [s].

    Raises
    ------
    ValueError
        If the thresholds are not 0 < low < high or the time constant not above zero.

    Source
    ------
    Solution of the strip's heat balance with the heater dead.

    Examples
    --------
    >>> round(float(off_seconds(60.0, 50.0, 10.0)), 4)
    1.8232
    """
    high, low = _thresholds(opens_at_rise, closes_at_rise)
    return result(positive("lag_seconds", lag_seconds) * np.log1p((high - low) / low))
