"""Needles and a voltmeter under pairs of faults, where all is linear: one fault in place, others on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gaugesim.reading import Response, Situation
from gaugesim.reading.correction import Correction
from gaugesim.scenario.stack import Scenarios
from gaugesim.solve.network import Integers
from gaugesim.sweep.fused import compiled
from gaugesim.sweep.in_place import changes_of
from gaugesim.sweep.layout import WHOLE, Dials, Firsts, Room, Seconds, Strips
from gaugesim.sweep.paired import PairRows
from gaugesim.sweep.sums import Sums, is_linear

# pairs in a block: its results stay in the processor's cache, and what a call costs does not count
BLOCK = 16384
# what a scenario can be: one change that bears; one that bears only beside another; more than one change,
# which others can be put on top of; none of these
BEARS, WAITS, CARRIES, LONG = range(4)
# which two of them go together
TOGETHER = np.zeros((4, 4), dtype=bool)
TOGETHER[BEARS, :LONG] = TOGETHER[:LONG, BEARS] = TOGETHER[WAITS, CARRIES] = TOGETHER[CARRIES, WAITS] = True


@dataclass(frozen=True)
class Quick:
    """The pairs of scenarios of a situation that go the short way.

    Attributes
    ----------
    place : Situation
    scenarios : Scenarios
        One row for each severity of each fault, by fault.
    apart : ndarray of bool, shape (faults, faults)
        Which faults make a pair that may go this way.
    """

    place: Situation
    scenarios: Scenarios
    apart: NDArray[np.bool_]

    @cached_property
    def _sums(self) -> Sums:
        return Sums.of(self.place)

    @cached_property
    def _changes(self) -> tuple[Seconds, Firsts]:
        place = self.place
        changes = Correction(place.factored[0], place.outputs, self.scenarios, place.decided(place.network))
        return changes_of(self.scenarios, changes, self._sums)

    @cached_property
    def kind(self) -> Integers:
        """What each scenario can be, shape (n,)."""
        result = np.full(len(self.scenarios), LONG)
        if is_linear(self.place):
            seconds, firsts = self._changes
            result[firsts.fits] = CARRIES
            result[seconds.number[: len(seconds.bears)]] = np.where(seconds.bears, BEARS, WAITS)
        return result

    def takes(self, some: slice) -> NDArray[np.bool_]:
        """Which pairs go this way.

        Parameters
        ----------
        some : slice
            Of the scenarios.

        Returns
        -------
        ndarray of bool, shape (some, n)
            With every scenario.
        """
        source, kind = self.scenarios.source, self.kind
        return np.asarray(self._apart_from[source[some]] & TOGETHER[:, kind][kind[some]])

    @cached_property
    def _apart_from(self) -> NDArray[np.bool_]:
        """Which scenarios each fault makes a pair with: whole rows of it are taken."""
        return self.apart[:, self.scenarios.source]

    @cached_property
    def _strips(self) -> Strips:
        """For each fault, and each kind of first, the strips of its seconds."""
        seconds, _ = self._changes
        source = self.scenarios.source
        first = np.flatnonzero((self.kind == BEARS) | (self.kind == CARRIES))
        # scenarios of one fault and kind have the same seconds
        keys, key = np.unique(np.stack([source[first], self.kind[first]]), axis=1, return_inverse=True)
        fault, carries = keys[0], keys[1] == CARRIES
        number = seconds.number[: len(seconds.bears)]
        # of two that can be either, the later fault is put on top
        wanted = carries[:, None] | (source[number] > fault[:, None]) | ~seconds.bears
        wanted &= self._apart_from[fault][:, number]
        edges = np.diff(wanted, axis=1, prepend=False, append=False)
        row, column = np.nonzero(edges)
        begin = np.searchsorted(row[::2], np.arange(len(fault)), "left")
        end = np.searchsorted(row[::2], np.arange(len(fault)), "right")
        key = key.ravel()
        has_any = (end > begin)[key]
        first, key = first[has_any], key[has_any]
        return Strips(
            first,
            begin[key],
            end[key],
            np.ascontiguousarray(column[::2]),
            np.ascontiguousarray(column[1::2]),
            WHOLE,
        )

    @cached_property
    def _dials(self) -> Dials:
        gauges = self.place.gauges
        spans = np.array([np.radians(abs(gauge.degrees_high - gauge.degrees_low)) for gauge in gauges])
        air_core = np.array([gauge.movement == "air_core" for gauge in gauges], dtype=bool)
        low, high = (np.array([gauge.stops[k] for gauge in gauges], dtype=float) for k in (0, 1))
        return Dials(air_core, 1 / np.where(air_core, spans, 1.0), low, high)

    def blocks(self, size: int = BLOCK) -> Iterator[PairRows]:
        """What each pair shows.

        Parameters
        ----------
        size : int, optional
            Pairs in a block [1]; more only where one scenario has more by itself.

        Yields
        ------
        PairRows
        """
        if np.all(self.kind == LONG):
            return
        seconds, firsts = self._changes
        strips = self._strips
        lengths = np.cumsum(np.append(0, strips.high - strips.low))
        counts = np.cumsum(np.append(0, lengths[strips.end] - lengths[strips.begin]))
        settle, gauges, read = compiled(), self._sums.gauges, self.place.check.reads == "volts"
        room = Room.of(firsts)
        start = 0
        while start < len(strips.first):
            end = max(start + 1, int(np.searchsorted(counts, counts[start] + size, "right")) - 1)
            count = int(counts[end] - counts[start])
            now = slice(start, end)
            some = strips._replace(first=strips.first[now], begin=strips.begin[now], end=strips.end[now])
            shown = np.empty((len(gauges) + read, count + WHOLE))
            rows = np.empty((2, count + WHOLE), dtype=np.intp)
            reading = shown[-1] if read else np.empty(0)
            settle(some, seconds, firsts, self._dials, shown[: len(gauges)], reading, rows[0], rows[1], room)
            shown, rows = shown[:, :count], rows[:, :count]
            response = Response(
                dict(zip(gauges, shown, strict=False)),
                shown[-1] if read else None,
                np.broadcast_to(False, count),
                np.broadcast_to(1.0, count),
            )
            yield PairRows(rows[0], rows[1], response)
            start = end
