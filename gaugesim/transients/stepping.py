"""Needles stepped through time: winding, strip and damping against the regulator's opening and closing."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.errors import UnsolvableError
from gaugesim.physics import bimetal
from gaugesim.physics.constants import Constant
from gaugesim.sheet import Gauge

INTERRUPTER_LAG = Constant(
    5.0,
    "s",
    3.0,
    "assumed",
    "with the band below, 1 s on and 1 s off for 7 V mean at 14 V: an owner's measurement",
)
INTERRUPTER_BAND = Constant(
    0.1,
    "1",
    0.06,
    "assumed",
    "half the distance between opening and closing, against the design value; as the lag",
)
# of the contact; an hour has some thousands
MOST_TURNS = 50_000
# a needle whose sheet gives it no lag [s]
_AT_ONCE = 1e-9


@dataclass(frozen=True)
class Drive:
    """What the circuit drives at while the regulator's contact stays as it is.

    Attributes
    ----------
    heater : ndarray, shape (n,)
        Heating of the interrupter's strip against its design value [1].
    volts : ndarray, shape (n,)
        At the regulator's output [V].
    """

    heater: Floats
    positions: Mapping[str, Floats]
    volts: Floats

    def where(self, mask: NDArray[np.bool_], other: Drive) -> Drive:
        """One at some times, another at the others.

        Parameters
        ----------
        mask : ndarray of bool, shape (n,)
            When the first holds.
        """
        return Drive(
            np.where(mask, self.heater, other.heater),
            {name: np.where(mask, values, other.positions[name]) for name, values in self.positions.items()},
            np.where(mask, self.volts, other.volts),
        )


def march(
    phases: list[Drive], times: Floats, warm: float, starts: Mapping[str, float], gauges: Mapping[str, Gauge]
) -> tuple[dict[str, Floats], NDArray[np.bool_]]:
    """Step through the times, and inside them from one opening or closing of the contact to the next.

    Parameters
    ----------
    phases : list of Drive
        With the contact open and with it closed.
    times : ndarray, shape (n,)
        [s].
    warm : float
        Rise of the interrupter's strip at first, against its design value [1].
    starts : mapping
        Position of each needle at first; NaN where nobody knows it.

    Returns
    -------
    closed : ndarray of bool, shape (n,)
        Whether the contact is closed.
    """
    opens, closes = 1.0 + INTERRUPTER_BAND.value, 1.0 - INTERRUPTER_BAND.value
    lag = INTERRUPTER_LAG.value
    names = list(gauges)
    aims = np.empty((2, len(names), len(times)))
    for i, phase in enumerate(phases):
        for j, name in enumerate(names):
            aims[i, j] = phase.positions[name]
    windings = np.array([gauges[name].winding_seconds for name in names])
    strips = np.array([max(gauges[name].lag_seconds, _AT_ONCE) for name in names])
    # a whole step without an event is by far the most frequent
    missing = lru_cache(maxsize=16)(partial(_missing, windings=windings, strips=strips))
    now = np.array([starts[name] for name in names])
    heated = now.copy()
    course = np.empty((len(names), len(times)))
    contact = np.empty(len(times), dtype=bool)
    closed = warm < opens
    turns = 0
    for k, time in enumerate(times):
        course[:, k], contact[k] = now, closed
        left = float(times[k + 1] - time) if k + 1 < len(times) else 0.0
        while left > 0:
            drive = float(phases[closed].heater[k])
            edge = opens if closed else closes
            wait = _seconds_to(warm, drive, edge, lag)
            span = min(left, wait)
            warm = drive + (warm - drive) * math.exp(-span / lag)
            now, heated = _moved(now, heated, aims[int(closed), :, k], *missing(round(span, 12)))
            left -= span
            if wait <= span:
                closed = not closed
                turns += 1
            if turns > MOST_TURNS:
                raise UnsolvableError(
                    f"the regulator's contact would open and close more than {MOST_TURNS} times",
                    remedy="is the voltage far above what the regulator is made for?",
                )
    return dict(zip(names, course, strict=True)), contact


def _missing(span: float, windings: Floats, strips: Floats) -> tuple[Floats, Floats, Floats]:
    """What needles still lack after a time: of their own way, of their winding's, and that winding itself."""
    own, through = bimetal.still_missing(span, windings, strips)
    winding, _ = bimetal.still_missing(span, 0.0, np.maximum(windings, _AT_ONCE))
    return np.asarray(own), np.asarray(through), np.asarray(winding)


def _moved(
    now: Floats, heated: Floats, aim: Floats, own: Floats, through: Floats, winding: Floats
) -> tuple[Floats, Floats]:
    """Needles and windings on their way to where they are driven; what nothing drives stays where it is."""
    aim = np.where(np.isnan(aim), now, aim)
    # where nobody knows where it had stood, a needle is taken to be there at once
    lacks, winding_lacks = (np.nan_to_num(at - aim) for at in (now, heated))
    return aim + own * lacks + through * winding_lacks, aim + winding * winding_lacks


def _seconds_to(warm: float, drive: float, edge: float, lag: float) -> float:
    """Time until a strip on its way to ``drive`` reaches ``edge``; inf if it does not."""
    if (warm < edge) == (drive > edge) and drive != edge and warm != edge:
        return lag * math.log((drive - warm) / (drive - edge))
    return math.inf
