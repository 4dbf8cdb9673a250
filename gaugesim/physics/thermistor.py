"""NTC thermistor: resistance against temperature by Steinhart and Hart, by beta, or by table.

A beta holds over a narrow span only: one fitted at 25 and 100 degrees Celsius is wrong by some 3 K at -40.
Take Steinhart and Hart, or the table, where the whole range matters.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import ABSOLUTE_ZERO_CELSIUS, FloatArray, kelvin, numbers, positive, result
from gaugesim.physics._curves import extended, swapped, table


def steinhart_hart_celsius(ohms: ArrayLike, a: ArrayLike, b: ArrayLike, c: ArrayLike) -> FloatArray:
    """Temperature of a thermistor from its resistance.

    1/T = A + B ln R + C (ln R)³.

    Parameters
    ----------
    ohms : array_like
        Resistance R [ohm].
    a, b, c : array_like
        Coefficients A, B, C for R in ohms [1/K].

    Returns
    -------
    float or array
        Temperature [celsius].

    Raises
    ------
    ValueError
        If a resistance is not above zero, or the coefficients give no temperature above absolute zero.

    Source
    ------
    Steinhart & Hart, Deep-Sea Research 15 (1968) 497–503.

    Examples
    --------
    >>> round(float(steinhart_hart_celsius(10000.0, 8.402250578e-4, 2.5963477648e-4, 1.5674403474e-7)), 3)
    25.0
    """
    logarithm = np.log(positive("ohms", ohms))
    inverse = numbers("a", a) + logarithm * (numbers("b", b) + numbers("c", c) * logarithm**2)
    if not np.all(inverse > 0):
        raise ValueError(
            "ohms and the coefficients a, b, c must give a temperature above absolute zero; "
            "are the coefficients meant for ohms, and the resistance given in ohms?"
        )
    return result(1 / inverse + ABSOLUTE_ZERO_CELSIUS)


def steinhart_hart_ohms(celsius: ArrayLike, a: ArrayLike, b: ArrayLike, c: ArrayLike) -> FloatArray:
    """Resistance of a thermistor at a temperature: Steinhart and Hart solved for R.

    Parameters
    ----------
    celsius : array_like
        Temperature [celsius].
    a, b, c : array_like
        Coefficients A, B, C for R in ohms; B above zero; a C below zero is taken up to where the
        curve turns [1/K].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If B is not above zero, a temperature is not above absolute zero, or the curve turns before it.

    Source
    ------
    Steinhart & Hart, Deep-Sea Research 15 (1968) 497–503; the cubic's one root that falls with temperature.

    Examples
    --------
    >>> round(float(steinhart_hart_ohms(25.0, 8.402250578e-4, 2.5963477648e-4, 1.5674403474e-7)))
    10000
    """
    slope, cube = positive("b", b), numbers("c", c)
    # x = ln R solves c x³ + b x = q. With s = sqrt(4b/(3|c|)) and depth d = 3q/(bs) it is s sinh(asinh(d)/3)
    # for c > 0 and s sin(asin(d)/3) for c < 0.
    q = 1 / kelvin("celsius", celsius) - numbers("a", a)
    curved = cube != 0
    size = np.sqrt(4 * slope / (3 * np.where(curved, np.abs(cube), 1.0)))
    depth = 3 * q / (slope * size)
    if np.any((cube < 0) & (np.abs(depth) > 1)):
        raise ValueError("c is below zero and the curve turns back before one of the temperatures in celsius")
    bent_up = size * np.sinh(np.arcsinh(depth) / 3)
    bent_down = size * np.sin(np.arcsin(np.clip(depth, -1, 1)) / 3)
    return result(np.exp(np.where(curved, np.where(cube > 0, bent_up, bent_down), q / slope)))


def steinhart_hart_from_points(celsius: ArrayLike, ohms: ArrayLike) -> tuple[float, float, float]:
    """Steinhart and Hart coefficients from measured points.

    Three points are met exactly; more are fitted with least squares in 1/T.

    Parameters
    ----------
    celsius : array_like, shape (points,)
        Temperatures [celsius].
    ohms : array_like, shape (points,)
        Resistance at each [ohm].

    Returns
    -------
    a, b, c : float
        Coefficients for R in ohms [1/K].

    Raises
    ------
    ValueError
        If there are fewer than three points with different resistances, or a value is out of its range.

    Source
    ------
    Steinhart & Hart, Deep-Sea Research 15 (1968) 497–503.

    Examples
    --------
    >>> a, b, c = steinhart_hart_from_points([0.0, 25.0, 50.0], [27445.0, 10000.0, 4160.0])
    >>> print(f"{a:.6e} {b:.6e} {c:.6e}")
    8.402251e-04 2.596348e-04 1.567440e-07
    """
    temperature, resistance = kelvin("celsius", celsius), positive("ohms", ohms)
    if resistance.ndim != 1 or resistance.shape != temperature.shape or np.unique(resistance).size < 3:
        raise ValueError(
            "celsius and ohms must be two lists of the same length with three or more different resistances; "
            "for two points use beta_from_points"
        )
    logarithm = np.log(resistance)
    # Centered and scaled, or the cubes of the logarithms drown the rest in rounding.
    middle, width = logarithm.mean(), np.ptp(logarithm)
    scaled = (logarithm - middle) / width
    # (ln R)³ in terms of s = scaled; the basis 1, ln R, (ln R)³ spans no plain s².
    basis = np.stack([np.ones_like(scaled), scaled, scaled**3 + 3 * (middle / width) * scaled**2], axis=1)
    size = np.linalg.norm(basis, axis=0)
    factors = np.linalg.lstsq(basis / size, 1 / temperature, rcond=None)[0] / size
    c = factors[2] / width**3
    b = factors[1] / width - 3 * c * middle**2
    a = factors[0] - b * middle - c * middle**3
    return float(a), float(b), float(c)


def beta_ohms(
    celsius: ArrayLike, ohms_reference: ArrayLike, celsius_reference: ArrayLike, beta: ArrayLike
) -> FloatArray:
    """Resistance of a thermistor from its beta.

    R = R₀ exp[B (1/T − 1/T₀)].

    Parameters
    ----------
    celsius : array_like
        Temperature [celsius].
    ohms_reference : array_like
        Resistance R₀ at the reference temperature [ohm].
    celsius_reference : array_like
        Reference temperature [celsius].
    beta : array_like
        Material constant B [K].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If a temperature is not above absolute zero, or the resistance or beta is not above zero.

    Source
    ------
    IEC 60539-1, B-value.

    Examples
    --------
    >>> round(float(beta_ohms(100.0, 2044.0, 25.0, 3640.0)), 1)
    175.7
    """
    inverse = 1 / kelvin("celsius", celsius) - 1 / kelvin("celsius_reference", celsius_reference)
    return result(positive("ohms_reference", ohms_reference) * np.exp(positive("beta", beta) * inverse))


def beta_celsius(
    ohms: ArrayLike, ohms_reference: ArrayLike, celsius_reference: ArrayLike, beta: ArrayLike
) -> FloatArray:
    """Temperature of a thermistor from its beta.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    ohms_reference : array_like
        Resistance at the reference temperature [ohm].
    celsius_reference : array_like
        Reference temperature [celsius].
    beta : array_like
        Material constant B [K].

    Returns
    -------
    float or array
        Temperature [celsius].

    Raises
    ------
    ValueError
        If a value is not above zero, or the resistance is too low for any temperature.

    Source
    ------
    IEC 60539-1, B-value.

    Examples
    --------
    >>> round(float(beta_celsius(175.7, 2044.0, 25.0, 3640.0)), 1)
    100.0
    """
    change = np.log(positive("ohms", ohms) / positive("ohms_reference", ohms_reference))
    inverse = 1 / kelvin("celsius_reference", celsius_reference) + change / positive("beta", beta)
    if not np.all(inverse > 0):
        raise ValueError("ohms is so low that this beta gives it no temperature at all; check the units")
    return result(1 / inverse + ABSOLUTE_ZERO_CELSIUS)


def beta_from_points(
    celsius_first: ArrayLike, ohms_first: ArrayLike, celsius_second: ArrayLike, ohms_second: ArrayLike
) -> FloatArray:
    """Beta from two measured points.

    B = ln(R₁/R₂)/(1/T₁ − 1/T₂).

    Parameters
    ----------
    celsius_first : array_like
        One temperature [celsius].
    ohms_first : array_like
        Resistance at it [ohm].
    celsius_second : array_like
        Another temperature [celsius].
    ohms_second : array_like
        Resistance at that one [ohm].

    Returns
    -------
    float or array
        Material constant B [K].

    Raises
    ------
    ValueError
        If the two temperatures are equal or a value is out of its range.

    Source
    ------
    IEC 60539-1, B-value.

    Examples
    --------
    >>> round(float(beta_from_points(25.0, 2044.0, 50.0, 806.9)))
    3582
    """
    first, second = kelvin("celsius_first", celsius_first), kelvin("celsius_second", celsius_second)
    if np.any(first == second):
        raise ValueError("celsius_first and celsius_second must differ, or there is no beta between them")
    change = np.log(positive("ohms_first", ohms_first) / positive("ohms_second", ohms_second))
    return result(change / (1 / first - 1 / second))


def _inverse_table(celsius_points: ArrayLike, ohms_points: ArrayLike) -> tuple[FloatArray, FloatArray]:
    return table(
        "celsius_points",
        1 / kelvin("celsius_points", celsius_points),
        "ohms_points",
        np.log(positive("ohms_points", ohms_points)),
        invertible=True,
    )


def table_ohms(celsius: ArrayLike, celsius_points: ArrayLike, ohms_points: ArrayLike) -> FloatArray:
    """Resistance from a table, between whose points ln R is a straight line in 1/T.

    Beyond the table its first or last stretch goes on.

    Parameters
    ----------
    celsius : array_like
        Temperature [celsius].
    celsius_points : array_like, shape (points,)
        Temperatures of the table, in any order [celsius].
    ohms_points : array_like, shape (points,)
        Resistance at each, only rising or only falling [ohm].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the table has fewer than two points, repeats or turns back, or a value is out of its range.

    Source
    ------
    IEC 60539-1: between two points a thermistor follows its own B-value.

    Examples
    --------
    >>> round(float(table_ohms(25.0, [20.0, 30.0], [2502.0, 1679.0])))
    2043
    """
    inverse, logarithm = _inverse_table(celsius_points, ohms_points)
    return result(np.exp(extended(1 / kelvin("celsius", celsius), inverse, logarithm)))


def table_celsius(ohms: ArrayLike, celsius_points: ArrayLike, ohms_points: ArrayLike) -> FloatArray:
    """Temperature from a table: the inverse of `table_ohms`.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    celsius_points : array_like, shape (points,)
        Temperatures of the table, in any order [celsius].
    ohms_points : array_like, shape (points,)
        Resistance at each, only rising or only falling [ohm].

    Returns
    -------
    float or array
        Temperature [celsius].

    Raises
    ------
    ValueError
        If the table has fewer than two points, repeats or turns back, or a resistance is so far
        beyond it that no temperature is left.

    Source
    ------
    IEC 60539-1: between two points a thermistor follows its own B-value.

    Examples
    --------
    >>> round(float(table_celsius(2043.0, [20.0, 30.0], [2502.0, 1679.0])), 1)
    25.0
    """
    points = swapped(*_inverse_table(celsius_points, ohms_points))
    inverse = extended(np.log(positive("ohms", ohms)), *points)
    if not np.all(inverse > 0):
        raise ValueError("ohms is so far beyond the table that no temperature is left; check the units")
    return result(1 / inverse + ABSOLUTE_ZERO_CELSIUS)
