"""Multimeter: what it shows, given that it loads what it measures."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugesim.physics._arguments import FloatArray, not_negative, numbers, positive, result
from gaugesim.physics.constants import OHMMETER_HIGHEST_OHMS, OHMMETER_TEST_AMPERES, VOLTMETER_INPUT_OHMS

VOLTMETER_OHMS = VOLTMETER_INPUT_OHMS.value
"""Input resistance of a voltmeter [ohm]. Source: bench multimeter manuals, at least 10 megohm."""

HIGHEST_OHMS = OHMMETER_HIGHEST_OHMS.value
"""Resistance [ohm] above which an ohmmeter says "open". Assumed."""

TEST_AMPERES = OHMMETER_TEST_AMPERES.value
"""Current [A] that an ohmmeter sends through a low resistance. Assumed."""


def voltmeter_volts(
    open_volts: ArrayLike, source_ohms: ArrayLike, meter_ohms: ArrayLike = VOLTMETER_OHMS
) -> FloatArray:
    """Voltage that a voltmeter shows on a source with resistance.

    Parameters
    ----------
    open_volts : array_like
        Thévenin voltage between the probes [V].
    source_ohms : array_like
        Thévenin resistance; inf where nothing is connected, which shows 0 V whatever `open_volts` [ohm].
    meter_ohms : array_like
        Input resistance of the meter [ohm].

    Returns
    -------
    float or array
        Reading [V].

    Raises
    ------
    ValueError
        If the source's resistance is negative or the meter's not above zero.

    Source
    ------
    Voltage divider.

    Examples
    --------
    >>> round(float(voltmeter_volts(12.6, 10e3)), 4)
    12.5874
    """
    source = not_negative("source_ohms", source_ohms)
    shown = numbers("open_volts", open_volts) / (1 + source / positive("meter_ohms", meter_ohms))
    return result(np.where(np.isinf(source), 0.0, shown))


def loading_error_percent(source_ohms: ArrayLike, meter_ohms: ArrayLike = VOLTMETER_OHMS) -> FloatArray:
    """How much too low a voltmeter reads because it loads the source.

    Parameters
    ----------
    source_ohms : array_like
        Thévenin resistance of the source [ohm].
    meter_ohms : array_like
        Input resistance of the meter [ohm].

    Returns
    -------
    float or array
        Error in percent of the true voltage [percent].

    Raises
    ------
    ValueError
        If the source's resistance is negative or the meter's not above zero.

    Source
    ------
    Bench multimeter manuals: 100·R_s/(R_s + R_i).

    Examples
    --------
    >>> round(float(loading_error_percent(10e3)), 4)
    0.0999
    """
    return result(100.0 * (1.0 - voltmeter_volts(1.0, source_ohms, meter_ohms)))


def is_open(ohms: ArrayLike, highest_ohms: ArrayLike = HIGHEST_OHMS) -> NDArray[np.bool_]:
    """Whether an ohmmeter says "open" to this resistance.

    Parameters
    ----------
    ohms : array_like
        Resistance [ohm].
    highest_ohms : array_like
        Highest resistance that the meter shows [ohm].

    Returns
    -------
    bool or array of bool
        True above the meter's range [1].

    Raises
    ------
    ValueError
        If the highest resistance is not above zero.

    Source
    ------
    Range of a hand-held multimeter, assumed.

    Examples
    --------
    >>> bool(is_open(1e9)), bool(is_open(240.0))
    (True, False)
    """
    return np.asarray(numbers("ohms", ohms) > positive("highest_ohms", highest_ohms))


def ohmmeter_ohms(
    volts: ArrayLike, test_amperes: ArrayLike = TEST_AMPERES, highest_ohms: ArrayLike = HIGHEST_OHMS
) -> FloatArray:
    """Resistance that an ohmmeter shows: the voltage across its probes over the current it injects.

    Any voltage that the circuit adds by itself falsifies it, so it is used on a dead circuit only.

    Parameters
    ----------
    volts : array_like
        Voltage across the probes while the current flows [V].
    test_amperes : array_like
        Current that the meter injects [A].
    highest_ohms : array_like
        Highest resistance that the meter shows [ohm].

    Returns
    -------
    float or array
        Reading; inf where the meter says "open" [ohm].

    Raises
    ------
    ValueError
        If the current or the highest resistance is not above zero.

    Source
    ------
    Ohm's law.

    Examples
    --------
    >>> round(float(ohmmeter_ohms(0.24, 1e-3)), 9)
    240.0
    """
    ohms = numbers("volts", volts) / positive("test_amperes", test_amperes)
    return result(np.where(is_open(ohms, highest_ohms), np.inf, ohms))


def accuracy(reading: ArrayLike, percent: ArrayLike, digits: ArrayLike, resolution: ArrayLike) -> FloatArray:
    """Half width of the band that a meter's accuracy leaves around its reading.

    Parameters
    ----------
    reading : array_like
        What the meter shows, in any one unit [1].
    percent : array_like
        Percent of the reading [percent].
    digits : array_like
        Steps of the last digit [1].
    resolution : array_like
        Worth of one step of the last digit, in the reading's unit [1].

    Returns
    -------
    float or array
        Half width, in the reading's unit [1].

    Raises
    ------
    ValueError
        If the percent, digits or resolution is negative.

    Source
    ------
    Multimeter manuals: ± (percent of reading + digits).

    Examples
    --------
    >>> round(float(accuracy(12.60, 0.5, 2, 0.01)), 4)
    0.083
    """
    of_reading = np.abs(numbers("reading", reading)) * not_negative("percent", percent) / 100.0
    return result(of_reading + not_negative("digits", digits) * not_negative("resolution", resolution))
