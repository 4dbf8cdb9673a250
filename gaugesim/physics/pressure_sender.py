"""Resistive pressure sender: straight, bowed, or by table."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, not_negative, numbers, positive, result
from gaugesim.physics._curves import held, share, swapped, table

TEN_BAR_POINTS: tuple[tuple[float, float], ...] = ((0.0, 10.0), (5.0, 107.0), (10.0, 184.0))
"""Pressure [bar] and resistance [ohm] of the common 0 to 10 bar sender. Source: a user's report (withheld,
unverifiable); it adds that the sender is not exactly linear."""

TEN_BAR_TABLE_FROM_MEMORY: tuple[tuple[float, float], ...] = (
    (0.0, 10.0), (1.0, 31.0), (2.0, 52.0), (3.0, 71.0), (4.0, 90.0), (5.0, 107.0),
    (6.0, 124.0), (7.0, 140.0), (8.0, 155.0), (9.0, 170.0), (10.0, 184.0),
)  # fmt: skip
"""The same sender in full, from memory: only the three values of `TEN_BAR_POINTS` have been seen."""


def linear_ohms(
    bar: ArrayLike, zero_ohms: ArrayLike, full_ohms: ArrayLike, full_bar: ArrayLike
) -> FloatArray:
    """Resistance of a sender that is linear in the pressure, held at its ends.

    Parameters
    ----------
    bar : array_like
        Pressure above the surroundings [bar].
    zero_ohms, full_ohms : array_like
        Resistance at no pressure and at full pressure; either may be the lower [ohm].
    full_bar : array_like
        Full pressure [bar].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If a pressure or a resistance is negative, or full pressure is not above zero.

    Source
    ------
    Straight line.

    Examples
    --------
    >>> float(linear_ohms(5.0, 10.0, 184.0, 10.0))
    97.0
    """
    return bowed_ohms(bar, zero_ohms, full_ohms, full_bar, 0.0)


def bowed_ohms(
    bar: ArrayLike, zero_ohms: ArrayLike, full_ohms: ArrayLike, full_bar: ArrayLike, bow_ohms: ArrayLike
) -> FloatArray:
    """Resistance of a sender that bows away from the straight line as a parabola, held at its ends.

    Parameters
    ----------
    bar : array_like
        Pressure above the surroundings [bar].
    zero_ohms, full_ohms : array_like
        Resistance at no pressure and at full pressure [ohm].
    full_bar : array_like
        Full pressure [bar].
    bow_ohms : array_like
        How far the resistance at half pressure is above the straight line [ohm].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If a pressure or a resistance is negative, full pressure is not above zero, or the bow is so
        large that the curve turns back.

    Source
    ------
    Parabola through the three values of `TEN_BAR_POINTS`, where the bow is 10 ohm.

    Examples
    --------
    >>> float(bowed_ohms(5.0, 10.0, 184.0, 10.0, 10.0))
    107.0
    """
    zero, full, bow = _bowed(zero_ohms, full_ohms, bow_ohms)
    part = np.minimum(not_negative("bar", bar) / positive("full_bar", full_bar), 1.0)
    return result((1 - part) * zero + part * full + 4 * bow * part * (1 - part))


def bowed_bar(
    ohms: ArrayLike, zero_ohms: ArrayLike, full_ohms: ArrayLike, full_bar: ArrayLike, bow_ohms: ArrayLike
) -> FloatArray:
    """Pressure that a sender's resistance stands for: the inverse of `bowed_ohms`.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    zero_ohms, full_ohms : array_like
        Resistance at no pressure and at full pressure [ohm].
    full_bar : array_like
        Full pressure [bar].
    bow_ohms : array_like
        How far the resistance at half pressure is above the straight line; 0 for a linear sender [ohm].

    Returns
    -------
    float or array
        Pressure, held at 0 and at full pressure [bar].

    Raises
    ------
    ValueError
        If a resistance is negative, the two ends are equal, or the bow turns the curve back.

    Source
    ------
    Root of the parabola, in the form that also holds without a bow.

    Examples
    --------
    >>> round(float(bowed_bar(107.0, 10.0, 184.0, 10.0, 10.0)), 9)
    5.0
    """
    zero, full, bow = _bowed(zero_ohms, full_ohms, bow_ohms)
    line = np.clip(share(not_negative("ohms", ohms), zero, full, "zero_ohms", "full_ohms"), 0.0, 1.0)
    # line = p + curve·p·(1 − p), solved for p
    curve = 4 * bow / (full - zero)
    part = 2 * line / (1 + curve + np.sqrt((1 + curve) ** 2 - 4 * curve * line))
    return result(part * positive("full_bar", full_bar))


def _bowed(
    zero_ohms: ArrayLike, full_ohms: ArrayLike, bow_ohms: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    zero, full = not_negative("zero_ohms", zero_ohms), not_negative("full_ohms", full_ohms)
    bow = numbers("bow_ohms", bow_ohms)
    if np.any(4 * np.abs(bow) >= np.abs(full - zero)) and np.any(bow != 0):
        raise ValueError(
            "bow_ohms must be less than a quarter of the span from zero_ohms to full_ohms, "
            f"or the curve turns back, but {bow_ohms!r} was given"
        )
    return zero, full, bow


def table_ohms(bar: ArrayLike, bar_points: ArrayLike, ohms_points: ArrayLike) -> FloatArray:
    """Resistance of a sender given as a table; straight between points, held beyond the ends.

    Parameters
    ----------
    bar : array_like
        Pressure above the surroundings [bar].
    bar_points : array_like, shape (points,)
        Pressures of the table, in any order [bar].
    ohms_points : array_like, shape (points,)
        Resistance at each [ohm].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If a pressure or resistance is negative, or the table is too short or repeats a pressure.

    Source
    ------
    Linear interpolation.

    Examples
    --------
    >>> float(table_ohms(2.5, *zip(*TEN_BAR_POINTS)))
    58.5
    """
    points = table("bar_points", bar_points, "ohms_points", not_negative("ohms_points", ohms_points))
    return held(not_negative("bar", bar), *points)


def table_bar(ohms: ArrayLike, bar_points: ArrayLike, ohms_points: ArrayLike) -> FloatArray:
    """Pressure that a tabulated sender's resistance stands for: the inverse of `table_ohms`.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    bar_points : array_like, shape (points,)
        Pressures of the table, in any order [bar].
    ohms_points : array_like, shape (points,)
        Resistance at each, only rising or only falling [ohm].

    Returns
    -------
    float or array
        Pressure, held at the ends of the table [bar].

    Raises
    ------
    ValueError
        If a resistance is negative or the table is too short, repeats or turns back.

    Source
    ------
    Linear interpolation.

    Examples
    --------
    >>> float(table_bar(58.5, *zip(*TEN_BAR_POINTS)))
    2.5
    """
    points = table(
        "bar_points", bar_points, "ohms_points", not_negative("ohms_points", ohms_points), invertible=True
    )
    return held(not_negative("ohms", ohms), *swapped(*points))
