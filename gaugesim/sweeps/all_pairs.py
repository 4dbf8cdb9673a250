"""Every pair of faults at every severity, in one state under one check, from one solution, block by block."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.errors import CaseError
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.correction import Correction
from gaugesim.reading.instruments import SOUNDING_OHMS, settled_lamp_ohms, with_lamp
from gaugesim.reading.response import interpret
from gaugesim.scenario.check import LAMP, METER
from gaugesim.scenario.fault import Change, Fault, all_faults
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.solve import nodal
from gaugesim.solve.network import Integers
from gaugesim.sweeps.in_place import InPlace
from gaugesim.sweeps.paired import PairRows, combined, every_two
from gaugesim.sweeps.singles import SEVERITIES, fault_rows

# pairs that are worked on at a time: what is between stays in the processor's cache
BLOCK = 8192
# of those that are worked out together
ROWS = 4096
# what every place of change does to every scenario stands in memory, some hundred megabytes at this number
MOST_FAULTS = 2000


@dataclass(frozen=True)
class PairSweep:
    """Every pair of faults at every severity in one situation.

    Two faults make a pair unless they are two ways in which one part changes the same thing: a wire is not
    open and merely poor, but it can be open and chafed.

    Attributes
    ----------
    scenarios : Scenarios
        The faults alone, one row for each severity; its ``source`` is the fault's number.
    """

    situation: Situation
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
        touched: list[set[object]] = [set() for _ in self.faults]
        for column, name in enumerate(rows.branches):
            for k in np.unique(rows.source[(rows.column == column).any(axis=1)]):
                touched[k].add(name)
        for field, unchanged in (
            ("volts", np.nan), ("parameters", np.nan), ("stuck", np.nan), ("turns", 1.0), ("strength", 1.0)
        ):  # fmt: skip
            for name, values in getattr(rows, field).items():
                moved = ~np.isnan(values) if np.isnan(unchanged) else values != unchanged
                key = name if field == "volts" else (field, name)
                for k in np.unique(rows.source[moved]):
                    touched[k].add(key)
        return tuple(map(frozenset, touched))

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
        netlist = self.situation.circuit.netlist
        count = len(self.faults)
        result = np.zeros((count, count), dtype=bool)
        sets = [
            frozenset(key[1] for key in touched if isinstance(key, tuple) and key[0] == "parameters")
            for touched in self._touched
        ]
        reads = [
            netlist.needed_by({name for each in fault.mode.set.values() for name in each.names} - {"x"})
            for fault in self.faults
        ]
        moves = [frozenset(element.name for element in netlist.moved_by(names)) for names in sets]
        for k in np.flatnonzero([bool(names) for names in sets]):
            for other, theirs in enumerate(self._touched):
                decides = moves[other] | theirs
                result[k, other] = not (moves[k].isdisjoint(decides) and sets[k].isdisjoint(reads[other]))
        return np.asarray((result | result.T) & self.apart)

    @cached_property
    def _networks(self) -> tuple[tuple[InPlace, ...], ...]:
        """The scenarios in each network; with a test lamp, at two resistances of it in turn."""
        situation, networks = (
            self.situation,
            [(network, self.situation.outputs) for network in self.situation.phases],
        )
        if situation.meter is not None:
            networks.append((situation.meter, (situation.meter.branch(METER),)))
        return tuple(
            tuple(
                InPlace(Correction(factored, outputs, self.scenarios, situation.decided(network)))
                for factored in (
                    [nodal.factor(network.with_ohms({LAMP: ohms})) for ohms in SOUNDING_OHMS]
                    if situation.has_lamp
                    else [nodal.factor(network)]
                )
            )
            for network, outputs in networks
        )

    @cached_property
    def rank(self) -> Integers:
        """How many changes each scenario makes in a network, at most, shape (n,)."""
        return np.asarray(np.max([network.rank for each in self._networks for network in each], axis=0))

    @cached_property
    def bears(self) -> NDArray[np.bool_]:
        """Whether each scenario makes a difference by itself, so that it can be put in place, shape (n,)."""
        return np.asarray(np.all([network.bears for each in self._networks for network in each], axis=0))

    @cached_property
    def _drives(self) -> NDArray[np.bool_]:
        return np.asarray(np.any([network.drives for each in self._networks for network in each], axis=0))

    @cached_property
    def combined(self) -> NDArray[np.bool_]:
        """Which pairs of faults are worked out together, since neither can be put on top of the other."""

        def any_of(rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
            return np.bincount(self.scenarios.source, weights=rows, minlength=len(self.faults)) > 0

        waits, drives = any_of(~self.bears), any_of(self._drives)
        neither = waits & drives
        result = np.outer(waits, waits) | np.outer(drives, drives) | neither[:, None] | neither
        return np.asarray((result | self._shares | self._mixed) & self.apart)

    def blocks(self, size: int = BLOCK) -> Iterator[PairRows]:
        """What every pair shows, in no particular order; the first of a pair stands before the second.

        Parameters
        ----------
        size : int, optional
            Pairs that are worked on at a time [1].
        """
        # sources are changed first, and what makes no difference by itself comes last
        order = np.lexsort((-self.rank, ~self.bears, ~self._drives))
        firsts = np.flatnonzero(self.bears[order])
        for wide in (False, True):
            seconds = np.flatnonzero((self.rank[order] > 1) == wide)
            start = 0
            while start < len(firsts) and len(seconds := seconds[seconds > firsts[start]]):
                some = firsts[start : start + max(1, size // len(seconds))]
                start += len(some)
                wanted = (some[:, None] < seconds) & self._simple[order[some]][:, order[seconds]]
                if wanted.any():
                    yield self._on_top(order[some], order[seconds], wanted)
        for first, second, both in self._combined:
            yield PairRows(first, second, respond(self.situation, both))

    @cached_property
    def _simple(self) -> NDArray[np.bool_]:
        """Which scenarios go on top of which."""
        source = self.scenarios.source
        return np.asarray((self.apart & ~self.combined)[source][:, source])

    def _on_top(self, first: Integers, second: Integers, wanted: NDArray[np.bool_]) -> PairRows:
        """Some scenarios put in place, and others on top of each."""
        situation = self.situation
        phases: list[Floats] = []
        lamp_ohms = None
        for networks in self._networks:
            currents = [network.currents(first, second).reshape(-1, wanted.size) for network in networks]
            if situation.has_lamp:
                lamp = situation.outputs.index(situation.network.branch(LAMP))
                if lamp_ohms is None:
                    lamp_ohms = settled_lamp_ohms(currents[0][lamp], currents[1][lamp])
                currents = [with_lamp(currents[0], currents[1], lamp, lamp_ohms)]
            phases.append(currents[0].T)
        metered = None if situation.meter is None else phases.pop()[:, 0]
        unit = situation.circuit.sheet.regulator
        both = every_two(
            self.scenarios,
            first,
            second,
            [gauge.element for gauge in situation.gauges if gauge.element],
            [name for name in (unit.design_volts, unit.dropout_volts) if name] if unit else [],
        )
        shown = interpret(situation, both, phases, lamp_ohms, metered)
        taken = wanted.ravel()
        first, second = (each[wanted] for each in np.broadcast_arrays(first[:, None], second))
        return PairRows(
            np.minimum(first, second),
            np.maximum(first, second),
            Response(
                {name: stand[taken] for name, stand in shown.positions.items()},
                None if shown.reading is None else shown.reading[taken],
                shown.pulses[taken],
                shown.duty[taken],
            ),
        )

    @cached_property
    def _combined(self) -> tuple[tuple[Integers, Integers, Scenarios], ...]:
        """Pairs worked out together: a few in a hundred, but each takes the netlist's own arithmetic."""
        rows = self.scenarios
        starts = np.searchsorted(rows.source, np.arange(len(self.faults) + 1))
        blocks: list[tuple[Integers, Integers, Scenarios]] = []
        changes: list[Change] = []
        numbers: list[tuple[Integers, Integers]] = []

        def finish() -> None:
            first, second = (np.concatenate(each) for each in zip(*numbers, strict=True))
            blocks.append((first, second, stack(changes)))
            changes.clear()
            numbers.clear()

        for i, j in zip(*np.nonzero(np.triu(self.combined)), strict=True):
            own, other = (np.arange(starts[k], starts[k + 1]) for k in (i, j))
            faults = (self.faults[i], self.faults[j])
            severities = (rows.severity[own], rows.severity[other])
            changes.append(combined(self.situation.circuit, faults, severities, self.situation.parameters))
            numbers.append((np.repeat(own, len(other)), np.tile(other, len(own))))
            if sum(len(each) for each, _ in numbers) >= ROWS:
                finish()
        if changes:
            finish()
        return tuple(blocks)


def pairs(situation: Situation, faults: Sequence[Fault] | None = None, count: int = SEVERITIES) -> PairSweep:
    """What every pair of faults shows in a situation.

    Raises
    ------
    CaseError
        If there are more than `MOST_FAULTS`.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.reading import Situation
    >>> swept = pairs(Situation.of(find("temp_two_coil")))
    >>> sum(len(block.first) for block in swept.blocks()) == len(swept)
    True
    """
    listed = tuple(all_faults(situation.circuit) if faults is None else faults)
    if len(listed) > MOST_FAULTS:
        raise CaseError(
            f"{situation.circuit.id} has {len(listed):,} faults; "
            f"pairs are worked out of {MOST_FAULTS:,} at most",
            "",
            "look at them one at a time, or have a sheet that names fewer parts",
        )
    return PairSweep(situation, listed, fault_rows(situation.circuit, listed, situation, count))
