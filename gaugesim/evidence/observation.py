"""Observations: what may be told of needles, meters, lamps and parts, and how probable each answer is."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Prediction
from gaugesim.physics.meter import VOLTMETER_OHMS
from gaugesim.reading import Situation
from gaugesim.reading.words import NEEDLE_WORDS, word_limits
from gaugesim.scenario.check import LAMP_RATED_VOLTS, METER, Check, Setup
from gaugesim.sheet import Consumer, Gauge
from gaugesim.solve.network import Floats, Path

JUDGED = ("reads_low", "normal", "reads_high")
CHANGES = ("falls", "same", "rises")
VOLTS = ("none", "low", "battery", "pulsing")
OHMS = ("none", "sound", "high", "open")
LAMPS = ("out", "dim", "bright", "flashes")
LOOKS = ("dead", "dim", "normal", "bright", "flickers")
OFTEN = ("always", "sometimes", "once")
DEAD = ("dead", "moves")
FOLLOWS = ("follows", "does_not_follow")
HEAT_SIGNS = ("signs_of_heat", "no_signs_of_heat")
MENTIONED = ("not_mentioned", "mentioned")
MOVES = ("never", "slowly", "at_once", "jumps")


def needle_table(gauge: Gauge, position: Prediction) -> Floats:
    """Probability of each needle word.

    Parameters
    ----------
    gauge : Gauge
    position : Prediction

    Returns
    -------
    ndarray, shape (cells, words)
    """
    # a needle on its stop is not said to be elsewhere, so a stop counts from a little further out
    limits = word_limits(gauge)
    mean = np.where(
        position.mean <= gauge.stops[0] + 1e-9, gauge.stops[0] - like.NEEDLE_WORD_SPREAD, position.mean
    )
    mean = np.where(position.mean >= gauge.stops[1] - 1e-9, gauge.stops[1] + like.NEEDLE_WORD_SPREAD, mean)
    driven = ~np.isnan(position.mean)
    table = like.ordered(np.where(driven, mean, 0.5), position.deviation, limits, like.NEEDLE_WORD_SPREAD)
    # a needle that nothing drives stays where it was
    table[~driven] = 1.0 / len(NEEDLE_WORDS)
    return table


def judged_table(position: Prediction, truth: float) -> Floats:
    """Probability that a needle is called low, normal or high against the truth.

    Parameters
    ----------
    position : Prediction
    truth : float
        Where the sound needle would be [position].

    Returns
    -------
    ndarray, shape (cells, 3)
    """
    driven = ~np.isnan(position.mean)
    off = np.where(driven, position.mean - truth, 0.0)
    table = like.ordered(off, position.deviation, [-like.JUDGED_LIMIT, like.JUDGED_LIMIT], like.JUDGED_SPREAD)
    table[~driven] = 1.0 / 3.0
    return table


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
    limits = [-like.CHANGE_LIMIT, like.CHANGE_LIMIT]
    table = like.ordered(
        np.where(driven, difference.mean, 0.0), difference.deviation, limits, like.CHANGE_SPREAD
    )
    # undriven in one of the two, it mostly stays
    table[~driven] = (0.15, 0.7, 0.15)
    return table


def dead_table(from_rest: Prediction) -> Floats:
    """Probability that a needle is called dead, or said to move, when the key is turned.

    Parameters
    ----------
    from_rest : Prediction
        How far it is from where it rests with the key off [position].

    Returns
    -------
    ndarray, shape (cells, 2)
    """
    driven = ~np.isnan(from_rest.mean)
    limits = [-like.REST_LIMIT, like.REST_LIMIT]
    inside = like.ordered(
        np.where(driven, from_rest.mean, 0.0), from_rest.deviation, limits, like.REST_SPREAD
    )
    dead = like.CALLED_DEAD * np.where(driven, inside[:, 1], 1.0)
    return np.stack([dead, 1 - dead], axis=1)


def moves_table(reach: Prediction, movement: str) -> Floats:
    """Probability of never, slowly, at once and jumps for a steady fault.

    Parameters
    ----------
    reach : Prediction
        How far the needle moves over what was tried [position]; NaN counts as not at all.
    movement : str

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    never = _still(np.nan_to_num(reach.mean), reach.deviation)
    shares = like.MOVES_STEADY[movement]
    return np.stack([never, *((1 - never) * shares[word] for word in MOVES[1:])], axis=1)


