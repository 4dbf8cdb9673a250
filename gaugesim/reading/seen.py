"""What one scenario shows, in numbers with their bands and in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaugesim.physics.meter import is_open
from gaugesim.reading.instruments import OPEN_READING
from gaugesim.reading.response import Engine, Response, respond
from gaugesim.reading.situations import Situation
from gaugesim.reading.spreads import deviations, spread
from gaugesim.reading.words import lamp_word, needle_word
from gaugesim.scenario.changes import HEALTHY
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.scenario.tolerance import DEVIATIONS_90
from gaugesim.sheet import Gauge
from gaugesim.vocabulary import TOPICS


@dataclass(frozen=True)
class Needle:
    """A needle.

    Attributes
    ----------
    position : float or None
        0 at the low mark, 1 at the top mark, past them to the stops; None where nothing drives it.
    low, high : float or None
        5 and 95 % of the tolerances, between the stops.
    """

    position: float | None
    low: float | None
    high: float | None
    word: str


@dataclass(frozen=True)
class Reading:
    """What an instrument shows.

    Attributes
    ----------
    kind : str
        ``volts``, ``ohms`` or ``lamp``.
    value : float or str
        Volts, their mean where they pulse [V]; ohms, 1e9 for an open [ohm]; or the word for the lamp.
    low, high : float or str
        5 and 95 % of the tolerances, in the same unit; for a lamp the words for them.
    pulses : bool
        Whether it comes and goes with the regulator.
    open : bool
        Whether it is more than an ohmmeter shows before it says open.
    volts : float or None
        Across the lamp while it is fed [V].
    """

    kind: str
    value: float | str
    unit: str
    low: float | str
    high: float | str
    pulses: bool = False
    open: bool = False
    volts: float | None = None


@dataclass(frozen=True)
class Appearance:
    """What one scenario shows.

    Attributes
    ----------
    reading : Reading or None
        None where the check reads no instrument.
    """

    needles: Mapping[str, Needle]
    reading: Reading | None
    response: Response


def see(situation: Situation, scenarios: Scenarios | None = None, engine: Engine | None = None) -> Appearance:
    """What one scenario shows, with the bands that tolerances leave.

    Parameters
    ----------
    scenarios : Scenarios, optional
        One row; the sound circuit if left out.
    engine : callable, optional
        Another engine than the embedded one, see `respond`; the bands are the embedded one's.
    """
    scenarios = stack([HEALTHY]) if scenarios is None else scenarios
    response = respond(situation, scenarios, engine)
    moves = spread(situation, scenarios, response)
    needles = {
        gauge.id: _needle(gauge, response.positions[gauge.id][0], deviations(moves.positions[gauge.id])[0])
        for gauge in situation.gauges
    }
    reading = None
    if response.reading is not None and moves.reading is not None:
        deviation = deviations(moves.reading)[0]
        reading = _reading(situation.check.reads, response.reading[0], deviation, bool(response.pulses[0]))
    return Appearance(needles, reading, response)


def _needle(gauge: Gauge, position: float, deviation: float) -> Needle:
    word = needle_word(gauge, position)
    if np.isnan(position):
        return Needle(None, None, None, word)
    low, high = np.clip(
        [position - DEVIATIONS_90 * deviation, position + DEVIATIONS_90 * deviation], *gauge.stops
    )
    return Needle(float(position), float(low), float(high), word)


def _reading(kind: str, value: float, deviation: float, pulses: bool) -> Reading:
    low, high = value - DEVIATIONS_90 * deviation, value + DEVIATIONS_90 * deviation
    if kind == "lamp":
        words = [lamp_word(volts, pulses) for volts in (value, max(low, 0.0), high)]
        return Reading(kind, words[0], TOPICS[kind].unit, words[1], words[2], pulses, volts=float(value))
    if kind == "ohms":
        low, high = np.clip([low, high], 0.0, OPEN_READING)
        return Reading(
            kind, float(value), TOPICS[kind].unit, float(low), float(high), open=bool(is_open(value))
        )
    return Reading(kind, float(value), TOPICS[kind].unit, float(low), float(high), pulses)
