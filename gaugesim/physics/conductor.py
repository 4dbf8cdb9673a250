"""Copper conductors: resistance of a wire by length, cross section and temperature."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, kelvin, not_negative, numbers, positive, result
from gaugesim.physics.constants import (
    COPPER_RESISTIVITY,
    COPPER_TEMPERATURE_COEFFICIENT,
    WIRE_GAUGE_36_DIAMETER,
)

REFERENCE_CELSIUS = 20.0


def temperature_factor(celsius: ArrayLike) -> FloatArray:
    """Resistance of copper at a temperature over its resistance at 20 degrees Celsius.

    1 + 0.00393 (t − 20). It is for windings as much as for wires.

    Parameters
    ----------
    celsius : array_like
        Temperature t [celsius].

    Returns
    -------
    float or array
        1 at 20 degrees Celsius [1].

    Raises
    ------
    ValueError
        If a temperature is not above absolute zero, or so low that the straight line ends.

    Source
    ------
    IEC 60028:1925, annealed copper.

    Examples
    --------
    >>> round(float(temperature_factor(60.0)), 4)
    1.1572
    """
    above = kelvin("celsius", celsius) - kelvin("reference", REFERENCE_CELSIUS)
    factor = 1 + COPPER_TEMPERATURE_COEFFICIENT.value * above
    if not np.all(factor > 0):
        raise ValueError("celsius must be above -234, where the straight line for copper ends")
    return result(factor)


def resistivity(celsius: ArrayLike = REFERENCE_CELSIUS) -> FloatArray:
    """Resistivity of annealed copper.

    Parameters
    ----------
    celsius : array_like
        Temperature [celsius].

    Returns
    -------
    float or array
        Resistivity, 1/58 ohm·mm²/m at 20 degrees Celsius [ohm.m].

    Raises
    ------
    ValueError
        If a temperature is not above absolute zero, or so low that the straight line ends.

    Source
    ------
    IEC 60028:1925.

    Examples
    --------
    >>> print(f"{resistivity():.5g}")
    1.7241e-08
    """
    return result(COPPER_RESISTIVITY.value * temperature_factor(celsius))


def wire_ohms(
    length: ArrayLike, square_millimeters: ArrayLike, celsius: ArrayLike = REFERENCE_CELSIUS
) -> FloatArray:
    """Resistance of a copper wire of solid metal.

    A stranded wire of the same nominal cross section has up to 16 % more (IEC 60228 class 5 limits).

    Parameters
    ----------
    length : array_like
        Length [m].
    square_millimeters : array_like
        Cross section of the metal [mm2].
    celsius : array_like
        Temperature of the wire [celsius].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the length is negative, the cross section not above zero, or the temperature too low.

    Source
    ------
    R = ρ l/A with ρ from IEC 60028:1925.

    Examples
    --------
    >>> round(float(wire_ohms(3.0, 0.75)), 4)
    0.069
    """
    area = positive("square_millimeters", square_millimeters) * 1e-6
    return result(resistivity(celsius) * not_negative("length", length) / area)


def american_wire_gauge_diameter(gauge: ArrayLike) -> FloatArray:
    """Diameter of a solid wire by its American Wire Gauge number.

    d = 0.127 mm · 92^((36 − n)/39).

    Parameters
    ----------
    gauge : array_like
        Gauge number n; 0 for 1/0, -1 for 2/0 and so on [1].

    Returns
    -------
    float or array
        Diameter [m].

    Source
    ------
    ASTM B258.

    Examples
    --------
    >>> round(float(american_wire_gauge_diameter(18)) * 1000, 3)
    1.024
    """
    return result(WIRE_GAUGE_36_DIAMETER.value * 92.0 ** ((36.0 - numbers("gauge", gauge)) / 39.0))


def american_wire_gauge_square_millimeters(gauge: ArrayLike) -> FloatArray:
    """Cross section of a wire by its American Wire Gauge number.

    Parameters
    ----------
    gauge : array_like
        Gauge number; 0 for 1/0, -1 for 2/0 and so on [1].

    Returns
    -------
    float or array
        Cross section [mm2].

    Source
    ------
    ASTM B258.

    Examples
    --------
    >>> round(float(american_wire_gauge_square_millimeters(18)), 3)
    0.823
    """
    return result(np.pi / 4 * (american_wire_gauge_diameter(gauge) * 1e3) ** 2)