def _still(difference: Floats, deviation: Floats) -> Floats:
    """Probability that a difference is small enough to pass for none."""
    limits = [-like.STILL_LIMIT, like.STILL_LIMIT]
    return like.ordered(difference, deviation, limits, like.STILL_SPREAD)[:, 1]


def follows_table(reach: Prediction, sound_reach: float) -> Floats:
    """Probability that a needle is said to follow what it should show, or not.

    Parameters
    ----------
    reach : Prediction
        How far the needle moves over what was tried [position]; NaN counts as not at all.
    sound_reach : float
        How far the sound needle would move.

    Returns
    -------
    ndarray, shape (cells, 2)
    """
    along = np.nan_to_num(reach.mean) * np.sign(sound_reach)
    follows = like.ordered(
        along, reach.deviation, [like.FOLLOWS_SHARE * abs(sound_reach)], like.FOLLOWS_SPREAD
    )
    return follows[:, ::-1]


def sudden_table(acting: Prediction, classes: tuple[str, ...], word: str) -> Floats:
    """Probability that something is said to come and go, for each duty of an intermittent fault.

    Parameters
    ----------
    acting : Prediction
        How far it is from its sound place while the fault acts, in shares of its range.
    classes : tuple of str
    word : str
        What that is called.

    Returns
    -------
    ndarray, shape (duties, cells, classes)
        0 for all other classes.
    """
    visible = 1 - _still(np.nan_to_num(acting.mean, nan=0.5), acting.deviation)
    lively = np.minimum(1.0, 6.0 * like.DUTIES * (1.0 - like.DUTIES))
    sudden = np.zeros((len(like.DUTIES), len(visible), len(classes)))
    sudden[:, :, classes.index(word)] = like.JUMPS_INTERMITTENT * lively[:, None] * visible[None]
    return sudden


def often_tables(table: Floats) -> tuple[Floats, Floats, Floats]:
    """Probability of each class and how often it is said to be seen.

    Parameters
    ----------
    table : ndarray, shape (cells, classes)
        Of the classes alone [1].

    Returns
    -------
    steady : ndarray, shape (cells, 3*classes)
        Of a fault that is always there: the classes "always", "sometimes", "once".
    sudden : ndarray, shape (duties, cells, 3*classes)
        What only a fault shows that comes and goes, by its duty.
    base : ndarray, shape (cells, 3*classes)
        What it shows beside that.
    """
    none = np.zeros_like(table)
    steady = np.concatenate([table * like.OFTEN_STEADY[often] for often in OFTEN], axis=1)
    now_and_then = np.minimum(1.0, 4.0 * like.DUTIES * (1.0 - like.DUTIES))[:, None, None]
    noticed = np.concatenate([none, *(table * like.OFTEN_INTERMITTENT[often] for often in OFTEN[1:])], axis=1)
    return steady, now_and_then * noticed, np.concatenate([table, none, none], axis=1)


def mentioned_table(off: Prediction) -> Floats:
    """Probability that an owner says nothing of a gauge that he was not asked about, or mentions it.

    Parameters
    ----------
    off : Prediction
        How far its needle is from its sound place [position].

    Returns
    -------
    ndarray, shape (cells, 2)
    """
    limits = [-like.NOTICED_LIMIT, like.NOTICED_LIMIT]
    right = like.ordered(np.nan_to_num(off.mean, nan=0.5), off.deviation, limits, like.JUDGED_SPREAD)[:, 1]
    silent = (1 - right) * like.SILENT_ABNORMAL + right * like.SILENT_NORMAL
    return np.stack([silent, 1 - silent], axis=1)


