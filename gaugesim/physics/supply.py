"""Supply of the gauges: battery, alternator, and the standard profiles of both at their worst."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.physics._arguments import FloatArray, fraction, not_negative, numbers, result
from gaugesim.physics._curves import held
from gaugesim.physics.constants import BATTERY_EMPTY_VOLTS, BATTERY_FULL_VOLTS

VOLTAGE_CODES = MappingProxyType({"A": (6.0, 16.0), "B": (8.0, 16.0), "C": (9.0, 16.0), "D": (10.5, 16.0)})
"""Lowest and highest supply [V] that equipment of each code must stand.
Source: ISO 16750-2:2010, Table 1, 12 V."""

REGULATED_CELSIUS = (-20.0, 20.0, 60.0, 80.0)
REGULATED_LOW_VOLTS = (14.0, 13.7, 13.2, 12.9)
REGULATED_HIGH_VOLTS = (15.1, 14.6, 14.3, 14.1)
"""Limits of the alternator's regulated voltage [V] at the regulator's surroundings [celsius].
Source: a regulator's specification (source withheld, unverifiable)."""

VOLTAGE_DROP_LIMITS = MappingProxyType(
    {"small_wire_connection": 0.0, "high_current_connection": 0.1, "high_current_cable": 0.2, "switch": 0.3}
)
"""Drop [V] that a sound part may have under load. Source: workshop texts, which attribute them to the SAE;
that document was not seen. A drop alone does not clear a gauge circuit: 0.1 V at 60 mA is 1.7 ohm."""

RIPPLE_SWEEP_HERTZ = (50.0, 25_000.0)
RIPPLE_SWEEP_SECONDS = 60.0
RIPPLE_SWEEPS = 5
"""Superimposed alternating voltage: up from 50 Hz to 25 kHz in 60 s and down again, five times.
Source: ISO 16750-2, as a published test file runs it; its course between the two ends is from memory."""


@dataclass(frozen=True)
class StartingProfile:
    """Supply voltage while an engine is cranked.

    Attributes
    ----------
    rest_volts : float
        Supply before and after [V].
    lowest_volts : float
        The first dip [V].
    cranking_volts : float
        Middle of the plateau while the engine turns [V].
    cranking_seconds : float
        Length of the plateau [s].
    recovery_seconds : float
        Time back to `rest_volts` [s].
    source : str
        Where the figures come from.
    fall_seconds, dip_seconds, climb_seconds : float
        Time down to the dip, in it, and up to the plateau [s].
    ripple_volts : float
        Ripple on the plateau, peak to peak [V].
    ripple_hertz : float
        Its frequency [Hz].
    """

    rest_volts: float
    lowest_volts: float
    cranking_volts: float
    cranking_seconds: float
    recovery_seconds: float
    source: str
    fall_seconds: float = 0.005
    dip_seconds: float = 0.015
    climb_seconds: float = 0.050
    ripple_volts: float = 2.0
    ripple_hertz: float = 2.0


_FROM_MEMORY = "ISO 16750-2, from memory: verify before use"
STARTING_PROFILES = MappingProxyType(
    {
        "I": StartingProfile(
            12.0, 8.0, 9.5, 1.0, 0.040, "ISO 16750-2:2003 level I, as a published test file runs it"
        ),
        "II": StartingProfile(12.0, 4.5, 6.5, 10.0, 0.100, _FROM_MEMORY),
        "III": StartingProfile(12.0, 3.0, 5.0, 1.0, 0.100, _FROM_MEMORY),
        "IV": StartingProfile(12.0, 6.0, 6.5, 10.0, 0.100, _FROM_MEMORY),
    }
)


@dataclass(frozen=True)
class LoadDump:
    """Pulse on the supply when the battery comes off a charging alternator.

    Attributes
    ----------
    peak_volts : float
        Top of the pulse above zero [V].
    clamped_volts : float
        Where a suppressed alternator cuts it off [V].
    source_ohms : float
        Resistance of the pulse's source [ohm].
    rise_seconds : float
        Time from the supply to the top [s].
    fall_seconds : float
        Time from the top until a tenth of the rise is left [s].
    """

    peak_volts: float
    clamped_volts: float
    source_ohms: float
    rise_seconds: float
    fall_seconds: float


