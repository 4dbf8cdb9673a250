"""Observations: what may be told of needles, meters, lamps and parts, and how probable each answer is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from gaugesim import vocabulary
from gaugesim.arrays import Floats
from gaugesim.case import Tools
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.shared_draws import DRAWS, shares
from gaugesim.physics.meter import VOLTMETER_OHMS
from gaugesim.reading import Situation
from gaugesim.reading.words import NEEDLE_WORDS, word_limits
from gaugesim.scenario.check import LAMP, LAMP_RATED_VOLTS, METER, NO_CHECK, Check, Setup
from gaugesim.sheet import Consumer, Gauge
from gaugesim.solve.network import Path
from gaugesim.vocabulary import CHANGE, JUDGED, LOOKS, NEEDLE, OHMS, VOLTS
from gaugesim.vocabulary import LAMP as LAMP_WORDS

RUNS = ("running", "not_running")
# no resistance has a larger logarithm
LARGEST_LOG = 600.0
# the variable by which another make of gauge differs
MAKE = "make"
# a test lamp with a light-emitting diode and its resistor, about ten milliamperes: assumed
LED_OHMS = 1000.0
# below about this many ohms a resistance is no coil and no sender: assumed
SMALLEST_WOUND = 2.0


def needle_table(gauge: Gauge, position: Prediction) -> Floats:
    """Probability of each needle word.

    Returns
    -------
    ndarray, shape (cells, words)
    """
    undriven = np.isnan(position.mean)
    if np.any(undriven):
        resting = like.resting(shares(f"rest@{gauge.id}"), gauge.stops)
        anywhere = Prediction(resting, (), np.zeros((0, DRAWS)), np.zeros(DRAWS, dtype=bool))
        table = np.empty((len(undriven), len(NEEDLE_WORDS)))
        table[~undriven] = needle_table(gauge, position.take(np.flatnonzero(~undriven)))
        table[undriven] = needle_table(gauge, anywhere).mean(axis=0)
        return table
    # of a needle on its stop some say that it is there, the others that it is at that end of the scale, as
    # they do of one that is past the end
    limits, spread = word_limits(gauge), NEEDLE.spread
    low, high = gauge.stops[0] + 1e-9, gauge.stops[1] - 1e-9
    pegged = np.where(position.mean <= low, low - spread, position.mean)
    pegged = np.where(position.mean >= high, high + spread, pegged)
    at_end = np.clip(position.mean, 0.0, 1.0)
    said, unsaid = (like.ordered(mean, position.deviation, limits, spread) for mean in (pegged, at_end))
    share = np.where(position.mean < 0.5, *like.CALLED_PEGGED)[:, None]
    return np.asarray(share * said + (1 - share) * unsaid)


def reading_table(
    reads: str, reading: Prediction, situation: Situation, sound: float | Floats | None = None
) -> Floats:
    """Probability of each word for what an instrument reads.

    Parameters
    ----------
    reads : str
        See `Check.reads`.
    sound : float or ndarray of shape (cells,), optional
        What the sound circuit would read; row 0 if left out.

    Returns
    -------
    ndarray, shape (cells, words)
    """
    if reads == "volts":
        return volts_table(reading, battery_volts(situation))
    if reads == "ohms":
        return ohms_table(reading, sound)
    if reads == "lamp":
        return lamp_table(reading)
    topic = vocabulary.TOPICS[reads]
    return like.ordered_size(reading.mean, reading.deviation, topic.limits, topic.spread)


def on_scale(position: Prediction) -> Prediction:
    """A needle as it is read off a scale, which has no figures beyond its ends."""
    return replace(
        position,
        mean=np.clip(position.mean, 0.0, 1.0),
        bounds=(0.0, 1.0),
        rest=None if position.rest is None else np.clip(position.rest, 0.0, 1.0),
    )


def judged_table(position: Prediction, truth: float, rest: float) -> Floats:
    """Probability that a needle is called low, normal or high against the truth, or dead instead.

    Parameters
    ----------
    truth : float
        Where the sound needle would be [position].
    rest : float
        Where the needle lies with the key off [position].

    Returns
    -------
    ndarray, shape (cells, 4)
        Of a needle that lies where it always lies some say that it is dead, unless it belongs there.
    """
    driven = ~np.isnan(position.mean)
    off = np.where(driven, position.mean - truth, 0.0)
    table = like.ordered(off, position.deviation, JUDGED.limits, JUDGED.spread)
    table[~driven] = 1.0 / 3.0
    limits = np.array([-like.REST_LIMIT, like.REST_LIMIT])
    from_rest = np.where(driven, position.mean - rest, 0.0)
    inside = like.ordered(from_rest, position.deviation, limits, like.REST_SPREAD)[:, 1]
    belongs = abs(truth - rest) <= like.REST_LIMIT
    dead = (0.0 if belongs else like.CALLED_DEAD_OR_LOW) * np.where(driven, inside, 1.0)
    return np.column_stack([table * (1 - dead[:, None]), dead])


def change_table(difference: Prediction) -> Floats:
    """Probability that a needle is said to fall, stay or rise.

    Parameters
    ----------
    difference : Prediction
        Position after minus position before.

    Returns
    -------
    ndarray, shape (cells, 3)
    """
    driven = ~np.isnan(difference.mean)
    moved = np.where(driven, difference.mean, 0.0)
    table = like.ordered(moved, difference.deviation, CHANGE.limits, CHANGE.spread)
    # undriven in one of the two, it mostly stays
    table[~driven] = (0.15, 0.7, 0.15)
    return table


def volts_table(volts: Prediction, battery: float, meter: str = "") -> Floats:
    """Probability that a voltage is called none, low, battery or pulsing.

    Parameters
    ----------
    volts : Prediction
        [V]
    battery : float
        The battery's voltage in that state [V].
    meter : str, optional
        ``digital`` or ``analogue``, if that is known.

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    steady = like.ordered_size(volts.mean / battery, volts.deviation / battery, VOLTS.limits, VOLTS.spread)
    pulsing = np.where(volts.pulses, like.CALLED_PULSING[meter], 0.01)
    return np.concatenate([steady * (1 - pulsing)[:, None], pulsing[:, None]], axis=1)


