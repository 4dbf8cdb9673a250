"""What meters and a test lamp show, from the currents through them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.physics import lamp
from gaugesim.scenario.check import (
    LAMP,
    LAMP_RATED_VOLTS,
    LAMP_RATED_WATTS,
    METER,
    OHMMETER_OHMS,
    OHMMETER_VOLTS,
)

# an ohmmeter's display goes no further; in numbers an open reads this
OPEN_READING = 1e9
# a meter is seen to pulse when its ends differ by more than this, a lamp to flash when it has more than this
PULSE_VOLTS = 0.3
# what the source behind a test lamp is sounded out with: no dead short, which another engine may have to
# replace by a little resistance
SOUNDING_OHMS = (1.0, 1e3)


def settled_lamp_ohms(most: Floats, least: Floats, *, rated_volts: float = LAMP_RATED_VOLTS) -> Floats:
    """Resistance at which the test lamp settles on a source, from two currents of that source [ohm].

    Parameters
    ----------
    most, least : ndarray
        Its currents through the two `SOUNDING_OHMS` [A].
    rated_volts : float, optional
        Of the lamp: one for the system's volts [V].
    """
    low, high = SOUNDING_OHMS
    difference = most - least
    dead = np.abs(difference) <= 1e-15 * np.maximum(np.abs(most), 1e-30)
    source = np.maximum((high * least - low * most) / np.where(dead, 1.0, difference), 0.0)
    open_volts = np.where(dead, 0.0, most * (source + low))
    source = np.where(dead, np.inf, source)
    volts = lamp.operating_volts(open_volts, source, rated_volts, LAMP_RATED_WATTS)
    return np.asarray(lamp.filament_ohms(volts, rated_volts, LAMP_RATED_WATTS), dtype=float)


def with_lamp(most: Floats, least: Floats, lamp: int, lamp_ohms: Floats) -> Floats:
    """Currents with a test lamp of other ohms: all are straight lines over the lamp's own current.

    Parameters
    ----------
    most, least : ndarray, shape (outputs, n)
        Currents with the two `SOUNDING_OHMS` [A].
    lamp_ohms : ndarray, shape (n,)
        Between those two [ohm].

    Returns
    -------
    ndarray, shape (outputs, n)
        [A]

    Examples
    --------
    >>> with_lamp(np.array([[6.0]]), np.array([[12 / 1001]]), 0, np.array([2.0]))
    array([[4.]])
    """
    low, high = SOUNDING_OHMS
    from_most, from_least = (lamp_ohms - low) * most[lamp], (high - lamp_ohms) * least[lamp]
    whole = from_most + from_least
    return np.asarray(most + (least - most) * (from_most / np.where(whole == 0, 1.0, whole)))


def ohms_reading(amperes: Floats) -> Floats:
    """What an ohmmeter shows for its current [A]. [ohm]; `OPEN_READING` where nothing flows."""
    # rounding leaves a trickle where nothing flows
    flows = amperes > OHMMETER_VOLTS / (OPEN_READING + OHMMETER_OHMS)
    ohms = OHMMETER_VOLTS / np.where(flows, amperes, 1.0) - OHMMETER_OHMS
    return np.where(flows, np.maximum(ohms, 0.0), OPEN_READING)


@dataclass(frozen=True)
class Read:
    """What an instrument is read from.

    Attributes
    ----------
    amperes : sequence of ndarray
        Its current in each phase of the regulator [A].
    ohms : ndarray
        Its own [ohm].
    duty : ndarray
        Share of the time of the first phase [1].
    rated_volts : float
        Of the system [V].
    """

    amperes: Sequence[Floats]
    ohms: Floats
    duty: Floats
    rated_volts: float

    @property
    def mean(self) -> Floats:
        """Its current, mean over time [A]."""
        first, *second = self.amperes
        return self.duty * first + (1.0 - self.duty) * second[0] if second else first


# what is shown, in the instrument's unit, and whether that is seen to come and go
Shown = tuple[Floats, NDArray[np.bool_]]


def _volts(of: Read) -> Shown:
    swing = np.abs(of.amperes[0] - of.amperes[-1]) * of.ohms > PULSE_VOLTS
    return of.mean * of.ohms, swing & (of.duty < 1)


def _ohms(of: Read) -> Shown:
    reading = ohms_reading(of.amperes[0])
    return reading, np.zeros(reading.shape, dtype=np.bool_)


def _lamp(of: Read) -> Shown:
    """Volts at which a lamp for 12 V is as bright while it is fed."""
    volts = np.abs(of.amperes[0]) * of.ohms
    seen = (volts > PULSE_VOLTS) & (np.abs(of.amperes[-1]) * of.ohms < 0.2 * volts)
    return volts * (LAMP_RATED_VOLTS / of.rated_volts), seen & (of.duty < 1)


@dataclass(frozen=True)
class Instrument:
    """What is read where something hangs on the circuit.

    Attributes
    ----------
    steady : bool
        Whether the battery is off, so that a regulator does nothing.
    """

    shows: Callable[[Read], Shown]
    branch: str = METER
    steady: bool = False


# by what a check reads
INSTRUMENTS = {
    "volts": Instrument(_volts),
    "ohms": Instrument(_ohms, steady=True),
    "lamp": Instrument(_lamp, LAMP),
}
