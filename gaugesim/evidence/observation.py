"""Observations: each fact of a case as a likelihood over the cells of a circuit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.evidence import likelihood as like
from gaugesim.evidence.cells import Prediction
from gaugesim.physics.meter import VOLTMETER_OHMS
from gaugesim.reading import Situation
from gaugesim.reading.words import NEEDLE_WORDS, spoken, word_limits
from gaugesim.scenario.check import LAMP_RATED_VOLTS, METER, Check, Setup
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.sheet import FOUND, Consumer, Gauge
from gaugesim.solve.network import Floats, Path

JUDGED = ("reads_low", "normal", "reads_high")
CHANGES = ("falls", "same", "rises")
VOLTS = ("none", "low", "battery", "pulsing")
OHMS = ("none", "sound", "high", "open")
LAMPS = ("out", "dim", "bright", "flashes")
LOOKS = ("dead", "dim", "normal", "bright", "flickers")
JUMPS = ("steady", "jumps")
SOUND_LOOKS = np.array([like.FOUND_SOUND[word] for word in FOUND])
SOUND_LOOKS /= SOUND_LOOKS.sum()
MOVES = ("never", "slowly", "at_once", "jumps")


@dataclass(frozen=True)
class Number:
    """A number that was read, with what every cell would show.

    Attributes
    ----------
    value : float
    prediction : Prediction
        In the same unit (ohms in natural logarithms).
    noise : ndarray, shape (cells,)
        Standard deviation of the reading by itself.
    """

    value: float
    prediction: Prediction
    noise: Floats


@dataclass(frozen=True)
class Observation:
    """One fact and how well each cell explains it.

    Attributes
    ----------
    subject : str
        What was looked at, in words: "needle, key on and engine cold".
    seen : str
        What was seen, in words.
    where : str
        File and key.
    stage : int
    likelihood : ndarray, shape (cells,)
        Probability, or density, of the fact while the fault acts.
    broad : float
        The same if nothing is known at all.
    classes : tuple of str
        What might have been seen instead; empty for a number.
    table : ndarray, shape (cells, classes), or None
        Probability of each class.
    number : Number or None
    by_duty : ndarray, shape (duties, cells), or None
        Likelihood under an intermittent fault by the share of the time it acts, where that is not simply a
        mixture of the fault and the sound circuit.
    """

    subject: str
    seen: str
    where: str
    stage: int
    likelihood: Floats
    broad: float
    classes: tuple[str, ...] = ()
    table: Floats | None = None
    number: Number | None = None
    by_duty: Floats | None = None


@dataclass(frozen=True)
class Told:
    """How an observation is told: subject, words and place; see `Observation`."""

    subject: str
    where: str
    stage: int = 1


def of_class(told: Told, classes: tuple[str, ...], table: Floats, seen: str) -> Observation:
    """An observation that is one of several classes.

    Parameters
    ----------
    told : Told
    classes : tuple of str
    table : ndarray, shape (cells, classes)
        Probability of each class [1].
    seen : str
        The class seen.

    Returns
    -------
    Observation
    """
    return Observation(
        told.subject,
        spoken(seen),
        told.where,
        told.stage,
        table[:, classes.index(seen)],
        1.0 / len(classes),
        classes,
        table,
    )


def of_number(told: Told, seen: str, number: Number, broad: float) -> Observation:
    """An observation that is a number.

    Parameters
    ----------
    told : Told
    seen : str
        The number with its unit.
    number : Number
    broad : float
        Density if nothing is known.

    Returns
    -------
    Observation
    """
    wide = np.sqrt(number.noise**2 + number.prediction.deviation**2)
    known = ~np.isnan(number.prediction.mean)
    mean = np.where(known, number.prediction.mean, number.value)
    dense = np.where(known, like.density(number.value, mean, wide), broad)
    return Observation(told.subject, seen, told.where, told.stage, dense, broad, number=number)


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


def dead_likelihood(position: Prediction, rest: Floats, stops: tuple[float, float]) -> Floats:
    """Probability that a needle is called dead: it stays at rest when the key is turned.

    Parameters
    ----------
    position : Prediction
    rest : ndarray, shape (cells,)
        Position with the key off; NaN where nothing drives it then.
    stops : (float, float)

    Returns
    -------
    ndarray, shape (cells,)
    """
    driven = ~np.isnan(position.mean)
    rest = np.where(np.isnan(rest), stops[0], rest)
    off = np.abs(np.where(driven, position.mean, rest) - rest)
    wide = np.sqrt(like.REST_SPREAD**2 + position.deviation**2)
    return np.where(driven, 0.9 * like.normal_below((like.REST_LIMIT - off) / wide), 0.9)


def moves_table(
    reach: Floats, deviation: Floats, movement: str, sound_reach: float = 1.0
) -> tuple[Floats, Floats]:
    """Probability of never, slowly, at once and jumps for a steady fault; and of "follows".

    Parameters
    ----------
    reach : ndarray, shape (cells,)
        How far the needle moves over what was tried [position]; NaN counts as not at all.
    deviation : ndarray, shape (cells,)
    movement : str
    sound_reach : float
        How far the sound needle would move.

    Returns
    -------
    table : ndarray, shape (cells, 4)
    follows : ndarray, shape (cells,)
    """
    reach = np.nan_to_num(reach)
    wide = np.sqrt(like.STILL_SPREAD**2 + deviation**2)
    never = like.normal_below((like.STILL_LIMIT - reach) / wide)
    shares = like.MOVES_STEADY[movement]
    table = np.stack([never, *((1 - never) * shares[word] for word in MOVES[1:])], axis=1)
    follows = like.normal_below((reach - 0.6 * sound_reach) / (2 * wide))
    return table, follows


def jumps_by_duty(acting: Floats) -> Floats:
    """Probability that a needle is said to jump, for each duty of an intermittent fault.

    Parameters
    ----------
    acting : ndarray, shape (cells,)
        How far the needle is from its sound place while the fault acts [position].

    Returns
    -------
    ndarray, shape (duties, cells)
    """
    visible = like.normal_below(
        (np.nan_to_num(np.abs(acting), nan=0.5) - like.STILL_LIMIT) / like.STILL_SPREAD
    )
    lively = np.minimum(1.0, 6.0 * like.DUTIES * (1.0 - like.DUTIES))
    return like.JUMPS_INTERMITTENT * lively[:, None] * visible[None] + like.SLIP


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
    share = np.abs(volts.mean) / battery
    steady = like.ordered(share, volts.deviation / battery, like.VOLT_LIMITS, like.VOLT_SPREAD)
    pulsing = np.where(volts.pulses, 0.9, 0.01)
    return np.concatenate([steady * (1 - pulsing)[:, None], pulsing[:, None]], axis=1)


def ohms_table(ohms: Prediction) -> Floats:
    """Probability that a resistance is called none, sound, high or open.

    Parameters
    ----------
    ohms : Prediction
        [ohm]; row 0 is the sound circuit's.

    Returns
    -------
    ndarray, shape (cells, 4)
    """
    decades, deviation = _decades(ohms)
    high = np.log10(max(ohms.mean[0], 0.5) * like.OHM_HIGH_FACTOR)
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


def looks_table(volts: Prediction) -> Floats:
    """Probability that another consumer looks dead, dim, normal, bright or flickers, by its usual volts.

    Parameters
    ----------
    volts : Prediction
        Across it [V]; row 0 is the sound circuit's.

    Returns
    -------
    ndarray, shape (cells, 5)
    """
    usual = max(abs(float(volts.mean[0])), 1.0)
    steady = like.ordered(
        np.abs(volts.mean) / usual, volts.deviation / usual, like.LOOKS_LIMITS, like.LOOKS_SPREAD
    )
    flickers = np.full(len(steady), 0.02)
    return np.concatenate([steady * (1 - flickers)[:, None], flickers[:, None]], axis=1)


def volts_number(volts: Prediction, value: float) -> tuple[Number, float]:
    """A voltage that was read.

    Parameters
    ----------
    volts : Prediction
        [V]
    value : float
        [V]

    Returns
    -------
    number : Number
    broad : float
        Density if nothing is known [1/V].
    """
    noise = like.METER_VOLTS + like.METER_SHARE * np.abs(volts.mean)
    noise = noise + np.where(volts.pulses, like.PULSING_SHARE * np.abs(volts.mean), 0.0)
    return Number(value, volts, noise), 1.0 / 16.0


def ohms_number(ohms: Prediction, value: float) -> tuple[Number, float]:
    """A resistance that was read, in logarithms, as its tolerances are shares.

    Parameters
    ----------
    ohms : Prediction
        [ohm]
    value : float
        [ohm], ``inf`` for open.

    Returns
    -------
    number : Number
    broad : float
        Density in the logarithm if nothing is known [1].
    """
    floor = 0.3
    top = 1e9
    mean = np.log(np.minimum(ohms.mean, top) + floor)
    steps = ohms.steps / (ohms.mean + floor)
    # any resistance beyond the meter's range reads the same
    over = ohms.mean > 4e7
    mean = np.where(over, np.log(top), mean)
    steps = np.where(over, 0.0, steps)
    noise = np.where(over, 0.5, like.METER_SHARE_OHMS + like.METER_OHMS / (np.exp(mean)))
    told = np.log(top) if value > 4e7 else np.log(value + floor)
    return Number(told, Prediction(mean, ohms.names, steps, ohms.pulses), noise), 1.0 / 14.0


def found_table(faults: Sequence[Fault | Pair], part: str) -> Floats:
    """Probability of each way a part looks.

    Parameters
    ----------
    faults : sequence of Fault or Pair
        The fault of each row.
    part : str

    Returns
    -------
    ndarray, shape (faults, len(FOUND))
    """
    table = np.tile(SOUND_LOOKS, (len(faults), 1))
    for i, entry in enumerate(faults):
        for fault in entry.singles:
            if fault.part.id == part:
                row = np.full(len(FOUND), (1 - sum(like.FOUND_SHARES[: len(fault.mode.found)])) / len(FOUND))
                for word, share in zip(fault.mode.found, like.FOUND_SHARES, strict=False):
                    row[FOUND.index(word)] += share
                table[i] = row / row.sum()
    return table


def jump_chance(faults: Sequence[Fault | Pair], part: str, gauge: str = "") -> Floats:
    """Probability that the needle jumps when a part is moved, or a gauge tapped.

    Parameters
    ----------
    faults : sequence of Fault or Pair
        The fault of each row.
    part : str
        The part that is moved; empty for a tap on the gauge.
    gauge : str
        The gauge that is tapped.

    Returns
    -------
    ndarray, shape (faults,)
    """
    chances = like.JUMP_WHEN_MOVED if part else like.JUMP_WHEN_TAPPED

    def chance(fault: Fault) -> float:
        if part:
            touched = fault.part.id == part
        else:
            touched = fault.part.gauge == gauge and fault.part.kind in (
                "stud_nut",
                "coil",
                "heater",
                "movement",
            )
        if not touched:
            return chances["sound"]
        if fault.mode.id in chances:
            return chances[fault.mode.id]
        loose = "loose" in fault.mode.found and fault.mode.id in ("open", "high")
        return chances["loose"] if loose else chances["sound"]

    return np.array([max(chance(fault) for fault in entry.singles) for entry in faults])


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