def ohms_table(ohms: Prediction, sound: float | Floats | None = None) -> Floats:
    """Probability that a resistance is called none, sound, high or open.

    Parameters
    ----------
    ohms : Prediction
        [ohm]
    sound : float or ndarray of shape (cells,), optional
        The sound circuit's; that of row 0 if left out [ohm].

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    decades, deviation = _decades(ohms)
    usual = ohms.mean[0] if sound is None else sound
    high = np.log10(np.maximum(usual, 0.5) * like.OHM_HIGH_FACTOR)
    least, most = OHMS.limits
    none, top = np.minimum(least, high - 0.3), np.maximum(most, high + 0.3)
    return like.ordered(decades, deviation, np.stack([none, high, top], axis=-1), OHMS.spread)


def _decades(ohms: Prediction) -> tuple[Floats, Floats]:
    floor = 0.05  # what leads and probes leave
    return np.log10(ohms.mean + floor), ohms.deviation / (ohms.mean + floor) / np.log(10)


def lamp_table(volts: Prediction, lamp: str = "") -> Floats:
    """Probability that a test lamp is called out, dim, bright or flashing.

    Parameters
    ----------
    volts : Prediction
        Across it while it is fed [V].
    lamp : str, optional
        ``filament``, which it is if that is not known, or ``led``.

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    share, deviation = volts.mean / LAMP_RATED_VOLTS, volts.deviation / LAMP_RATED_VOLTS
    limits = like.LED_LIMITS if lamp == "led" else LAMP_WORDS.limits
    steady = like.ordered(share, deviation, limits, LAMP_WORDS.spread)
    flashes = np.where(volts.pulses, 0.9 * (1 - steady[:, 0]), 0.01)
    return np.concatenate([steady * (1 - flashes)[:, None], flashes[:, None]], axis=1)


def looks_table(share: Prediction) -> Floats:
    """Probability that another consumer looks dead, dim, normal, bright or flickers.

    Parameters
    ----------
    share : Prediction
        Its volts as a share of the usual [1].

    Returns
    -------
    ndarray, shape (cells, 5)
    """
    steady = like.ordered_size(share.mean, share.deviation, LOOKS.limits, LOOKS.spread)
    flickers = np.full(len(steady), 0.02)
    return np.concatenate([steady * (1 - flickers)[:, None], flickers[:, None]], axis=1)


def volts_noise(volts: Prediction, meter: str = "") -> Floats:
    """Standard deviation of a voltmeter's reading by itself.

    Parameters
    ----------
    volts : Prediction
        [V]
    meter : str, optional
        ``digital`` or ``analogue``, if that is known.

    Returns
    -------
    ndarray, shape (cells,)
        [V]
    """
    size = np.abs(volts.middle)
    least = like.POINTER_VOLTS if meter == "analogue" else like.METER_VOLTS
    noise = least + like.METER_SHARE * size
    return np.asarray(noise + np.where(volts.pulses, like.PULSING_SHARE * size, 0.0))


