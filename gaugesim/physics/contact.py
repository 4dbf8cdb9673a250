"""Electrical contacts: why a sound one is milliohms, and how far an ageing one may have risen.

The constriction and film laws are Holm's. The lognormal ageing at the end is a modelling choice: published
work says that resistance and its scatter grow as a contact degrades (Malucci, Holm Conference 1990), and
that the rise comes with intermittences (IEEE Trans. Components and Packaging Technologies 24(3), 2001,
370–377), but gives no distribution.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, kelvin, not_negative, numbers, positive, result
from gaugesim.physics.constants import LORENZ_NUMBER


def constriction_ohms(spot_radius: ArrayLike, resistivity: ArrayLike) -> FloatArray:
    """Resistance of the current's constriction through one round spot.

    Parameters
    ----------
    spot_radius : array_like
        Radius a of the spot [m].
    resistivity : array_like
        Resistivity ρ of the metal, the same on both sides [ohm.m].

    Returns
    -------
    float or array
        ρ/(2a) [ohm].

    Raises
    ------
    ValueError
        If the radius is not above zero or the resistivity negative.

    Source
    ------
    Holm, Electric Contacts, 4th ed.

    Examples
    --------
    >>> round(float(constriction_ohms(8.6205e-6, 1.7241e-8)) * 1e3, 4)
    1.0
    """
    return result(not_negative("resistivity", resistivity) / (2 * positive("spot_radius", spot_radius)))


def constriction_radius(ohms: ArrayLike, resistivity: ArrayLike) -> FloatArray:
    """Radius of the one clean spot that would have this resistance.

    Parameters
    ----------
    ohms : array_like
        Constriction resistance [ohm].
    resistivity : array_like
        Resistivity of the metal [ohm.m].

    Returns
    -------
    float or array
        Radius of the spot [m].

    Raises
    ------
    ValueError
        If the resistance is not above zero or the resistivity negative.

    Source
    ------
    Holm, Electric Contacts, 4th ed.

    Examples
    --------
    >>> round(float(constriction_radius(1e-3, 1.7241e-8)) * 1e6, 2)
    8.62
    """
    return result(not_negative("resistivity", resistivity) / (2 * positive("ohms", ohms)))


def film_ohms(spot_radius: ArrayLike, film_resistance: ArrayLike) -> FloatArray:
    """Resistance of a film on one round spot, in series with its constriction.

    Parameters
    ----------
    spot_radius : array_like
        Radius a of the spot [m].
    film_resistance : array_like
        Resistance σ of a unit area of the film [ohm.m2].

    Returns
    -------
    float or array
        σ/(π a²) [ohm].

    Raises
    ------
    ValueError
        If the radius is not above zero or the film's resistance negative.

    Source
    ------
    Holm, Electric Contacts, 4th ed.

    Examples
    --------
    >>> round(float(film_ohms(10e-6, 1e-10)), 4)
    0.3183
    """
    area = np.pi * positive("spot_radius", spot_radius) ** 2
    return result(not_negative("film_resistance", film_resistance) / area)


def plastic_contact_ohms(
    newtons: ArrayLike, resistivity: ArrayLike, hardness: ArrayLike, shape: ArrayLike = 1.0
) -> FloatArray:
    """Resistance of a clean contact whose spots have yielded under the contact force.

    R = sqrt(ρ² η π H/(4 F)): four times the force halves it.

    Parameters
    ----------
    newtons : array_like
        Contact force F [N].
    resistivity : array_like
        Resistivity ρ of the metal [ohm.m].
    hardness : array_like
        Hardness H of the softer metal [Pa].
    shape : array_like
        Factor η for the shape and cleanness of the spots; 1 for a clean round one [1].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the force, hardness or shape is not above zero, or the resistivity negative.

    Source
    ------
    Slade (ed.), Electrical Contacts, contact resistance under plastic deformation.

    Examples
    --------
    >>> round(float(plastic_contact_ohms(1.0, 1.7241e-8, 0.9e9)) * 1e3, 3)
    0.458
    """
    pressed = positive("shape", shape) * positive("hardness", hardness) / positive("newtons", newtons)
    return result(not_negative("resistivity", resistivity) * np.sqrt(np.pi * pressed / 4))


def voltage_limit(spot_celsius: ArrayLike, body_celsius: ArrayLike = 20.0) -> FloatArray:
    """Voltage across a clean contact at which its hottest spot reaches a temperature.

    V² = 4 L (T² − T₀²), whatever the spot's size: above it the spot softens or melts and spreads.

    Parameters
    ----------
    spot_celsius : array_like
        Temperature of the spot, for example the metal's melting point [celsius].
    body_celsius : array_like
        Temperature of the rest of the contact [celsius].

    Returns
    -------
    float or array
        Voltage across the contact [V].

    Raises
    ------
    ValueError
        If a temperature is not above absolute zero or the spot is colder than the body.

    Source
    ------
    Holm, Electric Contacts, 4th ed., voltage-temperature relation; Lorenz number 2.45e-8 V²/K².

    Examples
    --------
    Tin melts at 232 degrees Celsius.

    >>> round(float(voltage_limit(231.9)), 3)
    0.129
    """
    spot, body = kelvin("spot_celsius", spot_celsius), kelvin("body_celsius", body_celsius)
    if not np.all(spot >= body):
        raise ValueError("spot_celsius must not be below body_celsius: the spot is the hottest place")
    return result(2 * np.sqrt(LORENZ_NUMBER.value * (spot**2 - body**2)))


def lognormal_ohms(quantile: ArrayLike, median_ohms: ArrayLike, spread: ArrayLike) -> FloatArray:
    """Quantile of a resistance whose logarithm is normally distributed.

    Parameters
    ----------
    quantile : array_like
        Share of contacts that are below the result, between 0 and 1 [1].
    median_ohms : array_like
        Resistance that half of the contacts are below [ohm].
    spread : array_like
        Standard deviation of the natural logarithm [1].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If the quantile is not inside 0 to 1, the median not above zero, or the spread negative.

    Source
    ------
    Modelling choice: no published distribution was found.

    Examples
    --------
    >>> round(float(lognormal_ohms(0.5, 2.0, 1.5)), 9)
    2.0
    """
    from scipy.special import ndtri  # on first use: loading scipy costs more than all of this package

    share = numbers("quantile", quantile)
    if not np.all((share > 0) & (share < 1)):
        raise ValueError(f"quantile must be above 0 and below 1, but {quantile!r} was given")
    score = not_negative("spread", spread) * ndtri(share)
    return result(positive("median_ohms", median_ohms) * np.exp(score))


def aged_ohms(
    quantile: ArrayLike,
    years: ArrayLike,
    new_ohms: ArrayLike,
    doubling_years: ArrayLike,
    new_spread: ArrayLike,
    spread_per_year: ArrayLike,
) -> FloatArray:
    """Quantile of a contact's resistance after years of service: median and scatter both grow.

    Parameters
    ----------
    quantile : array_like
        Share of contacts that are below the result, between 0 and 1 [1].
    years : array_like
        Age of the contact [year].
    new_ohms : array_like
        Median when new [ohm].
    doubling_years : array_like
        Time in which the median doubles [year].
    new_spread : array_like
        Standard deviation of the natural logarithm when new [1].
    spread_per_year : array_like
        What each year adds to it [1/year].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Source
    ------
    Modelling choice; that the variability grows with degradation: Malucci, Holm Conference 1990.

    Examples
    --------
    >>> round(float(aged_ohms(0.5, 20.0, 0.002, 5.0, 0.3, 0.1)), 9)
    0.032
    """
    age = not_negative("years", years)
    median = positive("new_ohms", new_ohms) * 2.0 ** (age / positive("doubling_years", doubling_years))
    spread = not_negative("new_spread", new_spread) + not_negative("spread_per_year", spread_per_year) * age
    return lognormal_ohms(quantile, median, spread)
