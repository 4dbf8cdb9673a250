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

from gaugesim.plan.compact import Batch, Compact
from gaugesim.plan.problem import Floats, Integers

_TINY = 1e-300
# keeps the repairs of one job together, and in order
_TILT = 1e-7
# as many as a processor's cache holds
_ROWS_AT_ONCE = 4_000


def repair_minutes(compact: Compact, batch: Batch) -> Floats:
    """Expected time until the fault is mended, if nothing is checked any more, times the row's weight.

    Parameters
    ----------
    compact : Compact
    batch : Batch

    Returns
    -------
    ndarray, shape (n,)
        [min]
    """
    if len(batch) > _ROWS_AT_ONCE:
        blocks = [slice(i, i + _ROWS_AT_ONCE) for i in range(0, len(batch), _ROWS_AT_ONCE)]
        return np.concatenate([repair_minutes(compact, batch.take(block)) for block in blocks])
    chance = compact.by_repair(batch.weight)
    order = _rising(_urgency(compact, batch, chance))
    rows = np.arange(len(order))[:, None]
    # weight of this repair and of all that come after it: what is left when it is begun
    left = np.cumsum(chance[rows, order], axis=1)
    total: Floats = (left * compact.repair_minutes[order]).sum(axis=1)
    place = compact.repair_place[order]
    for k in np.flatnonzero(batch.closed.any(axis=0)):
        total += compact.setup_minutes[k] * batch.closed[:, k] * np.where(place == k, left, 0.0).max(axis=1)
    return total


def urgency(compact: Compact, batch: Batch) -> Floats:
    """Probability over minutes of each repair, or of the job that it is a part of: the highest comes first.

    Parameters
    ----------
    compact : Compact
    batch : Batch

    Returns
    -------
    ndarray, shape (n, repairs)
        [1/min]
    """
    return _urgency(compact, batch, compact.by_repair(batch.weight))


def _urgency(compact: Compact, batch: Batch, chance: Floats) -> Floats:
    own = chance / compact.repair_minutes
    closed = np.flatnonzero(batch.closed.any(axis=0) & compact.located.any(axis=0))
    if not closed.size:
        return own
    # the last column stands for every place that is open
    place = np.full(len(compact.setup_minutes), len(closed))
    place[closed] = np.arange(len(closed))
    place = place[compact.repair_place]
    located = compact.located[:, closed]
    minutes = compact.repair_minutes[:, None] * located
    setup = batch.closed[:, closed] * compact.setup_minutes[closed]
    rate = (chance @ located) / (minutes.sum(axis=0) + setup)
    never = np.full((len(batch), 1), np.inf)
    # leaving out whatever lowers the rate raises it until nothing does
    while True:
        bar = np.concatenate([np.where(setup > 0, rate, np.inf), never], axis=1)[:, place]
        joins = own >= bar
        higher = ((chance * joins) @ located) / (joins @ minutes + setup + _TINY)
        if np.all(higher <= rate * (1 + _TILT)):
            break
        rate = np.maximum(higher, rate)
    first = own.max(axis=1, keepdims=True) + _TINY
    return np.where(joins, bar * (1 + _TILT * own / first), own)


def _rising(values: Floats) -> Integers:
    """Order of each row's numbers, not negative, from the lowest; much faster than ``argsort``.

    Such floats sort as whole numbers; the lowest bits, far below what matters, carry the index.
    """
    index = (1 << values.shape[1].bit_length()) - 1
    keys = (values.view(np.int64) & ~index) | np.arange(values.shape[1])
    keys.sort(axis=1)
    order: Integers = (keys & index).astype(np.intp, copy=False)
    return order
