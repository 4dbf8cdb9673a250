"""Every pair of faults at every severity, in one state under one check, from one solution, block by block."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gaugesim.errors import CaseError
from gaugesim.reading import Situation, respond
from gaugesim.scenario.fault import Change, Fault, all_faults
from gaugesim.scenario.stack import Scenarios, stack
from gaugesim.solve.network import Integers
from gaugesim.sweep.paired import PairRows, combined, paired
from gaugesim.sweep.quick import Quick
from gaugesim.sweep.singles import SEVERITIES, fault_rows

# rows of pairs that are worked on at a time on the long way
ROWS = 4096
# what every place of change does to every scenario stands in memory, some hundred megabytes at this number
MOST_FAULTS = 2000
# scenarios whose pairs are looked through at a time
TAKEN = 256


@dataclass(frozen=True)
class PairSweep:
    """Every pair of faults at every severity in one situation.

    Two faults make a pair unless they are two ways in which one part changes the same thing: a wire is not
    open and merely poor, but it can be open and chafed.

    Attributes
    ----------
    place : Situation
    faults : tuple of Fault
    scenarios : Scenarios
        The faults alone, one row for each severity; its ``source`` is the fault's number.
    """

    place: Situation
    faults: tuple[Fault, ...]
    scenarios: Scenarios

    def __len__(self) -> int:
        """Number of pairs of scenarios."""
        counts = np.bincount(self.scenarios.source, minlength=len(self.faults))
        return int(counts @ self.apart @ counts) // 2

    @cached_property
    def _touched(self) -> tuple[frozenset[object], ...]:
        """What each fault decides: branches, sources, parameters, needles and coils; no paths."""
        rows = self.scenarios
        found: list[set[object]] = [set() for _ in self.faults]
        for column, name in enumerate(rows.branches):
            for k in np.unique(rows.source[(rows.column == column).any(axis=1)]):
                found[k].add(name)
        for field, unchanged in (
            ("volts", np.nan), ("parameters", np.nan), ("stuck", np.nan), ("turns", 1.0), ("strength", 1.0)
        ):  # fmt: skip
            for name, values in getattr(rows, field).items():
                moved = ~np.isnan(values) if np.isnan(unchanged) else values != unchanged
                key = name if field == "volts" else (field, name)
                for k in np.unique(rows.source[moved]):
                    found[k].add(key)
        return tuple(map(frozenset, found))

    @cached_property
    def _shares(self) -> NDArray[np.bool_]:
        """Which faults decide the same thing, whatever their parts."""
        return np.array(
            [[not mine.isdisjoint(other) for other in self._touched] for mine in self._touched], dtype=bool
        ).reshape(len(self.faults), len(self.faults))

    @cached_property
    def apart(self) -> NDArray[np.bool_]:
        """Which faults make a pair, shape (faults, faults)."""
        parts = np.array([fault.part.id for fault in self.faults])
        same = (parts[:, None] == parts[None, :]) & self._shares
        return np.asarray(~same & ~np.eye(len(parts), dtype=bool))

    @cached_property
    def _mixed(self) -> NDArray[np.bool_]:
        """Which pairs have to be worked out together: one moves what the other acts on or reads."""
        netlist = self.place.circuit.netlist
        count = len(self.faults)
        result = np.zeros((count, count), dtype=bool)
        sets = [
            frozenset(key[1] for key in touched if isinstance(key, tuple) and key[0] == "parameters")
            for touched in self._touched
        ]
        reads = [
            netlist.needed_by({name for one in fault.mode.set.values() for name in one.names} - {"x"})
            for fault in self.faults
        ]
        moves = [frozenset(element.name for element in netlist.moved_by(names)) for names in sets]
        for k in np.flatnonzero([bool(names) for names in sets]):
            for other, theirs in enumerate(self._touched):
                decides = moves[other] | theirs
                result[k, other] = not (moves[k].isdisjoint(decides) and sets[k].isdisjoint(reads[other]))
        return np.asarray((result | result.T) & self.apart)

    @cached_property
    def quick(self) -> Quick:
        """The pairs that go the short way."""
        return Quick(self.place, self.scenarios, self.apart & ~self._shares & ~self._mixed)

    def blocks(self) -> Iterator[PairRows]:
        """What every pair shows, in no particular order; the first of a pair stands before the second.

        Yields
        ------
        PairRows
        """
        yield from self.quick.blocks()
        yield from self._stacked()
        yield from self._combined()

    def _stacked(self) -> Iterator[PairRows]:
        """Pairs of scenarios that are simply put together."""
        rows = self.scenarios
        number = np.arange(len(rows))
        apart = (self.apart & ~self._mixed)[:, rows.source]
        used = (rows.column >= 0).sum(axis=1)
        # those with many columns keep to themselves: a batch is as wide as its widest row
        waiting: dict[bool, list[tuple[Integers, Integers]]] = {False: [], True: []}
        for start in range(0, len(rows), TAKEN):
            some = slice(start, start + TAKEN)
            wanted = apart[rows.source[some]] & (number[some, None] < number) & ~self.quick.takes(some)
            first, second = np.nonzero(wanted)
            first += start
            wide = used[first] + used[second] > 2
            for is_wide, list_of in waiting.items():
                list_of.append((first[wide == is_wide], second[wide == is_wide]))
                if sum(len(more) for _, more in list_of) >= ROWS:
                    yield from self._respond(list_of)
                    list_of.clear()
        for list_of in waiting.values():
            yield from self._respond(list_of)

    def _respond(self, parts: Sequence[tuple[Integers, Integers]]) -> Iterator[PairRows]:
        if not parts:
            return
        first, second = (np.concatenate(each) for each in zip(*parts, strict=True))
        for start in range(0, len(first), ROWS):
            some = slice(start, start + ROWS)
            both = paired(self.scenarios, first[some], second[some])
            yield PairRows(first[some], second[some], respond(self.place, both))

    def _combined(self) -> Iterator[PairRows]:
        """Pairs whose two faults have to be worked out together."""
        for first, second, both in self._mixed_rows:
            yield PairRows(first, second, respond(self.place, both))

    @cached_property
    def _mixed_rows(self) -> tuple[tuple[Integers, Integers, Scenarios], ...]:
        """These pairs, worked out: a few in a hundred of all, but each takes the netlist's own arithmetic."""
        rows = self.scenarios
        starts = np.searchsorted(rows.source, np.arange(len(self.faults) + 1))
        found: list[tuple[Integers, Integers, Scenarios]] = []
        changes: list[Change] = []
        numbers: list[tuple[Integers, Integers]] = []

        def finish() -> None:
            first, second = (np.concatenate(each) for each in zip(*numbers, strict=True))
            found.append((first, second, stack(changes)))
            changes.clear()
            numbers.clear()

        for i, j in zip(*np.nonzero(np.triu(self._mixed)), strict=True):
            one, other = (np.arange(starts[k], starts[k + 1]) for k in (i, j))
            faults = (self.faults[i], self.faults[j])
            severities = (rows.severity[one], rows.severity[other])
            changes.append(combined(self.place.circuit, faults, severities, self.place.parameters))
            numbers.append((np.repeat(one, len(other)), np.tile(other, len(one))))
            if sum(len(each) for each, _ in numbers) >= ROWS:
                finish()
        if changes:
            finish()
        return tuple(found)


def pairs(place: Situation, faults: Sequence[Fault] | None = None, count: int = SEVERITIES) -> PairSweep:
    """What every pair of faults shows in a situation.

    Parameters
    ----------
    place : Situation
    faults : sequence of Fault, optional
        All that the sheet knows if left out.
    count : int, optional
        Severities of equal prior weight, beside the typical one [1].

    Returns
    -------
    PairSweep

    Raises
    ------
    CaseError
        If there are more than `MOST_FAULTS`.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.reading import situation
    >>> swept = pairs(situation(find("temp_two_coil")))
    >>> sum(len(block.first) for block in swept.blocks()) == len(swept)
    True
    """
    known = tuple(all_faults(place.circuit) if faults is None else faults)
    if len(known) > MOST_FAULTS:
        raise CaseError(
            f"{place.circuit.id} has {len(known):,} faults; pairs are worked out of {MOST_FAULTS:,} at most",
            "",
            "look at them one at a time, or have a sheet that names fewer parts",
        )
    return PairSweep(place, known, fault_rows(place.circuit, known, place, count))
