"""NTC thermistor: resistance against temperature by Steinhart and Hart, or by beta.

A beta holds over a narrow span only: one fitted at 25 and 100 degrees Celsius is wrong by some 3 K at -40.
Take Steinhart and Hart where the whole range matters.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, kelvin, numbers, positive, result


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
