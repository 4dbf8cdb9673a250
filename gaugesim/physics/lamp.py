"""Filament lamp: panel lamps and the test lamp, whose resistance rises about tenfold when lit.

(R/R_rated)^m = c^m + (1 − c^m)(V/V_rated)², with m = 2/e: c at no voltage, 1 at the rated voltage, and nearly
(V/V_rated)^e in between. It is the filament's heat balance with radiation and resistance both as powers of
the temperature, so it is smooth, and the current always rises with the voltage.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugesim.physics._arguments import FloatArray, between, numbers, positive, result
from gaugesim.physics.constants import (
    FILAMENT_COLD_FRACTION,
    FILAMENT_EXPONENT,
    LAMP_BRIGHT_FRACTION,
    LAMP_OUT_FRACTION,
)

_STEPS = 60


def _relative_ohms(
    volts: FloatArray, rated_volts: FloatArray, cold: FloatArray, power: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """R/R_rated, and its elasticity d ln R/d ln V."""
    cold_part = cold**power
    lit_part = (1 - cold_part) * (volts / rated_volts) ** 2
    total = cold_part + lit_part
    return total ** (1 / power), 2 / power * lit_part / total


def _checked(
    rated_volts: ArrayLike, rated_watts: ArrayLike, cold_fraction: ArrayLike, exponent: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Rated volts, rated ohms, cold fraction, and the power m = 2/e."""
    rated = positive("rated_volts", rated_volts)
    cold = between("cold_fraction", positive("cold_fraction", cold_fraction), 0.0, 1.0)
    steepness = between("exponent", positive("exponent", exponent), 0.0, 0.5)
    return rated, rated**2 / positive("rated_watts", rated_watts), cold, 2 / steepness


def filament_ohms(
    volts: ArrayLike,
    rated_volts: ArrayLike,
    rated_watts: ArrayLike,
    cold_fraction: ArrayLike = FILAMENT_COLD_FRACTION.value,
    exponent: ArrayLike = FILAMENT_EXPONENT.value,
) -> FloatArray:
    """Settled resistance of a filament at a voltage.

    Parameters
    ----------
    volts : array_like
        Voltage across the lamp, of either sign [V].
    rated_volts : array_like
        Rated voltage [V].
    rated_watts : array_like
        Power at the rated voltage [W].
    cold_fraction : array_like
        Cold resistance over the resistance at the rated voltage, above 0 up to 1 [1].
    exponent : array_like
        Power of the voltage with which the lit filament's resistance rises, above 0 up to 0.5 [1].

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
    Modelling choice: heat balance with radiation; the tenfold rise is common practice, no source.

    Examples
    --------
    >>> round(float(filament_ohms(12.0, 12.0, 3.6)), 6), round(float(filament_ohms(0.0, 12.0, 3.6)), 6)
    (40.0, 4.0)
    """
    rated, rated_ohms, cold, power = _checked(rated_volts, rated_watts, cold_fraction, exponent)
    return result(rated_ohms * _relative_ohms(numbers("volts", volts), rated, cold, power)[0])


def operating_volts(
    open_volts: ArrayLike,
    source_ohms: ArrayLike,
    rated_volts: ArrayLike,
    rated_watts: ArrayLike,
    cold_fraction: ArrayLike = FILAMENT_COLD_FRACTION.value,
    exponent: ArrayLike = FILAMENT_EXPONENT.value,
) -> FloatArray:
    """Voltage that a lamp settles at on a source with resistance.

    Parameters
    ----------
    open_volts : array_like
        Thévenin voltage of the source, of either sign [V].
    source_ohms : array_like
        Thévenin resistance of the source; inf for none at all, which gives 0 V whatever `open_volts` [ohm].
    rated_volts : array_like
        Rated voltage of the lamp [V].
    rated_watts : array_like
        Power at the rated voltage [W].
    cold_fraction : array_like
        Cold resistance over the resistance at the rated voltage, above 0 up to 1 [1].
    exponent : array_like
        Power of the voltage with which the lit filament's resistance rises, above 0 up to 0.5 [1].

    Returns
    -------
    float or array
        Voltage across the lamp, with the sign of `open_volts` [V].

    Raises
    ------
    ValueError
        If the source's resistance is negative, or another argument is outside its range.

    Source
    ------
    Kirchhoff's laws with the filament of `filament_ohms`.

    Examples
    --------
    A lamp behind a high-resistance joint takes nearly all the voltage away from itself.

    >>> operating_volts(12.0, [0.1, 1000.0], 12.0, 3.6).round(3).tolist()
    [11.97, 0.053]
    """
    rated, rated_ohms, cold, power = _checked(rated_volts, rated_watts, cold_fraction, exponent)
    source = numbers("source_ohms", source_ohms)
    if not np.all(source >= 0):
        raise ValueError("source_ohms must be zero or more; inf stands for no source at all")
    voltage = numbers("open_volts", open_volts)
    voltage, source, rated, rated_ohms, cold, power = np.broadcast_arrays(
        voltage, source, rated, rated_ohms, cold, power
    )
    fed = ~np.isinf(source)
    drive = np.where(fed, np.abs(voltage), 0.0)
    ratio = np.where(fed, source, 0.0) / rated_ohms
    # V = E·R/(R + Z), whose right side has an elasticity of at most e ≤ 0.5 in V. So Newton's steps in ln V
    # close in on the one root from anywhere, and a last pass through it is exact for no Z and for a huge one.
    lamp = drive
    for _ in range(_STEPS):
        relative, elasticity = _relative_ohms(lamp, rated, cold, power)
        target = drive * relative / (relative + ratio)
        slope = 1 - elasticity * ratio / (relative + ratio)
        moving = (target > 0) & (lamp > 0)
        log_step = np.log(np.where(moving, target, 1.0) / np.where(moving, lamp, 1.0)) / slope
        lamp = lamp * np.exp(log_step)
        if not np.any(np.abs(log_step) > 1e-14):
            break
    relative = _relative_ohms(lamp, rated, cold, power)[0]
    settled = drive * relative / (relative + ratio)
    return result(np.where(fed, np.copysign(settled, voltage), 0.0))


def brightness_word(volts: ArrayLike, rated_volts: ArrayLike) -> NDArray[np.str_]:
    """What a person calls a lamp at this voltage.

    Parameters
    ----------
    volts : array_like
        Voltage across the lamp, of either sign [V].
    rated_volts : array_like
        Rated voltage [V].

    Returns
    -------
    str or array of str
        "out" below 0.2 of the rated voltage, "bright" from 0.7 on, "dim" between [1].

    Raises
    ------
    ValueError
        If the rated voltage is not above zero or a voltage is not a number.

    Source
    ------
    Modelling choice: the light goes with about the third to fourth power of the voltage, so a fifth of the
    voltage gives less than a hundredth of the light, and 0.7 of it about a third.

    Examples
    --------
    >>> [str(word) for word in brightness_word([1.0, -5.0, 12.0], 12.0)]
    ['out', 'dim', 'bright']
    """
    relative = np.abs(numbers("volts", volts)) / positive("rated_volts", rated_volts)
    if np.any(np.isnan(relative)):
        raise ValueError("volts must be numbers: a lamp between two nodes always has a voltage")
    lit = np.where(relative < LAMP_BRIGHT_FRACTION.value, "dim", "bright")
    word: NDArray[np.str_] = np.where(relative < LAMP_OUT_FRACTION.value, "out", lit)[()]
    return word
