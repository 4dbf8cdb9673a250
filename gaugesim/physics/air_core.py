"""Air-core (cross-coil) movement: coil currents to field, field to needle.

Source of the arctangent law: LM1819 data sheet (1995): the needle stands at arctan(H_sin/H_cos), each field
in proportion to its coil's current.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugesim.physics._arguments import FloatArray, not_negative, numbers, result
from gaugesim.physics._curves import between_stops


def field(
    currents: ArrayLike,
    ampere_turns: ArrayLike,
    degrees: ArrayLike,
    rest: tuple[ArrayLike, ArrayLike] = (0.0, 0.0),
) -> tuple[FloatArray, FloatArray]:
    """Field that the coils and the pull-off magnet make at the needle's spindle.

    (x, y) = Σ n_k i_k (cos φ_k, sin φ_k) + rest, over the last axis.

    Parameters
    ----------
    currents : array_like, shape (..., coils)
        Current i_k of each coil [A].
    ampere_turns : array_like, shape (..., coils)
        Turns n_k of each coil; only their ratios matter to the angle [1].
    degrees : array_like, shape (..., coils)
        Axis angle φ_k of each coil [degree].
    rest : tuple of two array_like, shape (...)
        Field of a pull-off magnet or hairspring, ampere-turns in x and y [A].

    Returns
    -------
    x, y : float or array, shape (...)
        The field's two components, in ampere-turns [A].

    Raises
    ------
    ValueError
        If the three arguments disagree in their number of coils.

    Source
    ------
    LM1819 data sheet (1995); superposition of the coils' fields.

    Examples
    --------
    >>> x, y = field([0.04, 0.04], [100, 100], [0, 90])
    >>> round(float(x), 9), round(float(y), 9)
    (4.0, 4.0)
    """
    current, turns, angle = (
        numbers("currents", currents),
        numbers("ampere_turns", ampere_turns),
        np.radians(numbers("degrees", degrees)),
    )
    coils = [array.shape[-1] if array.ndim else 0 for array in (current, turns, angle)]
    if 0 in coils or len(set(coils)) > 1:
        raise ValueError(
            "currents, ampere_turns and degrees must have one entry for each coil on their last axis, "
            f"but they have {coils[0]}, {coils[1]} and {coils[2]}"
        )
    # coil by coil: a sum over a short last axis is slow
    across, up = (
        sum(part[..., k] * current[..., k] for k in range(coils[0]))
        for part in (turns * np.cos(angle), turns * np.sin(angle))
    )
    return result(across + numbers("rest", rest[0])), result(up + numbers("rest", rest[1]))


def needle_degrees(x: ArrayLike, y: ArrayLike) -> FloatArray:
    """Direction in which the field points, and with it a free needle.

    Parameters
    ----------
    x, y : array_like
        Components of the field [A].

    Returns
    -------
    float or array
        Angle above -180 up to 180; not-a-number where there is no field at all [degree].

    Source
    ------
    LM1819 data sheet (1995): θ = arctan(H_sin/H_cos), here over all four quadrants.

    Examples
    --------
    >>> float(needle_degrees(0.0, -2.0))
    -90.0
    """
    across, up = np.broadcast_arrays(numbers("x", x), numbers("y", y))
    angle = np.degrees(np.arctan2(up, across))
    # arctan2 gives -180 for a field along the negative x axis whose y is minus zero
    angle = np.where(angle == -180.0, 180.0, angle)
    return result(np.where((across == 0) & (up == 0), np.nan, angle))


def position(
    degrees: ArrayLike,
    degrees_low: ArrayLike,
    degrees_high: ArrayLike,
    stops: tuple[ArrayLike, ArrayLike],
) -> FloatArray:
    """Needle position on a scale that is linear in angle, between its stops.

    A direction is carried over to the turn nearest the middle of the scale, so the break lies opposite the
    middle; a needle exactly there counts as below the low mark.

    Parameters
    ----------
    degrees : array_like
        Direction of the field, any number of turns; not-a-number stays so [degree].
    degrees_low, degrees_high : array_like
        Angle of the scale's low and of its top mark, at most one turn apart; the scale runs clockwise where
        the top mark has the smaller angle [degree].
    stops : tuple of two array_like
        Position of the low and of the high stop [1].

    Returns
    -------
    float or array
        0 at the low mark, 1 at the top mark, beyond them up to the stops [1].

    Raises
    ------
    ValueError
        If the two marks coincide or are more than a turn apart, or the stops are in the wrong order.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> float(position(0.0, -45.0, 45.0, (-0.1, 1.1)))
    0.5
    >>> float(position(170.0, -45.0, 45.0, (-0.1, 1.1)))
    1.1
    """
    low, high = numbers("degrees_low", degrees_low), numbers("degrees_high", degrees_high)
    span = high - low
    if np.any(span == 0) or np.any(np.abs(span) > 360):
        raise ValueError(
            "degrees_low and degrees_high must differ by more than 0 and at most 360, "
            f"but they are {degrees_low!r} and {degrees_high!r}"
        )
    from_middle = (numbers("degrees", degrees) - (low + high) / 2) * np.sign(span)
    turned = (from_middle + 180.0) % 360.0 - 180.0
    return between_stops(result(0.5 + turned / np.abs(span)), stops)


def is_driven(x: ArrayLike, y: ArrayLike, friction: ArrayLike) -> NDArray[np.bool_]:
    """Whether the field is strong enough to move the needle.

    Parameters
    ----------
    x, y : array_like
        Components of the field [A].
    friction : array_like
        Weakest field that moves the needle; with 0 any field does [A].

    Returns
    -------
    bool or array of bool
        True where the needle follows the field [1].

    Raises
    ------
    ValueError
        If the friction is negative.

    Source
    ------
    Modelling choice: dry friction as one threshold of the field.

    Examples
    --------
    >>> bool(is_driven(0.3, 0.4, 0.5)), bool(is_driven(0.0, 0.0, 0.0))
    (True, False)
    """
    strength = np.hypot(numbers("x", x), numbers("y", y))
    return np.asarray((strength >= not_negative("friction", friction)) & (strength > 0))