def volts_table(volts: Prediction, battery: float) -> Floats:
    """Probability that a voltage is called none, low, battery or pulsing.

    Parameters
    ----------
    volts : Prediction
        [V]
    battery : float
        The battery's voltage in that state [V].

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    steady = like.ordered_size(
        volts.mean / battery, volts.deviation / battery, like.VOLT_LIMITS, like.VOLT_SPREAD
    )
    pulsing = np.where(volts.pulses, 0.9, 0.01)
    return np.concatenate([steady * (1 - pulsing)[:, None], pulsing[:, None]], axis=1)


def ohms_table(ohms: Prediction, sound: float | None = None) -> Floats:
    """Probability that a resistance is called none, sound, high or open.

    Parameters
    ----------
    ohms : Prediction
        [ohm]
    sound : float, optional
        The sound circuit's; that of row 0 if left out [ohm].

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    decades, deviation = _decades(ohms)
    usual = float(ohms.mean[0]) if sound is None else sound
    high = np.log10(max(usual, 0.5) * like.OHM_HIGH_FACTOR)
    none, top = min(like.OHM_NONE, high - 0.3), max(like.OHM_OPEN, high + 0.3)
    return like.ordered(decades, deviation, [none, high, top], like.OHM_SPREAD)


def _decades(ohms: Prediction) -> tuple[Floats, Floats]:
    floor = 0.05  # what leads and probes leave
    return np.log10(ohms.mean + floor), ohms.deviation / (ohms.mean + floor) / np.log(10)


def lamp_table(volts: Prediction) -> Floats:
    """Probability that a test lamp is called out, dim, bright or flashing.

    Parameters
    ----------
    volts : Prediction
        Across it while it is fed [V].

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    share, deviation = volts.mean / LAMP_RATED_VOLTS, volts.deviation / LAMP_RATED_VOLTS
    steady = like.ordered(share, deviation, like.LAMP_LIMITS, like.LAMP_SPREAD)
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
    steady = like.ordered_size(share.mean, share.deviation, like.LOOKS_LIMITS, like.LOOKS_SPREAD)
    flickers = np.full(len(steady), 0.02)
    return np.concatenate([steady * (1 - flickers)[:, None], flickers[:, None]], axis=1)


def volts_noise(volts: Prediction) -> Floats:
    """Standard deviation of a voltmeter's reading by itself.

    Parameters
    ----------
    volts : Prediction
        [V]

    Returns
    -------
    ndarray, shape (cells,)
        [V]
    """
    noise = like.METER_VOLTS + like.METER_SHARE * np.abs(volts.mean)
    return np.asarray(noise + np.where(volts.pulses, like.PULSING_SHARE * np.abs(volts.mean), 0.0))


def log_ohms(ohms: Prediction) -> tuple[Prediction, Floats]:
    """A resistance as a meter shows it, in logarithms, as its tolerances are shares.

    Parameters
    ----------
    ohms : Prediction
        [ohm]

    Returns
    -------
    prediction : Prediction
        Its natural logarithm; any resistance beyond the meter's range reads the same.
    noise : ndarray, shape (cells,)
        Standard deviation of that reading by itself.
    """
    over = ohms.mean > like.OPEN_FROM
    mean = np.where(over, log_of_ohms(np.inf), np.log(ohms.mean + like.OHMS_FLOOR))
    steps = np.where(over, 0.0, ohms.steps / (ohms.mean + like.OHMS_FLOOR))
    noise = np.where(over, like.OPEN_SPREAD, like.METER_SHARE_OHMS + like.METER_OHMS / np.exp(mean))
    return Prediction(mean, ohms.names, steps, ohms.pulses), noise


def log_of_ohms(ohms: float) -> float:
    """A resistance that was read, as `log_ohms` has it.

    Parameters
    ----------
    ohms : float
        ``inf`` for open [ohm].

    Returns
    -------
    float
    """
    return float(np.log((like.OPEN_READS if ohms > like.OPEN_FROM else ohms) + like.OHMS_FLOOR))


def consumer_check(consumer: Consumer) -> Check:
    """The check that stands for looking at another consumer: a meter across it.

    Parameters
    ----------
    consumer : Consumer

    Returns
    -------
    Check
    """
    meter = Path(METER, consumer.node_a, consumer.node_b, VOLTMETER_OHMS)
    return Check(
        f"looks:{consumer.id}", "looks", "", consumer.words, 0.0, (), (), Setup(paths=(meter,)), "volts"
    )


def battery_volts(where: Situation) -> float:
    """The battery's voltage in a situation, as a person means it by "battery voltage".

    Parameters
    ----------
    where : Situation

    Returns
    -------
    float
        [V]
    """
    known: Mapping[str, float] = where.circuit.netlist.parameter_values(where.parameters)
    return float(known["battery_volts"])
