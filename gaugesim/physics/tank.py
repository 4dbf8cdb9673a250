"""Shape of a tank: height of the liquid against the share of the tank that is full."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, fraction, not_negative, numbers, positive, result
from gaugesim.physics._curves import held, swapped, table


def _within(height: ArrayLike, top_name: str, top: ArrayLike) -> FloatArray:
    """Height as a share of the tank's height, refused outside the tank."""
    level, highest = not_negative("height", height), positive(top_name, top)
    if not np.all(level <= highest):
        raise ValueError(f"height must be at most {top_name}, but {height!r} is above {top!r}")
    return level / highest


def box_fraction(height: ArrayLike, tank_height: ArrayLike) -> FloatArray:
    """Share of an upright box or cylinder that is full.

    Parameters
    ----------
    height : array_like
        Height of the liquid [m].
    tank_height : array_like
        Height of the tank [m].

    Returns
    -------
    float or array
        From 0 to 1 [1].

    Raises
    ------
    ValueError
        If the height is outside the tank.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> float(box_fraction(0.1, 0.4))
    0.25
    """
    return result(_within(height, "tank_height", tank_height))


def box_height(full: ArrayLike, tank_height: ArrayLike) -> FloatArray:
    """Height of the liquid in an upright box or cylinder.

    Parameters
    ----------
    full : array_like
        Share of the tank that is full [1].
    tank_height : array_like
        Height of the tank [m].

    Returns
    -------
    float or array
        Height of the liquid [m].

    Raises
    ------
    ValueError
        If the share is outside 0 to 1 or the tank's height not above zero.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> round(float(box_height(0.25, 0.4)), 9)
    0.1
    """
    return result(fraction("full", full) * positive("tank_height", tank_height))


def horizontal_cylinder_fraction(height: ArrayLike, diameter: ArrayLike) -> FloatArray:
    """Share of a lying cylinder with flat ends that is full.

    (ψ − sin ψ)/2π with the wetted angle ψ = 2 acos(1 − 2h/D).

    Parameters
    ----------
    height : array_like
        Height h of the liquid [m].
    diameter : array_like
        Diameter D of the tank [m].

    Returns
    -------
    float or array
        From 0 to 1 [1].

    Raises
    ------
    ValueError
        If the height is outside the tank.

    Source
    ------
    Area of a circular segment.

    Examples
    --------
    >>> round(float(horizontal_cylinder_fraction(0.25, 1.0)), 6)
    0.195501
    """
    # asin of the root keeps the digits of a nearly empty tank, where 1 − 2h/D loses them
    angle = 4 * np.arcsin(np.sqrt(_within(height, "diameter", diameter)))
    return result((angle - np.sin(angle)) / (2 * np.pi))


def horizontal_cylinder_height(full: ArrayLike, diameter: ArrayLike) -> FloatArray:
    """Height of the liquid in a lying cylinder with flat ends.

    Parameters
    ----------
    full : array_like
        Share of the tank that is full [1].
    diameter : array_like
        Diameter of the tank [m].

    Returns
    -------
    float or array
        Height of the liquid [m].

    Raises
    ------
    ValueError
        If the share is outside 0 to 1 or the diameter not above zero.

    Source
    ------
    Area of a circular segment, its wetted angle found by halving an interval.

    Examples
    --------
    >>> round(float(horizontal_cylinder_height(0.195501, 1.0)), 5)
    0.25
    """
    share = fraction("full", full)
    # The emptier half keeps its digits; the fuller half mirrors it.
    area = 2 * np.pi * np.minimum(share, 1 - share)
    low, high = np.zeros_like(area), np.full_like(area, np.pi)
    for _ in range(60):
        middle = (low + high) / 2
        too_low = middle - np.sin(middle) < area
        low, high = np.where(too_low, middle, low), np.where(too_low, high, middle)
    height = np.sin((low + high) / 8) ** 2
    return result(positive("diameter", diameter) * np.where(share > 0.5, 1 - height, height))


def table_fraction(height: ArrayLike, height_points: ArrayLike, full_points: ArrayLike) -> FloatArray:
    """Share of a tank of any shape that is full, from its dip table.

    Parameters
    ----------
    height : array_like
        Height of the liquid; beyond the table its end holds [m].
    height_points : array_like, shape (points,)
        Heights of the table [m].
    full_points : array_like, shape (points,)
        Share full at each height, rising [1].

    Returns
    -------
    float or array
        From 0 to 1 [1].

    Raises
    ------
    ValueError
        If a share is outside 0 to 1 or the table is too short, repeats or turns back.

    Source
    ------
    Linear interpolation.

    Examples
    --------
    >>> float(table_fraction(0.15, [0.0, 0.1, 0.2], [0.0, 0.5, 1.0]))
    0.75
    """
    return held(numbers("height", height), *_dip_table(height_points, full_points))


def table_height(full: ArrayLike, height_points: ArrayLike, full_points: ArrayLike) -> FloatArray:
    """Height of the liquid in a tank of any shape, from its dip table.

    Parameters
    ----------
    full : array_like
        Share of the tank that is full [1].
    height_points : array_like, shape (points,)
        Heights of the table [m].
    full_points : array_like, shape (points,)
        Share full at each height, rising [1].

    Returns
    -------
    float or array
        Height of the liquid [m].

    Raises
    ------
    ValueError
        If a share is outside 0 to 1 or the table is too short, repeats or turns back.

    Source
    ------
    Linear interpolation.

    Examples
    --------
    >>> round(float(table_height(0.75, [0.0, 0.1, 0.2], [0.0, 0.5, 1.0])), 9)
    0.15
    """
    return held(fraction("full", full), *swapped(*_dip_table(height_points, full_points)))


def _dip_table(height_points: ArrayLike, full_points: ArrayLike) -> tuple[FloatArray, FloatArray]:
    heights, full = table(
        "height_points", height_points, "full_points", fraction("full_points", full_points), invertible=True
    )
    if full[-1] < full[0]:
        raise ValueError("full_points must rise with height_points")
    return heights, full
