"""Likelihoods: the probability of each word and number, given what the circuit would show.

A word is read as P(word | value) (Singpurwalla and Booker, J. Amer. Statist. Assoc. 99, 2004, on membership
functions as likelihoods), an ordered probit over the value's range. The words have their limits in
`gaugesim.vocabulary`; all other widths stand here, each with its reason; they are guesses of how people speak
and read, to be replaced by counts where somebody has them.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.arrays import Floats
from gaugesim.vocabulary import JUDGED

# How many say of a needle on its low and on its high stop that it is there, and not just "low" or "high". A
# dead needle lies at the low one anyway: assumed, for those who are asked for the stop. One past the top
# looks wrong: of 21 public complaints whose fault puts it there 14 say so, by Laplace's rule of succession
CALLED_PEGGED = (0.3, 0.65)
# how well a person reads a position off the dial as a number
NEEDLE_NUMBER_SPREAD = 0.06
# an amount of change as a number
CHANGE_NUMBER_SPREAD = 0.08
# "never moves": by less than a tenth of the scale over all that was tried
STILL_LIMIT, STILL_SPREAD = 0.10, 0.05
# "follows": by more than this share of what it should, give or take so much of the scale; what reads low and
# still moves the right way is said to follow: assumed
FOLLOWS_SHARE, FOLLOWS_SPREAD = 0.35, 0.12
# "dead": no more than this from where it rests with the key off; even then one in ten calls it otherwise
REST_LIMIT, REST_SPREAD, CALLED_DEAD = 0.06, 0.04, 0.9
# of such a needle more say "dead" than that it reads low: assumed
CALLED_DEAD_OR_LOW = 0.6
# A needle that nothing drives stays where it is. Mostly it has come to lie at the low stop, by a weak pull or
# since the engine was cold and the key off; else it stands where it was last driven, anywhere: assumed
RESTS_LOW = 0.75
# by how much less the ohms of coils and senders differ from make to make than the ratios of two of them:
# assumed
OHMS_OF_MAKES = 0.4
# What a damaged winding does to a needle depends on how the gauge is wound, where its trim resistors lie and
# which turns touch, so that the needle may stand this far from where the sheet's gauge would have it: assumed
WOUND_OTHERWISE = 0.25
# ohms are called high from so many times the sound value
OHM_HIGH_FACTOR = 2.0
# a lamp with a light-emitting diode shines at next to no current: dim and bright from these shares of its
# rated volts: assumed
LED_LIMITS = (0.2, 0.4)
# a hand multimeter: half a percent and two digits, the probes' own contact, and what is told of it, often
# rounded
METER_SHARE, METER_VOLTS, METER_OHMS = 0.012, 0.03, 0.15
# the same of a pointer on a scale of 15 V: class 2.5 of IEC 60051, from memory, as two standard deviations
POINTER_VOLTS = 0.19
# P(a pulsing point is called pulsing | kind of meter): a pointer swings, digits only wander; assumed
CALLED_PULSING = {"": 0.9, "digital": 0.7, "analogue": 0.95}
METER_SHARE_OHMS = 0.01
# ohms added before the logarithm is taken, for what leads and probes leave
OHMS_FLOOR = 0.3
# from here on a meter says "open", which is written as so many ohms, and how wide that lies in logarithms
OPEN_FROM, OPEN_READS, OPEN_SPREAD = 4e7, 1e9, 0.5
# where a number may lie of which nothing is known, in volts, and in the logarithm of ohms
VOLTS_SPAN, LOG_OHMS_SPAN = (0.0, 16.0), (math.log(OHMS_FLOOR), math.log(OHMS_FLOOR) + 14.0)
# a pulsing point read on a meter: the display wanders, and mean, RMS and nominal figure are all reported
PULSING_SHARE = 0.3
# any one report may be a slip: a check made at the wrong terminal, a misread range; what an owner remembers
# more often (in 71 public complaints 13 of 165 contradict the fault found, of checks in words 2 of 74)
SLIP, SLIP_OF_MEMORY = 0.03, 0.08
# nobody forgets steam, and whoever looked for it knows that there was none: assumed
SLIP_OF_STEAM = 0.01

# how much of what an unlisted fault shows is sheer surprise, against what listed faults show on average
SURPRISE = 0.5
# in which share of what is told such a fault shows: any, in equal slices of its probability
SHOWN_SHARES = (np.arange(16) + 0.5) / 16

# how often an intermittent fault acts: Beta(1, 4), in equal slices of its probability
DUTIES = 1.0 - (1.0 - (np.arange(16) + 0.5) / 16) ** 0.25

# P(the needle is said to jump, in a state in which lamps or loads are on | it goes with them): assumed
JUMPS_WITH_LOADS = 0.5
# P(needle jumps when the part is moved by hand | intermittent, loose high or open, sound)
JUMP_WHEN_MOVED = {"intermittent": 0.75, "loose": 0.35, "sound": 0.02}
# P(needle jumps when the gauge is tapped | a stuck needle, a weak one that friction stops short, a loose
# contact in or on the gauge, elsewhere)
JUMP_WHEN_TAPPED = {"stuck": 0.5, "weak": 0.3, "intermittent": 0.5, "loose": 0.2, "sound": 0.02}
# P(looks as the fault's first, second, third way of looking), the rest spread over all words
FOUND_SHARES = (0.62, 0.22, 0.08)
# Who says that a part is sound has tested it in this share of cases, and else only looked at it; where he
# says how he knows, that share is another
TESTED = {"": 0.6, "looked": 0.0, "tugged": 0.5, "measured": 1.0}
# P(sound | the part is faulty and was tested), and if its fault was resting then
TESTED_SOUND, TESTED_RESTING = 0.05, 0.5
# how many times likelier with what the work touched, and with modes that damp or standing still bring on; the
# modes of the sheets say theirs
TOUCHED = 4.0
AFTER_BY_MODE = {
    "wet": {"high": 2.5, "to_ground": 3.0, "leak": 4.0, "intermittent": 2.0},
    "lay_up": {"high": 2.5, "stuck": 2.5, "low_volts": 3.0},
}
MOST_OFTEN_AFTER = 0.7
# a used part is as bad as the old one in this share of cases, and cleaning and tightening leaves a contact as
# it was in that; what is worn, broken or burnt it does not mend at all
USED_BAD, CLEANED_IN_VAIN = 0.2, 0.25
# what else than the piece that was replaced may make an engine run hot or cold, as a pump, a fan or a blocked
# radiator beside a thermostat: assumed, common practice, no source
ANOTHER_PIECE = 0.5
# An owner speaks of one gauge only, whatever the others do, or his vehicle has no others, in this share of
# cases (of 21 public complaints whose fault moves several gauges, 9 name one of them); else
# P(he says nothing of another gauge | it is off as well), P(... | it is right): assumed
SPEAKS_OF_ONE = 0.3
SILENT_ABNORMAL, SILENT_NORMAL = 0.2, 0.96
# a gauge that nobody asked about is noticed when it is off by half as much again
NOTICED_LIMIT = 1.5 * JUDGED.limits[1]


def resting(shares: Floats, stops: tuple[float, float]) -> Floats:
    """Where a needle that nothing drives has come to rest [position].

    Parameters
    ----------
    shares : ndarray
        Uniform from 0 to 1 [1].
    stops : (float, float)
        Of the gauge [position].

    Examples
    --------
    >>> resting(np.array([0.1, 0.825]), (-0.1, 1.1))
    array([-0.1,  0.3])
    """
    return np.where(shares < RESTS_LOW, stops[0], (shares - RESTS_LOW) / (1 - RESTS_LOW))


def normal_below(z: Floats) -> Floats:
    """Standard normal distribution function.

    Source
    ------
    Taylor's series about the nearest of a row of points, at which the standard library's error function is
    taken: good to 1e-15, and it spares the start of scipy.

    Examples
    --------
    >>> normal_below(np.array([0.0]))
    array([0.5])
    """
    z = np.clip(np.asarray(z, dtype=float), -_FARTHEST, _FARTHEST)
    nearest = np.rint(np.nan_to_num(z) * _POINTS)
    point = nearest / _POINTS
    step = z - point
    # derivatives of the density are Hermite polynomials times the density; products are quicker than powers
    square = point * point
    fourth = point * (square - 3) / 24 - step * ((square * (square - 6) + 3) / 120)
    series = 1 - step * (point / 2 - step * ((square - 1) / 6 - step * fourth))
    below, density_there = (table[(nearest + _FARTHEST * _POINTS).astype(np.intp)] for table in _normal())
    return np.asarray(below + step * density_there * series)


# how far out the normal distribution is told from 0 and 1, and points to each deviation
_FARTHEST, _POINTS = 38, 64


@cache
def _normal() -> tuple[Floats, Floats]:
    """The distribution and the density at the points."""
    point = np.arange(-_FARTHEST * _POINTS, _FARTHEST * _POINTS + 1) / _POINTS
    below = np.array([0.5 * math.erfc(-z * 0.7071067811865476) for z in point.tolist()])
    return below, np.exp(-0.5 * point**2) / np.sqrt(2 * np.pi)


def ordered(value: Floats, deviation: Floats, limits: ArrayLike, spread: float) -> Floats:
    """Ordered probit: probability of each class of a value that is known and named imprecisely.

    Parameters
    ----------
    value : ndarray, shape (n,)
        What the circuit would show.
    deviation : ndarray, shape (n,)
        Its own standard deviation, in the same unit.
    limits : array_like
        Ascending limits between the classes, in the same unit.
    spread : float
        Standard deviation with which a person places the limits, in the same unit.

    Returns
    -------
    ndarray, shape (n, classes)
        Rows sum to 1.

    Examples
    --------
    >>> ordered(np.array([0.5]), np.zeros(1), [0.4, 0.6], 0.05).round(3)
    array([[0.023, 0.954, 0.023]])
    """
    wide = np.sqrt(spread**2 + deviation**2)
    return _between(normal_below((np.asarray(limits) - value[:, None]) / wide[:, None]))


def ordered_size(value: Floats, deviation: Floats, limits: ArrayLike, spread: float) -> Floats:
    """Ordered probit of a value's size, whatever its sign.

    Parameters
    ----------
    value : ndarray, shape (n,)
        What the circuit would show.
    deviation : ndarray, shape (n,)
        Its own standard deviation, in the same unit.
    limits : array_like
        Ascending limits between the classes of size, in the same unit.
    spread : float
        Standard deviation with which a person places the limits, in the same unit.

    Returns
    -------
    ndarray, shape (n, classes)
        Rows sum to 1.

    Examples
    --------
    >>> ordered_size(np.array([-0.5]), np.zeros(1), [0.4, 0.6], 0.05).round(3)
    array([[0.023, 0.954, 0.023]])
    """
    wide = np.sqrt(spread**2 + deviation**2)[:, None]
    above = normal_below((np.asarray(limits) - value[:, None]) / wide)
    below = normal_below((-np.asarray(limits) - value[:, None]) / wide)
    return _between(above - below)


def _between(steps: Floats) -> Floats:
    """Differences of a rising row of probabilities, from 0 to 1."""
    return np.diff(steps, axis=1, prepend=0.0, append=1.0)


def density(value: ArrayLike, mean: Floats, deviation: Floats) -> Floats:
    """Normal density.

    Parameters
    ----------
    mean, deviation : ndarray
        In one unit.

    Returns
    -------
    ndarray
        In the inverse of that unit.

    Examples
    --------
    >>> density(0.0, np.array([0.0]), np.array([1.0])).round(4)
    array([0.3989])
    """
    return np.asarray(
        np.exp(-0.5 * ((np.asarray(value) - mean) / deviation) ** 2) / (deviation * math.sqrt(2 * math.pi))
    )
