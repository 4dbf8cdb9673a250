"""Float sender: level to resistance, through the track and the arm.

Caution: a fuel sender is worked on with no spark and no vapor about, by the maker's procedure and
local rules.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, fraction, not_negative, numbers, positive, result
from gaugesim.physics._curves import held, share, swapped, table


def linear_ohms(level: ArrayLike, empty_ohms: ArrayLike, full_ohms: ArrayLike) -> FloatArray:
    """Resistance of a sender that is linear in the level.

    Parameters
    ----------
    level : array_like
        Level from 0 (empty) to 1 (full) [1].
    empty_ohms, full_ohms : array_like
        Resistance at empty and at full; either may be the lower [ohm].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the level is outside 0 to 1 or a resistance is negative.

    Source
    ------
    Straight line.

    Examples
    --------
    >>> float(linear_ohms(0.25, 240.0, 33.0))
    188.25
    """
    empty, full = not_negative("empty_ohms", empty_ohms), not_negative("full_ohms", full_ohms)
    height = fraction("level", level)
    return result((1 - height) * empty + height * full)


def linear_level(ohms: ArrayLike, empty_ohms: ArrayLike, full_ohms: ArrayLike) -> FloatArray:
    """Level that a linear sender's resistance stands for.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    empty_ohms, full_ohms : array_like
        Resistance at empty and at full [ohm].

    Returns
    -------
    float or array
        Level; outside 0 to 1 where the resistance is outside the sender's range [1].

    Raises
    ------
    ValueError
        If the two ends have the same resistance or a resistance is negative.

    Source
    ------
    Straight line.

    Examples
    --------
    >>> float(linear_level(188.25, 240.0, 33.0))
    0.25
    """
    empty, full = not_negative("empty_ohms", empty_ohms), not_negative("full_ohms", full_ohms)
    return share(not_negative("ohms", ohms), empty, full, "empty_ohms", "full_ohms")


def table_ohms(level: ArrayLike, level_points: ArrayLike, ohms_points: ArrayLike) -> FloatArray:
    """Resistance of a sender given as a table; straight between points, held beyond the ends.

    Parameters
    ----------
    level : array_like
        Level from 0 (empty) to 1 (full) [1].
    level_points : array_like, shape (points,)
        Levels of the table, in any order [1].
    ohms_points : array_like, shape (points,)
        Resistance at each [ohm].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the level is outside 0 to 1, a resistance is negative, or the table is too short or
        repeats a level.

    Source
    ------
    Linear interpolation.

    Examples
    --------
    >>> float(table_ohms(0.25, [0.0, 0.5, 1.0], [0.0, 40.0, 90.0]))
    20.0
    """
    points = table("level_points", level_points, "ohms_points", not_negative("ohms_points", ohms_points))
    return held(fraction("level", level), *points)


def table_level(ohms: ArrayLike, level_points: ArrayLike, ohms_points: ArrayLike) -> FloatArray:
    """Level that a tabulated sender's resistance stands for: the inverse of `table_ohms`.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    level_points : array_like, shape (points,)
        Levels of the table, in any order [1].
    ohms_points : array_like, shape (points,)
        Resistance at each, only rising or only falling [ohm].

    Returns
    -------
    float or array
        Level, held at the ends of the table [1].

    Raises
    ------
    ValueError
        If a resistance is negative or the table is too short, repeats or turns back.

    Source
    ------
    Linear interpolation.

    Examples
    --------
    >>> float(table_level(20.0, [0.0, 0.5, 1.0], [0.0, 40.0, 90.0]))
    0.25
    """
    points = table(
        "level_points", level_points, "ohms_points", not_negative("ohms_points", ohms_points), invertible=True
    )
    return held(not_negative("ohms", ohms), *swapped(*points))


def stepped_ohms(level: ArrayLike, step_levels: ArrayLike, step_ohms: ArrayLike) -> FloatArray:
    """Resistance of a sender whose track has steps, one resistance for each band of the level.

    Parameters
    ----------
    level : array_like
        Level, or float height in the unit of `step_levels` [1].
    step_levels : array_like, shape (steps - 1,)
        Levels at which the resistance changes, rising; the level itself belongs to the band above [1].
    step_ohms : array_like, shape (steps,)
        Resistance of each band from the lowest level up [ohm].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the levels do not rise, there is not one resistance more than there are levels, or one is negative.

    Source
    ------
    A wiper that bridges taps of the track.

    Examples
    --------
    >>> stepped_ohms([0.2, 0.5, 0.9], [1 / 3, 2 / 3], [90.0, 45.0, 0.0]).tolist()
    [90.0, 45.0, 0.0]
    """
    edges, ohms = numbers("step_levels", step_levels), not_negative("step_ohms", step_ohms)
    if edges.ndim != 1 or ohms.shape != (edges.size + 1,) or np.any(np.diff(edges) <= 0):
        raise ValueError("step_levels must rise, and step_ohms must have one entry more than step_levels")
    return result(ohms[np.searchsorted(edges, numbers("level", level), side="right")])


def arm_ohms(
    height: ArrayLike,
    pivot_height: ArrayLike,
    arm_length: ArrayLike,
    pivot_ohms: ArrayLike,
    ohms_per_radian: ArrayLike,
) -> FloatArray:
    """Resistance of a swinging-arm sender whose track is linear in the arm's angle.

    h = h₀ + L sin φ, so R(h) = R₀ + k·asin((h − h₀)/L).

    Parameters
    ----------
    height : array_like
        Height h of the float; beyond the arm's reach it stays straight up or down [m].
    pivot_height : array_like
        Height h₀ of the arm's pivot [m].
    arm_length : array_like
        Length L of the arm from pivot to float [m].
    pivot_ohms : array_like
        Resistance R₀ with the arm level [ohm].
    ohms_per_radian : array_like
        Change k of the resistance as the arm rises; negative where it falls [ohm/rad].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the arm's length is not above zero.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> round(float(arm_ohms(0.25, 0.15, 0.2, 45.0, -60.0)), 3)
    13.584
    """
    rise = (numbers("height", height) - numbers("pivot_height", pivot_height)) / positive(
        "arm_length", arm_length
    )
    angle = np.arcsin(np.clip(rise, -1.0, 1.0))
    return result(numbers("pivot_ohms", pivot_ohms) + numbers("ohms_per_radian", ohms_per_radian) * angle)


def arm_height(
    ohms: ArrayLike,
    pivot_height: ArrayLike,
    arm_length: ArrayLike,
    pivot_ohms: ArrayLike,
    ohms_per_radian: ArrayLike,
) -> FloatArray:
    """Float height that a swinging-arm sender's resistance stands for: the inverse of `arm_ohms`.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    pivot_height : array_like
        Height of the arm's pivot [m].
    arm_length : array_like
        Length of the arm from pivot to float [m].
    pivot_ohms : array_like
        Resistance with the arm level [ohm].
    ohms_per_radian : array_like
        Change of the resistance as the arm rises, not zero [ohm/rad].

    Returns
    -------
    float or array
        Height of the float [m].

    Raises
    ------
    ValueError
        If the arm's length is not above zero, the change is zero, or the resistance is beyond a quarter turn.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> round(float(arm_height(13.584, 0.15, 0.2, 45.0, -60.0)), 3)
    0.25
    """
    change = numbers("ohms_per_radian", ohms_per_radian)
    if np.any(change == 0):
        raise ValueError("ohms_per_radian must not be zero, or the resistance says nothing about the height")
    angle = (numbers("ohms", ohms) - numbers("pivot_ohms", pivot_ohms)) / change
    # The last digits of a quarter turn are rounding, not a reading beyond it.
    if not np.all(np.abs(angle) <= np.pi / 2 * (1 + 1e-12)):
        raise ValueError("ohms is more than a quarter turn of the arm away from pivot_ohms")
    return result(numbers("pivot_height", pivot_height) + positive("arm_length", arm_length) * np.sin(angle))


def with_dead_spot(
    ohms: ArrayLike,
    level: ArrayLike,
    dead_low: ArrayLike,
    dead_high: ArrayLike,
    dead_ohms: ArrayLike = np.inf,
) -> FloatArray:
    """Resistance of a track that is worn away over a stretch of the level.

    Parameters
    ----------
    ohms : array_like
        Resistance of the sound track at that level [ohm].
    level : array_like
        Level [1].
    dead_low, dead_high : array_like
        Ends of the worn stretch, both belonging to it [1].
    dead_ohms : array_like
        Resistance on the worn stretch; inf where the wiper touches nothing [ohm].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the ends are in the wrong order or a resistance is negative.

    Source
    ------
    Modelling choice: a worn stretch replaces the track.

    Examples
    --------
    >>> with_dead_spot([30.0, 45.0, 60.0], [0.3, 0.5, 0.7], 0.45, 0.55).tolist()
    [30.0, inf, 60.0]
    """
    low, high = numbers("dead_low", dead_low), numbers("dead_high", dead_high)
    if not np.all(low <= high):
        raise ValueError(f"dead_low must not be above dead_high, but they are {dead_low!r} and {dead_high!r}")
    at = numbers("level", level)
    worn = not_negative("dead_ohms", dead_ohms)
    return result(np.where((at >= low) & (at <= high), worn, not_negative("ohms", ohms)))