LOAD_DUMP = LoadDump(
    peak_volts=79.0, clamped_volts=35.0, source_ohms=0.5, rise_seconds=0.005, fall_seconds=0.4
)
"""Mildest load dump.
Source: ISO 16750-2 tests A (79 V, the lower end of its range) and B (35 V), test files."""


def battery_open_volts(charge: ArrayLike) -> FloatArray:
    """Voltage of a rested twelve-volt lead-acid battery with nothing on it.

    Parameters
    ----------
    charge : array_like
        State of charge from 0 to 1 [1].

    Returns
    -------
    float or array
        Voltage [V].

    Raises
    ------
    ValueError
        If the charge is outside 0 to 1.

    Source
    ------
    Common practice, no source: a straight line from 11.9 V to 12.7 V.

    Examples
    --------
    >>> round(float(battery_open_volts(0.5)), 2)
    12.3
    """
    full = fraction("charge", charge)
    return result((1 - full) * BATTERY_EMPTY_VOLTS.value + full * BATTERY_FULL_VOLTS.value)


def loaded_volts(open_volts: ArrayLike, source_ohms: ArrayLike, amperes: ArrayLike) -> FloatArray:
    """Voltage of a source from which a current is drawn.

    Parameters
    ----------
    open_volts : array_like
        Voltage with no load [V].
    source_ohms : array_like
        Resistance of the source with its leads [ohm].
    amperes : array_like
        Current drawn; negative while it is charged [A].

    Returns
    -------
    float or array
        Voltage under load [V].

    Raises
    ------
    ValueError
        If the resistance is negative.

    Source
    ------
    Ohm's law.

    Examples
    --------
    >>> round(float(loaded_volts(12.6, 0.02, 30.0)), 3)
    12.0
    """
    drop = not_negative("source_ohms", source_ohms) * numbers("amperes", amperes)
    return result(numbers("open_volts", open_volts) - drop)


def regulated_volts(celsius: ArrayLike, place: ArrayLike = 0.5) -> FloatArray:
    """Voltage that a twelve-volt alternator is regulated to, lower in the heat.

    Parameters
    ----------
    celsius : array_like
        Temperature around the regulator; from -20 to 80, held beyond [celsius].
    place : array_like
        Place between the lower limit (0) and the upper limit (1) of the specification [1].

    Returns
    -------
    float or array
        Voltage [V].

    Raises
    ------
    ValueError
        If the place is outside 0 to 1.

    Source
    ------
    A regulator's specification (source withheld, unverifiable): 14.0–15.1 V at -20, 13.7–14.6 V at 20,
    13.2–14.3 V at 60, 12.9–14.1 V at 80 degrees Celsius.

    Examples
    --------
    >>> round(float(regulated_volts(20.0)), 2)
    14.15
    """
    around, between = numbers("celsius", celsius), fraction("place", place)
    limits = [
        held(around, np.array(REGULATED_CELSIUS), np.array(volts))
        for volts in (REGULATED_LOW_VOLTS, REGULATED_HIGH_VOLTS)
    ]
    return result((1 - between) * limits[0] + between * limits[1])


def slow_change_volts(
    seconds: ArrayLike, start_volts: ArrayLike, final_volts: ArrayLike, volts_per_minute: ArrayLike = 0.5
) -> FloatArray:
    """Supply that falls or rises slowly and evenly and then stays.

    Parameters
    ----------
    seconds : array_like
        Time since the start [s].
    start_volts, final_volts : array_like
        First and last voltage [V].
    volts_per_minute : array_like
        Rate of change [V/min].

    Returns
    -------
    float or array
        Voltage [V].

    Raises
    ------
    ValueError
        If the time or the rate is negative.

    Source
    ------
    ISO 16750-2, slow decrease and increase of the supply voltage: 0.5 ± 0.1 V/min.

    Examples
    --------
    >>> float(slow_change_volts(360.0, 6.0, 0.0))
    3.0
    """
    start, final = numbers("start_volts", start_volts), numbers("final_volts", final_volts)
    changed = not_negative("seconds", seconds) * not_negative("volts_per_minute", volts_per_minute) / 60.0
    return result(start + np.sign(final - start) * np.minimum(changed, np.abs(final - start)))


