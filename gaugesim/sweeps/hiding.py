"""Which two faults hide each other: the needle reads right with both, or only one of them shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.reading import respond, see
from gaugesim.reading.response import Response
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.sweeps.all_pairs import PairSweep

READING = "reading"
# two needles, or two readings as a share of the larger of 1 and their size, that look the same
SAME = 0.02


@dataclass(frozen=True)
class Masked:
    """Two faults of which each shows alone, and which together read right.

    Attributes
    ----------
    share : float
        Of their severities, how many [1].
    """

    pair: Pair
    share: float


@dataclass(frozen=True)
class Hiding:
    """What pairs of faults hide from one needle, or from the instrument of the check.

    Attributes
    ----------
    watched : str
        A gauge, or ``"reading"``.
    low, high : float
        Between these it reads right: 5 and 95 % of a sound circuit [position, V or ohm].
    covers : tuple of (Fault, int)
        How many other faults cannot be seen while this one is there, whatever the severities; most first.
    """

    watched: str
    low: float
    high: float
    masked: tuple[Masked, ...]
    covers: tuple[tuple[Fault, int], ...]
    shown: int


@dataclass
class _Counts:
    """For each two faults: how many of their severities are pairs, mask each other, show only one."""

    pairs: NDArray[np.intp]
    masked: NDArray[np.intp]
    behind: NDArray[np.intp]  # rows: the fault that still shows; columns: the one that does not


def hidden(swept: PairSweep) -> tuple[Hiding, ...]:
    """What the pairs of a sweep hide. For each gauge that is driven, and for volts or ohms that are read.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.reading import Situation
    >>> from gaugesim.sweeps.all_pairs import pairs
    >>> from gaugesim.scenario.fault import find_fault
    >>> circuit = find("fuel_two_coil_0_90")
    >>> some = [find_fault(circuit, name) for name in ("fuse=open", "sender_wire=open")]
    >>> for entry in hidden(pairs(Situation.of(circuit), some)):
    ...     print(entry.watched, [(fault.id, count) for fault, count in entry.covers])
    fuel [('fuse=open', 1)]
    """
    sound = see(swept.situation)
    bands = {
        name: (needle.low, needle.high)
        for name, needle in sound.needles.items()
        if needle.low is not None and needle.high is not None
    }
    if sound.reading is not None and sound.reading.kind != "lamp":
        bands[READING] = float(sound.reading.low), float(sound.reading.high)
    alone = _watched(respond(swept.situation, swept.scenarios))
    size = (len(swept.faults),) * 2
    counts = {name: _Counts(*(np.zeros(size, dtype=np.intp) for _ in range(3))) for name in bands}
    off = {name: _off(alone[name], band) for name, band in bands.items()}
    for rows in swept.blocks():
        source = swept.scenarios.source
        faults = source[rows.first], source[rows.second]
        together = _watched(rows.response)
        for name, band in bands.items():
            count, off_first, off_second = counts[name], off[name][rows.first], off[name][rows.second]
            np.add.at(count.pairs, faults, 1)
            np.add.at(count.masked, faults, off_first & off_second & ~_off(together[name], band))
            first = off_second & _same(together[name], alone[name][rows.first])
            second = off_first & _same(together[name], alone[name][rows.second])
            np.add.at(count.behind, faults, first)
            np.add.at(count.behind, faults[::-1], second)
    return tuple(_summary(swept, name, bands[name], off[name], counts[name]) for name in bands)


def _watched(response: Response) -> Mapping[str, Floats]:
    read = {} if response.reading is None else {READING: response.reading}
    return {**response.positions, **read}


def _off(values: Floats, band: tuple[float, float]) -> NDArray[np.bool_]:
    """Whether it reads wrong; a needle that nothing drives does."""
    return ~((values >= band[0]) & (values <= band[1]))


def _same(values: Floats, others: Floats) -> NDArray[np.bool_]:
    close = np.abs(values - others) <= SAME * np.maximum(1.0, np.abs(others))
    return np.asarray(close | (np.isnan(values) & np.isnan(others)))


def _summary(
    swept: PairSweep, name: str, band: tuple[float, float], off: NDArray[np.bool_], counts: _Counts
) -> Hiding:
    faults = swept.faults
    masked = []
    for i, j in zip(*np.nonzero(counts.masked), strict=True):
        masked.append(Masked(Pair(faults[i], faults[j]), counts.masked[i, j] / counts.pairs[i, j]))
    masked.sort(key=lambda entry: -entry.share * entry.pair.first.weight * entry.pair.second.weight)
    shows = np.zeros(len(faults), dtype=bool)
    np.logical_or.at(shows, swept.scenarios.source, off)
    # a fault is behind another where it shows alone at some severities, and beside the other at none of them
    seen_alone = np.bincount(swept.scenarios.source, weights=off, minlength=len(faults))
    each = np.bincount(swept.scenarios.source, minlength=len(faults))
    both = counts.pairs + counts.pairs.T
    wanted = each[:, None] * seen_alone[None, :]
    covered = (both > 0) & (wanted > 0) & (counts.behind == wanted)
    number = covered.sum(axis=1)
    order = sorted(np.flatnonzero(number), key=lambda k: (-number[k], -faults[k].weight))
    covers = tuple((faults[k], int(number[k])) for k in order)
    return Hiding(name, *band, tuple(masked), covers, int(shows.sum()))
