"""What a person would call a needle position or a reading."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.errors import CaseError
from gaugesim.physics.lamp import brightness_word
from gaugesim.physics.meter import is_open
from gaugesim.scenario.check import LAMP_RATED_VOLTS
from gaugesim.sheet import Gauge
from gaugesim.vocabulary import NEEDLE, TOPICS, UNDRIVEN
from gaugesim.vocabulary.quantity import DialFigure

if TYPE_CHECKING:
    from gaugesim.reading.seen import Reading

NEEDLE_WORDS = NEEDLE.classes
# where a word says that a needle stands: at the end of the scale, or in the middle of what is called so
_MIDDLES = [(low + high) / 2 for low, high in pairwise(NEEDLE.limits)]
WORD_PLACES = dict(zip(NEEDLE_WORDS, (0.0, 0.0, *_MIDDLES, 1.0, 1.0), strict=True))
SAME_WORDS = {name: word.id for word in NEEDLE.words for name in word.same}

# what a meter on a bench can just tell from nothing
JOINT_OHMS, NO_VOLTS = 0.5, 0.1


def marked(word: str) -> str:
    """A needle word where there is little room: on a dial, in a cell of a table.

    Examples
    --------
    >>> marked("pegged_low"), marked("three_quarters")
    ('low stop', 'three quarters')
    """
    stop = f"{word.removeprefix('pegged_')} stop" if word.startswith("pegged_") else word
    return stop.replace("_", " ")


def word_limits(gauge: Gauge) -> Floats:
    """Positions at which one needle word gives way to the next.

    Returns
    -------
    ndarray, shape (6,)
        Between neighbouring `NEEDLE_WORDS` [position]: halfway between marks, and halfway from an end mark to
        its stop.
    """
    low, high = gauge.stops
    return np.array([low / 2, *NEEDLE.limits, 1 + (high - 1) / 2])


def needle_word(gauge: Gauge, position: float) -> str:
    """The word for a needle position. One of `NEEDLE_WORDS`, or ``"undriven"``.

    Parameters
    ----------
    position : float
        NaN for a needle that nothing drives [position].
    """
    if np.isnan(position):
        return UNDRIVEN
    return NEEDLE_WORDS[int(np.searchsorted(word_limits(gauge), position))]


def place_on_dial(figure: DialFigure, gauge: Gauge, unit: str) -> tuple[float, float]:
    """Where a needle stands by the figures of its own dial: between the marks, or at a stop.

    Parameters
    ----------
    unit : str
        In which the gauge's marks are.

    Returns
    -------
    (float, float)
        The same unless a range was told [position].

    Raises
    ------
    CaseError
        For another unit, or a figure that is far off the scale.
    """
    if figure.unit != unit:
        raise CaseError(
            f"{figure} is nothing that a {gauge.words} shows", "", "give a word, or a part of the scale"
        )
    at, positions = np.transpose(sorted((mark.at, mark.position) for mark in gauge.marks))
    slopes = np.diff(positions) / np.diff(at)
    ends = []
    for value in (figure.low, figure.high):
        below, above = min(value - at[0], 0.0), max(value - at[-1], 0.0)
        if above - below > at[-1] - at[0]:
            scale = f"{at[0]:g} to {at[-1]:g}"
            raise CaseError(
                f"{figure} is far off a scale of {scale}", "", "give the dial's figure, or a word"
            )
        there = np.interp(value, at, positions) + slopes[0] * below + slopes[-1] * above
        ends.append(float(np.clip(there, *gauge.stops)))
    return min(ends), max(ends)


def lamp_word(volts: float, pulses: bool) -> str:
    """The word for a test lamp. ``bright``, ``dim``, ``out`` or ``flashes``.

    Parameters
    ----------
    volts : float
        Across it, while it is fed [V].
    pulses : bool
        Whether its feed comes and goes.
    """
    word = str(brightness_word(volts, LAMP_RATED_VOLTS))
    return "flashes" if pulses and word != "out" else word


def quantity(value: float, unit: str) -> str:
    """A value with its unit, to as many digits as a meter shows.

    Examples
    --------
    >>> quantity(0.01234, "V"), quantity(12.345, "V"), quantity(4.7e4, "ohm"), quantity(1e9, "ohm")
    ('12.3 mV', '12.35 V', '47 kohm', 'open')
    """
    size = abs(value)
    if unit == "ohm" and is_open(size):
        return "open"
    for prefix, factor, least in (("M", 1e6, 1e6), ("k", 1e3, 1e3), ("", 1.0, 0.1), ("m", 1e-3, 5e-4)):
        if size >= least:
            figure = value / factor
            if unit == "V" and not prefix:
                return f"{figure:.2f} V"
            text = f"{figure:.{max(0, 2 - int(math.log10(abs(figure))))}f}"
            return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {prefix}{unit}"
    return f"0 {unit}"


def quantity_range(low: float, high: float, unit: str) -> str:
    """Two values with their unit, named once where it is the same.

    Examples
    --------
    >>> quantity_range(503.0, 839.0, "ohm"), quantity_range(262.0, 1080.0, "ohm"), quantity_range(2, 2, "V")
    ('503 to 839 ohm', '262 ohm to 1.08 kohm', '2.00 V')
    """
    first, last = quantity(low, unit), quantity(high, unit)
    if first == last:
        return first
    number, _, name = first.partition(" ")
    return f"{number if name and last.endswith(f' {name}') else first} to {last}"


def instrument_name(reading: Reading) -> str:
    """What it is read on, at the beginning of a line."""
    return TOPICS[reading.kind].meter.removeprefix("the ").capitalize()


def reading_value(reading: Reading, figure: Callable[[float, str], str] = quantity) -> str:
    """What an instrument shows: the word for the lamp, open, or a number, the mean where it pulses.

    Parameters
    ----------
    figure : callable, optional
        Writes a number with its unit.
    """
    if reading.kind == "lamp":
        return str(reading.value)
    if reading.open:
        return "open"
    text = figure(float(reading.value), reading.unit)
    return f"{text}, pulsing: its mean" if reading.pulses else text


def reading_band(reading: Reading) -> str:
    """Between what an instrument stands in 90 of 100 circuits, as far as a meter on a bench tells."""
    if reading.kind == "lamp" or reading.open:
        return f"lamp {reading.value}" if reading.kind == "lamp" else "open"
    low, high = float(reading.low), float(reading.high)
    if reading.kind == "ohms":
        return f"under {JOINT_OHMS:g} ohm" if high < JOINT_OHMS else quantity_range(low, high, "ohm")
    if reading.kind == "volts" and max(abs(low), abs(high)) < NO_VOLTS:
        return f"under {NO_VOLTS:g} V"
    return f"{to_a_tenth(low, high)} {reading.unit}{', pulsing' if reading.pulses else ''}"


def to_a_tenth(low: float, high: float) -> str:
    """Two values to one place, named once where they are the same.

    Examples
    --------
    >>> to_a_tenth(11.96, 12.98), to_a_tenth(-0.01, 0.02)
    ('12.0 to 13.0', '0.0')
    """
    first, last = (f"{round(end, 1) + 0.0:.1f}" for end in (low, high))
    return first if first == last else f"{first} to {last}"


def joined_names(names: Sequence[str]) -> str:
    """Several names that begin and end alike, each word that they share said once.

    Examples
    --------
    >>> joined_names(["10 ohm for the sender", "33 ohm for the sender", "100 ohm for the sender"])
    '10, 33 or 100 ohm for the sender'
    >>> joined_names(["stud S joined to ground"])
    'stud S joined to ground'
    """
    each = [name.split() for name in dict.fromkeys(names)]
    least = min(map(len, each)) - 1
    front = next((k for k in range(least) if len({words[k] for words in each}) > 1), least)
    rest = least - front
    back = next((k for k in range(rest) if len({words[-1 - k] for words in each}) > 1), rest)
    *most, last = [" ".join(words[front : len(words) - back]) for words in each]
    listed = f"{', '.join(most)} or {last}" if most else last
    return " ".join([*each[0][:front], listed, *each[0][len(each[0]) - back :]])