def starting_volts(seconds: ArrayLike, profile: StartingProfile) -> FloatArray:
    """Supply voltage while an engine is cranked.

    Down, dip, up to the crest of a rippling plateau, and back.

    Parameters
    ----------
    seconds : array_like
        Time since the starter was engaged [s].
    profile : StartingProfile
        One of `STARTING_PROFILES`, or one's own [1].

    Returns
    -------
    float or array
        Voltage [V].

    Raises
    ------
    ValueError
        If the time is negative.

    Source
    ------
    ISO 16750-2, starting profile; that the plateau begins on the ripple's crest is read from a test file.

    Examples
    --------
    >>> round(float(starting_volts(0.010, STARTING_PROFILES["I"])), 2)
    8.0
    """
    time = not_negative("seconds", seconds)
    durations = (
        profile.fall_seconds,
        profile.dip_seconds,
        profile.climb_seconds,
        profile.cranking_seconds,
        profile.recovery_seconds,
    )
    ends = np.cumsum(durations)

    def rippled(after: FloatArray) -> FloatArray:
        wave = np.cos(2 * np.pi * profile.ripple_hertz * after)
        return result(profile.cranking_volts + profile.ripple_volts / 2 * wave)

    on_plateau = (time > ends[2]) & (time < ends[3])
    corners = np.array([0.0, *ends])
    ends_at = rippled(np.array(profile.cranking_seconds))
    crest = rippled(np.array(0.0))
    rest, lowest = profile.rest_volts, profile.lowest_volts
    ramps = held(time, corners, np.array([rest, lowest, lowest, crest, ends_at, rest]))
    return result(np.where(on_plateau, rippled(time - ends[2]), ramps))


def load_dump_volts(
    seconds: ArrayLike, supply_volts: ArrayLike, pulse: LoadDump = LOAD_DUMP, clamped: bool = False
) -> FloatArray:
    """Open-circuit voltage of a load dump: a straight rise and an exponential fall.

    Parameters
    ----------
    seconds : array_like
        Time since the battery came off [s].
    supply_volts : array_like
        Voltage before [V].
    pulse : LoadDump
        Shape of the pulse [1].
    clamped : bool
        Whether the alternator is a suppressed one [1].

    Returns
    -------
    float or array
        Voltage [V].

    Raises
    ------
    ValueError
        If the time is negative.

    Source
    ------
    ISO 16750-2, load dump tests A and B; the exponential fall is the common reading of its drawing.

    Examples
    --------
    >>> float(load_dump_volts(0.005, 14.0))
    79.0
    """
    time, supply = not_negative("seconds", seconds), numbers("supply_volts", supply_volts)
    rising = np.minimum(time / pulse.rise_seconds, 1.0)
    falling = 0.1 ** (np.maximum(time - pulse.rise_seconds, 0.0) / pulse.fall_seconds)
    volts = supply + (pulse.peak_volts - supply) * rising * falling
    return result(np.minimum(volts, pulse.clamped_volts) if clamped else volts)


def ripple_sweep_hertz(seconds: ArrayLike) -> FloatArray:
    """Frequency of the superimposed alternating voltage: equal times for equal ratios, up and down again.

    Parameters
    ----------
    seconds : array_like
        Time since the first sweep began; it lasts 600 s in all [s].

    Returns
    -------
    float or array
        Frequency; 0 once the sweeps are over [Hz].

    Raises
    ------
    ValueError
        If the time is negative.

    Source
    ------
    ISO 16750-2, superimposed alternating voltage; the logarithmic course is from memory.

    Examples
    --------
    >>> round(float(ripple_sweep_hertz(60.0)))
    25000
    """
    time = not_negative("seconds", seconds)
    in_sweep = np.abs((time / RIPPLE_SWEEP_SECONDS + 1) % 2 - 1)
    low, high = RIPPLE_SWEEP_HERTZ
    running = time <= 2 * RIPPLE_SWEEP_SECONDS * RIPPLE_SWEEPS
    return result(np.where(running, low * (high / low) ** in_sweep, 0.0))
