"""The inner loops of the pairs of faults, compiled: no number leaves the nearest cache before it is a needle.

Everything here is plain loops over arrays, in a form that the compiler turns into vector instructions. The
compiler itself is loaded on first use, since that takes a while.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, cast

import numpy as np

from gaugesim.solve.network import Floats, Integers
from gaugesim.sweep.layout import Dials, Firsts, Room, Seconds, Strips

# the arc tangent is a polynomial between -EIGHTH and EIGHTH, the tangents of an eighth of half a turn
EIGHTH = np.sqrt(2.0) - 1.0
DEGREE = 10


def _arc_tangent() -> tuple[float, ...]:
    """Coefficients of atan(x)/x in x², to the last digit of a double."""

    def ratio(square: Floats) -> Floats:
        x = np.sqrt(square)
        return np.where(x == 0, 1.0, np.arctan(x) / np.where(x == 0, 1.0, x))

    fitted = np.polynomial.Chebyshev.interpolate(ratio, DEGREE, domain=[0.0, float(EIGHTH**2)])
    return tuple(float(value) for value in fitted.convert(kind=np.polynomial.Polynomial).coef)


ATAN = _arc_tangent()


def turned(along: Floats, across: Floats, share: float, stops: tuple[float, float], stand: Floats) -> None:
    """Needle positions from the field along the middle of the scale and towards its top mark.

    Parameters
    ----------
    along, across : ndarray, shape (n,)
        As a multiple of the friction [1].
    share : float
        Of the scale, for one radian [1].
    stops : tuple of two float
        [position].
    stand : ndarray, shape (n,)
        Filled in: position; NaN where nothing drives the needle.
    """
    for t in range(len(along)):
        x, y = abs(along[t]), abs(across[t])
        large = x if x > y else y
        small = y if x > y else x
        tangent = (small - EIGHTH * large) / (large + EIGHTH * small)
        square = tangent * tangent
        value = ATAN[10]
        value = value * square + ATAN[9]
        value = value * square + ATAN[8]
        value = value * square + ATAN[7]
        value = value * square + ATAN[6]
        value = value * square + ATAN[5]
        value = value * square + ATAN[4]
        value = value * square + ATAN[3]
        value = value * square + ATAN[2]
        value = value * square + ATAN[1]
        value = value * square + ATAN[0]
        angle = np.pi / 8 + tangent * value
        angle = angle if x > y else np.pi / 2 - angle
        angle = angle if along[t] > 0 else np.pi - angle
        # straight away from the middle counts as below the low mark
        angle = angle if across[t] > 0 else -angle
        place = angle * share + 0.5
        place = place if place > stops[0] else stops[0]
        place = place if place < stops[1] else stops[1]
        stand[t] = place if x * x + y * y >= 1.0 else np.nan


def weighed(
    sound: float, gain: float, transfer: Floats, flow: Floats, back: float, through: Floats, result: Floats
) -> None:
    """One sum: ``sound + gain * transfer * flow + back * through``.

    Parameters
    ----------
    sound, gain, back : float
    transfer, flow, through : ndarray, shape (n,)
    result : ndarray, shape (n,)
        Filled in.
    """
    for t in range(len(transfer)):
        result[t] = sound + gain * transfer[t] * flow[t] + back * through[t]


def added(weight: float, values: Floats, result: Floats) -> None:
    """Add ``weight * values`` to a result.

    Parameters
    ----------
    weight : float
    values : ndarray, shape (n,)
    result : ndarray, shape (n,)
        Added to.
    """
    for t in range(len(result)):
        result[t] += weight * values[t]


def multiplied(weight: float, one: Floats, other: Floats, result: Floats) -> None:
    """Add ``weight * one * other`` to a result.

    Parameters
    ----------
    weight : float
    one, other : ndarray, shape (n,)
    result : ndarray, shape (n,)
        Added to.
    """
    for t in range(len(result)):
        result[t] += weight * one[t] * other[t]


def flows(drive: Floats, own: Floats, diagonal: Floats, scale: Floats, least: Floats, flow: Floats) -> None:
    """What flows at each second change, from what drives it and how it is coupled to itself.

    Parameters
    ----------
    drive, own, diagonal, scale, least : ndarray, shape (n,)
        See `Seconds`, with the first change in place.
    flow : ndarray, shape (n,)
        Filled in; 0 where the change is redundant beside the first.
    """
    for t in range(len(drive)):
        pivot = diagonal[t] + scale[t] * own[t]
        value = scale[t] * drive[t] / pivot
        flow[t] = value if abs(pivot) > least[t] else 0.0


def stopped(values: Floats, stops: tuple[float, float], stand: Floats) -> None:
    """Needle positions between stops.

    Parameters
    ----------
    values : ndarray, shape (n,)
        [position].
    stops : tuple of two float
        [position].
    stand : ndarray, shape (n,)
        Filled in.
    """
    for t in range(len(values)):
        place = values[t]
        place = place if place > stops[0] else stops[0]
        stand[t] = place if place < stops[1] else stops[1]


def copied(values: Floats, result: Floats) -> None:
    """Copy values.

    Parameters
    ----------
    values : ndarray, shape (n,)
    result : ndarray, shape (n,)
        Filled in.
    """
    for t in range(len(values)):
        result[t] = values[t]


def filled(value: float, result: Floats) -> None:
    """Fill a result with one value.

    Parameters
    ----------
    value : float
    result : ndarray, shape (n,)
        Filled in.
    """
    for t in range(len(result)):
        result[t] = value


def numbered(number: int, numbers: Integers, one: Integers, other: Integers) -> None:
    """The two numbers of each pair in order.

    Parameters
    ----------
    number : int
    numbers : ndarray of int, shape (n,)
    one, other : ndarray of int, shape (n,)
        Filled in.
    """
    for t in range(len(numbers)):
        one[t] = min(number, numbers[t])
        other[t] = max(number, numbers[t])


def put_in_place(
    s: int, low: int, high: int, seconds: Seconds, firsts: Firsts, drive: Floats, own: Floats
) -> None:
    """What drives some seconds and how each is coupled to itself, once a first is in place.

    Parameters
    ----------
    s : int
        The first.
    low, high : int
        From which of the seconds to which.
    seconds : Seconds
    firsts : Firsts
    drive, own : ndarray, shape (high - low,)
        Filled in.
    """
    copied(seconds.drive[low:high], drive)
    copied(seconds.own[low:high], own)
    for e in range(firsts.steps.shape[1]):
        step = firsts.steps[s, e]
        if step != 0.0:
            added(step, seconds.gains[e, low:high], drive)
    for k in range(firsts.rank[s]):
        back = seconds.back[firsts.places[s, k], low:high]
        added(-firsts.solved[s, k], back, drive)
        for m in range(firsts.rank[s]):
            multiplied(-firsts.inverse[s, k, m], back, seconds.forth[firsts.places[s, m], low:high], own)


def weigh(
    s: int,
    low: int,
    high: int,
    seconds: Seconds,
    firsts: Firsts,
    flow: Floats,
    through: Floats,
    values: Floats,
) -> None:
    """The sums of some pairs.

    Parameters
    ----------
    s : int
        The first.
    low, high : int
        From which of the seconds to which.
    seconds : Seconds
    firsts : Firsts
    flow : ndarray, shape (STRIP,)
        From `flows`.
    through : ndarray, shape (k, STRIP)
        Room.
    values : ndarray, shape (sums, STRIP)
        Filled in.
    """
    count = high - low
    for k in range(firsts.rank[s]):
        forth = seconds.forth[firsts.places[s, k], low:high]
        for t in range(count):
            through[k, t] = forth[t] * flow[t]
    for o in range(len(values)):
        # slices as late as this: a part of rows of a larger array would not be known to be without gaps
        result = values[o, :count]
        weighed(
            firsts.sound[s, o],
            -firsts.factor[s, o],
            seconds.transfer[o, low:high],
            flow[:count],
            firsts.outward[s, o, 0],
            through[0, :count],
            result,
        )
        for k in range(1, firsts.rank[s]):
            added(firsts.outward[s, o, k], through[k, :count], result)
        if firsts.more[s, o] != 0.0:
            multiplied(-firsts.more[s, o], seconds.currents[firsts.coil[s], low:high], flow[:count], result)


def settle(
    strips: Strips,
    seconds: Seconds,
    firsts: Firsts,
    dials: Dials,
    positions: Floats,
    reading: Floats,
    one: Integers,
    other: Integers,
    room: Room,
) -> None:
    """Needles and reading of pairs: each first put in place, then its seconds on top of it.

    What is worked out past the end of a strip, so that vectors are whole, is overwritten by the next one.

    Parameters
    ----------
    strips : Strips
    seconds : Seconds
    firsts : Firsts
    dials : Dials
    positions : ndarray, shape (gauges, pairs + WHOLE)
        Filled in.
    reading : ndarray, shape (pairs + WHOLE,)
        Filled in with the last sum; empty if no instrument is read.
    one, other : ndarray of int, shape (pairs + WHOLE,)
        Filled in with the two scenarios, the lower number first.
    room : Room
    """
    drive, own, flow, through, values = room.drive, room.own, room.flow, room.through, room.values
    done, size = 0, len(room.drive)
    for i in range(len(strips.first)):
        s = strips.first[i]
        for strip in range(strips.begin[i], strips.end[i]):
            for low in range(strips.low[strip], strips.high[strip], size):
                real = min(size, strips.high[strip] - low)
                count = (real + strips.whole - 1) // strips.whole * strips.whole
                high = low + count
                put_in_place(s, low, high, seconds, firsts, drive[:count], own[:count])
                flows(
                    drive[:count],
                    own[:count],
                    seconds.diagonal[low:high],
                    seconds.scale[low:high],
                    seconds.least[low:high],
                    flow[:count],
                )
                weigh(s, low, high, seconds, firsts, flow, through, values)
                o = 0
                for g in range(len(dials.share)):
                    stand = positions[g, done : done + count]
                    stops = dials.low[g], dials.high[g]
                    if dials.air_core[g]:
                        turned(values[o, :count], values[o + 1, :count], dials.share[g], stops, stand)
                        o += 2
                    else:
                        stopped(values[o, :count], stops, stand)
                        o += 1
                    if not np.isnan(firsts.held[s, g]):
                        filled(firsts.held[s, g], stand)
                if len(reading):
                    copied(values[o, :count], reading[done : done + count])
                numbered(s, seconds.number[low:high], one[done : done + count], other[done : done + count])
                done += real


@cache
def compiled() -> Callable[..., None]:
    """`settle`, compiled; kept from one run to the next where the package's or one's own folder allows.

    Returns
    -------
    callable
    """
    from numba import njit
    from numba.extending import register_jitable

    # a sum may be contracted with a product: nothing that would let NaN or infinity go wrong. Without numba's
    # own memory no slice is counted, which took a third of the time
    options: dict[str, Any] = {"_nrt": False, "error_model": "numpy", "fastmath": {"contract"}}
    for loop in (
        copied,
        filled,
        turned,
        stopped,
        weighed,
        added,
        multiplied,
        flows,
        put_in_place,
        weigh,
        numbered,
    ):
        register_jitable(**options)(loop)
    try:
        result = njit(cache=True, nogil=True, **options)(settle)
    except RuntimeError:  # nowhere to keep it
        result = njit(nogil=True, **options)(settle)
    return cast("Callable[..., None]", result)
