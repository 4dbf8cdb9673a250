"""Repairs alone, one after the other until the complaint is gone: the best order, and what it takes.

With one fault, and each repair helping or not, the order by probability over minutes is best. Where repairs
lie at places that take time to open, the likeliest-for-their-minutes ones of a closed place make up one job
together with opening it: as many of them as make its probability over minutes largest.

Source: J. B. Kadane, H. A. Simon, "Optimal strategies for a class of constrained sequential problems", Annals
of Statistics 5 (1977) 237; H. Langseth, F. V. Jensen, "Decision theoretic troubleshooting of coherent
systems", Reliability Engineering and System Safety 80 (2003) 49; both from memory, so the tests compare the
order with every other one.
"""

from __future__ import annotations

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.planning.compacted import Batch, Compact
from gaugesim.planning.problem import Integers

_TINY, _HUGE = 1e-300, 1e300
# keeps the repairs of one job together, and in order
_TILT = 1e-7
# as many as a processor's cache holds
_ROWS_AT_ONCE = 4_000


def repair_minutes(compact: Compact, batch: Batch) -> Floats:
    """Expected time until the fault is mended, if nothing is checked any more, times the row's weight.

    Returns
    -------
    ndarray, shape (n,)
        [min]
    """
    return repairs_alone(compact, batch)[0]


def repairs_alone(compact: Compact, batch: Batch) -> tuple[Floats, Floats]:
    """The same, and when each repair is made and seen to help or not, in the best order.

    Returns
    -------
    minutes : ndarray, shape (n,)
        [min]
    times : ndarray, shape (n, repairs)
        Counted from now [min].
    """
    if len(batch) > _ROWS_AT_ONCE:
        blocks = [slice(i, i + _ROWS_AT_ONCE) for i in range(0, len(batch), _ROWS_AT_ONCE)]
        parts = [repairs_alone(compact, batch.take(block)) for block in blocks]
        return np.concatenate([entry[0] for entry in parts]), np.concatenate([entry[1] for entry in parts])
    chance, rate, setup = _jobs(compact, batch)
    columns = np.arange(len(batch))
    order = _rising(np.ascontiguousarray(rate.T))[:, ::-1]
    where = order * len(batch) + columns[:, None]
    position = np.empty(chance.size, dtype=np.intp)
    position[where] = np.arange(len(chance))
    first = np.minimum.reduceat(position.reshape(chance.shape), compact.place_begins, axis=0)
    own = compact.repair_minutes[compact.by_place].take(order)
    # each place is opened for the first repair there
    own[columns, first] += setup
    ends = np.empty(chance.size)
    ends[where] = np.cumsum(own, axis=1)
    by_place = ends.reshape(chance.shape)
    minutes: Floats = np.einsum("ij,ij->j", chance, by_place)
    times = np.empty(chance.shape)
    times[compact.by_place] = by_place
    return minutes, times.T


def known_fault_minutes(compact: Compact, batch: Batch) -> Floats:
    """Expected time to open and mend if the fault were known, times the row's weight, shape (n,) [min]."""
    opening = (batch.closed * compact.setup_minutes)[:, compact.repair_place]
    minutes: Floats = (compact.by_repair(batch.weight) * (compact.repair_minutes + opening)).sum(axis=1)
    return minutes


def urgency(compact: Compact, batch: Batch) -> Floats:
    """Probability over minutes of each repair, or of the job that it is a part of: the highest comes first.

    Returns
    -------
    ndarray, shape (n, repairs)
        [1/min]
    """
    rate = np.empty((compact.repairs, len(batch)))
    rate[compact.by_place] = _jobs(compact, batch)[1]
    return rate.T


def _jobs(compact: Compact, batch: Batch) -> tuple[Floats, Floats, Floats]:
    """Probability of each repair and its urgency, by place, a column for each state; set-up of the places."""
    minutes = compact.repair_minutes[compact.by_place][:, None]
    holds, lasts = compact.place_holds, compact.place_lasts
    chance = compact.mends_by_place @ batch.weight.T
    own = chance / minutes
    places = compact.repair_place[compact.by_place[compact.place_begins]]
    block = np.argmax(holds, axis=0)
    setup = compact.setup_minutes[places, None] * batch.closed.T[places]
    rate = (holds @ chance) / (lasts.sum(axis=1)[:, None] + setup)
    # at an open place each repair is a job of its own, so the loop need not find that
    np.copyto(rate, _HUGE, where=setup == 0)
    # leaving out whatever lowers the rate raises it until nothing does
    while True:
        bar = rate.take(block, axis=0)
        joins = own >= bar
        joined = joins.astype(np.float64)
        higher = (holds @ (joined * chance)) / (lasts @ joined + setup + _TINY)
        if (higher <= rate * (1 + _TILT)).all():
            break
        np.maximum(higher, rate, out=rate)
    first = (own.max(axis=0) + _TINY) / _TILT
    # as `np.where` does, but much faster where they lie mixed
    urgent = joined * (bar * (1 + own / first)) + (1.0 - joined) * own
    return chance, urgent, setup


def _rising(values: Floats) -> Integers:
    """Order of each row's numbers, not negative, from the lowest; much faster than ``argsort``.

    Such floats sort as whole numbers; the lowest bits, far below what matters, carry the index.
    """
    index = (1 << values.shape[1].bit_length()) - 1
    keys = (values.view(np.int64) & ~index) | np.arange(values.shape[1])
    keys.sort(axis=1)
    order: Integers = (keys & index).astype(np.intp, copy=False)
    return order