def of_any_make(volts: Prediction, battery: float, spread: float) -> Prediction:
    """A voltage on a gauge of another make, whose coils and sender divide the supply otherwise.

    Parameters
    ----------
    volts : Prediction
        [V]
    battery : float
        [V]
    spread : float
        Standard deviation of the logarithm of a divider's ratio [1]: what lies at neither end of the supply
        moves with it, by as much on every point.
    """
    share = np.clip(np.abs(volts.middle) / battery, 0.0, 1.0)
    between = share * (1 - share)
    # a point that lies at an end of the supply on the sound circuit is on no divider of coils
    on_divider = min(1.0, 8.0 * float(between[0]))
    return volts.also(MAKE, spread * on_divider * battery * between)


def log_ohms(ohms: Prediction, spread: float = 0.0) -> tuple[Prediction, Floats]:
    """A resistance as a meter shows it, in logarithms, as its tolerances are shares.

    Parameters
    ----------
    ohms : Prediction
        [ohm]
    spread : float, optional
        Standard deviation of the logarithm of a divider's ratio, see `of_any_make` [1].

    Returns
    -------
    prediction : Prediction
        Its natural logarithm; any resistance beyond the meter's range reads the same.
    noise : ndarray, shape (cells,)
        Standard deviation of that reading by itself.
    """
    over = ohms.middle > like.OPEN_FROM
    mean = _logs_of_ohms(ohms.mean)
    rest = None if ohms.rest is None else _logs_of_ohms(ohms.rest)
    # a step that goes beyond the meter's range reads as its end: a worn spot within a slice
    widest = log_of_ohms(np.inf) - np.log(like.OHMS_FLOOR)
    steps = np.where(over, 0.0, np.clip(ohms.steps / (ohms.middle + like.OHMS_FLOOR), -widest, widest))
    shown = _logs_of_ohms(ohms.middle)
    noise = np.where(over, like.OPEN_SPREAD, like.METER_SHARE_OHMS + like.METER_OHMS / np.exp(shown))
    # contacts and wires are alike in every make
    spread = like.OHMS_OF_MAKES * spread
    finite = np.where(over, 0.0, ohms.middle)
    wound = spread * finite / (finite + SMALLEST_WOUND)
    return Prediction(mean, ohms.names, steps, ohms.pulses, rest=rest).also(MAKE, wound), noise


def _logs_of_ohms(ohms: Floats) -> Floats:
    within = np.log(np.maximum(ohms, 0.0) + like.OHMS_FLOOR)
    return np.where(ohms > like.OPEN_FROM, log_of_ohms(np.inf), within)


def log_ohms_table(shown: Prediction, sound: float) -> Floats:
    """Probability that a resistance is called none, sound, high or open, from its logarithm.

    Parameters
    ----------
    shown : Prediction
        As `log_ohms` has it.
    sound : float
        The sound circuit's [ohm].

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    # far out in a table nothing is too large, and all of it is open
    whole = np.exp(np.minimum(shown.mean, LARGEST_LOG))
    ohms = Prediction(
        np.maximum(whole - like.OHMS_FLOOR, 0.0), shown.names, shown.steps * whole, shown.pulses
    )
    return ohms_table(ohms, sound)


def log_of_ohms(ohms: float) -> float:
    """A resistance that was read, as `log_ohms` has it.

    Parameters
    ----------
    ohms : float
        ``inf`` for open [ohm].
    """
    return float(np.log((like.OPEN_READS if ohms > like.OPEN_FROM else ohms) + like.OHMS_FLOOR))


def consumer_check(consumer: Consumer) -> Check:
    """The check that stands for looking at another consumer: a meter across it."""
    meter = Path(METER, consumer.node_a, consumer.node_b, VOLTMETER_OHMS)
    setup = Setup(paths=(meter,))
    return replace(NO_CHECK, id=f"looks:{consumer.id}", words=consumer.words, setup=setup, reads="volts")


def with_tools(check: Check, tools: Tools) -> Check:
    """A check as it is made with what is at hand: a lamp with a light-emitting diode hardly loads."""
    if tools.lamp != "led" or check.reads != "lamp":
        return check
    paths = tuple(
        replace(path, name=METER, ohms=LED_OHMS) if path.name == LAMP else path for path in check.setup.paths
    )
    return replace(check, reads="volts", setup=replace(check.setup, paths=paths))


def battery_volts(situation: Situation) -> float:
    """The battery's voltage in a situation, as a person means it by "battery voltage" [V]."""
    values: Mapping[str, float] = situation.circuit.netlist.parameter_values(situation.parameters)
    return float(values["battery_volts"])
