"""Boiling point of water: what a sender in hot water really reaches, and what a capped system allows.

Caution: hot water and steam scald, and a hot cooling system stays closed. A coolant mixture boils higher than
water, so these figures do not say that an engine is safe.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import (
    ABSOLUTE_ZERO_CELSIUS,
    FloatArray,
    between,
    kelvin,
    not_negative,
    result,
)
from gaugesim.physics.constants import (
    EARTH_RADIUS,
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_TEMPERATURE,
    SPECIFIC_GAS_CONSTANT_OF_AIR,
    STANDARD_GRAVITY,
    TEMPERATURE_LAPSE,
)

LOWEST_ALTITUDE, HIGHEST_ALTITUDE = -2000.0, 11000.0
TRIPLE_POINT_PRESSURE, CRITICAL_PRESSURE = 611.212677, 22.064e6
LOWEST_KELVIN, HIGHEST_KELVIN = 273.15, 647.096

_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
"""Coefficients n1 to n10 of region 4. Source: IAPWS R7-97(2012), Table 34."""


def air_pressure(altitude: ArrayLike) -> FloatArray:
    """Pressure of the standard atmosphere.

    p = p₀ (1 − L H/T₀)^(g₀/(R L)), with the geopotential height H = r z/(r + z).

    Parameters
    ----------
    altitude : array_like
        Height z above sea level, from -2000 to 11000 [m].

    Returns
    -------
    float or array
        Pressure [Pa].

    Raises
    ------
    ValueError
        If the altitude is outside the troposphere.

    Source
    ------
    ISO 2533:1975, International Standard Atmosphere.

    Examples
    --------
    >>> round(float(air_pressure(1000.0)), 1)
    89876.3
    """
    height = between("altitude", altitude, LOWEST_ALTITUDE, HIGHEST_ALTITUDE)
    geopotential = EARTH_RADIUS.value * height / (EARTH_RADIUS.value + height)
    lapse = TEMPERATURE_LAPSE.value
    power = STANDARD_GRAVITY.value / (SPECIFIC_GAS_CONSTANT_OF_AIR.value * lapse)
    warmth = 1 - lapse * geopotential / SEA_LEVEL_TEMPERATURE.value
    return result(SEA_LEVEL_PRESSURE.value * warmth**power)


def saturation_pressure(celsius: ArrayLike) -> FloatArray:
    """Pressure at which water boils at a temperature.

    Parameters
    ----------
    celsius : array_like
        Temperature, from 0 to 373.946 [celsius].

    Returns
    -------
    float or array
        Absolute pressure [Pa].

    Raises
    ------
    ValueError
        If the temperature is outside that range.

    Source
    ------
    IAPWS R7-97(2012), equation 30.

    Examples
    --------
    >>> round(float(saturation_pressure(226.85)))
    2638898
    """
    temperature = kelvin("celsius", celsius)
    if not np.all((temperature >= LOWEST_KELVIN) & (temperature <= HIGHEST_KELVIN)):
        raise ValueError(f"celsius must be from 0 to 373.946, where water boils, but {celsius!r} was given")
    theta = temperature + _N[8] / (temperature - _N[9])
    a = theta**2 + _N[0] * theta + _N[1]
    b = _N[2] * theta**2 + _N[3] * theta + _N[4]
    c = _N[5] * theta**2 + _N[6] * theta + _N[7]
    return result(1e6 * (2 * c / (-b + np.sqrt(b**2 - 4 * a * c))) ** 4)


def saturation_celsius(pascals: ArrayLike) -> FloatArray:
    """Temperature at which water boils at a pressure.

    Parameters
    ----------
    pascals : array_like
        Absolute pressure, from 611.213 to 22.064e6 [Pa].

    Returns
    -------
    float or array
        Temperature [celsius].

    Raises
    ------
    ValueError
        If the pressure is outside that range.

    Source
    ------
    IAPWS R7-97(2012), equation 31.

    Examples
    --------
    >>> round(float(saturation_celsius(101325.0)), 3)
    99.974
    """
    root = (between("pascals", pascals, TRIPLE_POINT_PRESSURE, CRITICAL_PRESSURE) / 1e6) ** 0.25
    e = root**2 + _N[2] * root + _N[5]
    f = _N[0] * root**2 + _N[3] * root + _N[6]
    g = _N[1] * root**2 + _N[4] * root + _N[7]
    d = 2 * g / (-f - np.sqrt(f**2 - 4 * e * g))
    temperature = (_N[9] + d - np.sqrt((_N[9] + d) ** 2 - 4 * (_N[8] + _N[9] * d))) / 2
    return result(temperature + ABSOLUTE_ZERO_CELSIUS)


def boiling_celsius(altitude: ArrayLike = 0.0, cap_pressure: ArrayLike = 0.0) -> FloatArray:
    """Temperature at which plain water boils in an open pan, or under a pressure cap.

    Parameters
    ----------
    altitude : array_like
        Height above sea level, from -2000 to 11000 [m].
    cap_pressure : array_like
        Pressure above the surroundings that the cap holds; 0 for an open pan [Pa].

    Returns
    -------
    float or array
        Temperature [celsius].

    Raises
    ------
    ValueError
        If the altitude is outside the troposphere or the cap's pressure negative.

    Source
    ------
    ISO 2533:1975 and IAPWS R7-97(2012).

    Examples
    --------
    >>> round(float(boiling_celsius(1500.0)), 2), round(float(boiling_celsius(cap_pressure=1.0e5)), 2)
    (94.98, 120.42)
    """
    return saturation_celsius(air_pressure(altitude) + not_negative("cap_pressure", cap_pressure))
