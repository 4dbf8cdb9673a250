"""A batch of scenarios as small corrections of one solved network."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.reading.situations import Decided
from gaugesim.scenario.check import LAMP
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.solve import nodal
from gaugesim.solve.network import Integers
from gaugesim.solve.nodal import Factored

# from branch to the scenarios that set it, ascending, and its change there with each tolerance variable, of
# shape (variables, those scenarios)
OwnSteps = Mapping[str, tuple[Integers, Floats]]


def source_steps(factored: Factored, scenarios: Scenarios, decided: Decided) -> list[tuple[int, Floats]]:
    """How each scenario changes the right-hand side by its own source voltages.

    Returns
    -------
    list of (int, ndarray of shape (n,))
        Row of the equations [1], and the change there [V].
    """
    network = factored.network
    steps = []
    for name, volts in scenarios.volts.items():
        k = network.branch(name)
        if name not in decided.branches and np.isfinite(network.ohms[k]):
            steps.append((len(network.nodes) + k, np.where(np.isnan(volts), 0.0, volts - network.volts[k])))
    return steps


def shifted(
    factored: Factored, rows: tuple[Integers, Floats], steps: Sequence[tuple[int, Floats]], count: int
) -> Floats:
    """``Q'x`` for each scenario with its own source voltages, shape (count, rows)."""
    base = np.broadcast_to(factored.pick(rows), (count, len(rows[0])))
    for row, step in steps:
        base = base + step[:, None] * source_gain(factored, rows, row)
    return base


def source_gain(factored: Factored, rows: tuple[Integers, Floats], row: int) -> Floats:
    """What each output gains by one volt more in a row of the equations, shape (rows,)."""
    column = np.array([[row, factored.size]]), np.array([[1.0, 0.0]])
    return factored.transfer(rows, column)[:, 0]


class Correction:
    """A batch of scenarios as small corrections of one factored network.

    Parameters
    ----------
    lamp_ohms : ndarray, shape (n,), optional
        Resistance of the test lamp in each scenario [ohm].

    Attributes
    ----------
    joins : bool
        Whether some scenario joins what is cut off in the network to anything else.
    """

    def __init__(
        self,
        factored: Factored,
        outputs: Sequence[int],
        scenarios: Scenarios,
        decided: Decided,
        lamp_ohms: Floats | None = None,
    ) -> None:
        self.factored, self.scenarios = factored, scenarios
        network = factored.network
        branches = network.branch_numbers(scenarios.branches)
        paths = network.node_numbers(chain.from_iterable(scenarios.paths)).reshape(-1, 2)
        is_decided = map(decided.branches.__contains__, scenarios.branches)
        held = np.append(np.fromiter(is_decided, dtype=bool), np.full(len(paths), decided.paths))
        column, ohms = scenarios.column, scenarios.ohms
        if lamp_ohms is not None:
            # the lamp's branch stands between the other branches and the paths
            column = np.where(column >= len(branches), column + 1, column)
            column = np.concatenate([column, np.full((len(column), 1), len(branches))], axis=1)
            ohms = np.concatenate([ohms, lamp_ohms[:, None]], axis=1)
            held = np.insert(held, len(branches), False)
            branches = np.append(branches, network.branch(LAMP))
        columns = factored.columns(branches, paths)
        if not held.size:
            column, ohms = column[:, :0], ohms[:, :0]
        used = (column >= 0) & ~np.append(held, True)[column]
        index = np.maximum(column, 0)
        amount = np.where(used, columns.amount(index, ohms), 0.0)
        self.columns, self.index, self.amount = factored.freed(columns, index, amount)
        self.joins = self.columns is not columns
        self.rows = factored.rows([(len(network.nodes) + k, factored.size) for k in outputs])
        self.volts = source_steps(factored, scenarios, decided)

    @property
    def _p(self) -> tuple[Integers, Floats]:
        return self.columns.p_index, self.columns.p_sign

    @property
    def _q(self) -> tuple[Integers, Floats]:
        return self.columns.q_index, self.columns.q_sign

    def _shifted(self, rows: tuple[Integers, Floats]) -> Floats:
        return shifted(self.factored, rows, self.volts, len(self.index))

    @cached_property
    def corrections(self) -> Floats:
        """The a of each scenario's changes, shape (n, k)."""
        if not self.index.size:
            return np.zeros(self.index.shape)
        drive = self.factored.pick(self._q)[self.index]
        for row, step in self.volts:
            drive = drive + step[:, None] * source_gain(self.factored, self._q, row)[self.index]
        return nodal.corrections(self._small(), drive, self.amount)

    def _small(self) -> Floats:
        return self.factored.coupling(self.columns, self.index)

    def currents(self, outputs: Sequence[int] | None = None) -> Floats:
        """Branch currents, shape (n, outputs) [A].

        Parameters
        ----------
        outputs : sequence of int, optional
            Which of the outputs, by number; all if left out.
        """
        rows = self._of(outputs)
        transfer = self.factored.transfer(rows, self._p)  # (outputs, columns)
        if not self.index.size:
            return self._shifted(rows)
        taken = transfer.T[self.index]  # (n, k, outputs)
        return np.asarray(self._shifted(rows) - np.einsum("nk,nko->no", self.corrections, taken))

    def _of(self, outputs: Sequence[int] | None) -> tuple[Integers, Floats]:
        """The rows of some outputs."""
        return self.rows if outputs is None else (self.rows[0][[*outputs]], self.rows[1][[*outputs]])

    def moves(self, ohm_steps: Floats, voltage_steps: Floats, own: OwnSteps | None = None) -> Moves:
        """How the currents move with each tolerance variable, to first order.

        Parameters
        ----------
        ohm_steps, voltage_steps : ndarray, shape (variables, branches)
            Change of each branch's resistance [ohm] and electromotive force [V] for one deviation.
        own : mapping, optional
            From branch to the scenarios that set it, and the same change there [ohm or V].
        """
        network = self.factored.network
        n = len(network.nodes)
        able = np.isfinite(network.ohms)
        moved = np.flatnonzero(np.any(ohm_steps != 0, axis=0) & able)
        branches = self.factored.columns(moved.tolist(), [])
        p, q = (branches.p_index, branches.p_sign), (branches.q_index, branches.q_sign)
        # each branch's own current, which a change of its resistance acts by
        sources = [self._source(p, -self._conditional(self._shifted(q), q), moved, ohm_steps, own or {})]
        driven = np.flatnonzero(np.any(voltage_steps != 0, axis=0) & able)
        if driven.size:
            index = np.stack([n + driven, np.full(len(driven), self.factored.size)], axis=1)
            p = index, np.broadcast_to([1.0, 0.0], index.shape)
            every = np.ones((len(self.index), len(driven)))
            sources.append(self._source(p, every, driven, voltage_steps, own or {}))
        return Moves(self, len(ohm_steps), tuple(sources))

    def _source(
        self,
        columns: tuple[Integers, Floats],
        factor: Floats,
        branches: Integers,
        steps: Floats,
        own: OwnSteps,
    ) -> _Source:
        left, instead = self._left(branches, own)
        return _Source(columns, self._inner(columns), factor, factor * left, steps[:, branches], instead)

    def _left(self, branches: Integers, own: OwnSteps) -> tuple[Floats, list[tuple[int, Integers, Floats]]]:
        """How much of the sound branches' steps is left in each scenario, and what takes its place."""
        left = self._ohms_ratio(branches)
        instead = []
        for i, k in enumerate(branches):
            name = self.factored.network.names[k]
            if name in own:
                rows, steps = own[name]
                acts = self._acts(name)[rows]
                left[rows[acts], i] = 0.0
                instead.append((i, rows[acts], steps[:, acts]))
        return left, instead

    def _acts(self, name: str) -> NDArray[np.bool_]:
        """Scenarios that change a branch and that the check lets do so."""
        acts = np.zeros(len(self.index), dtype=bool)
        if name in self.scenarios.branches:
            c = self.scenarios.branches.index(name)
            width = self.scenarios.column.shape[1]
            acts |= ((self.scenarios.column == c) & (self.amount[:, :width] != 0)).any(axis=1)
        if name in self.scenarios.volts:
            acts |= ~np.isnan(self.scenarios.volts[name])
        return acts

    def _ohms_ratio(self, moved: Integers) -> Floats:
        """How much of a branch's tolerance is left where a fault lowers its resistance, shape (n, moved)."""
        ratio = np.ones((len(self.index), len(moved)))
        column = {self.factored.network.names[k]: i for i, k in enumerate(moved)}
        for c, name in enumerate(self.scenarios.branches):
            if name not in column:
                continue
            before = self.factored.network.ohms[self.factored.network.branch(name)]
            for k in range(self.scenarios.column.shape[1]):
                rows = (self.scenarios.column[:, k] == c) & (self.amount[:, k] != 0)
                lower = np.minimum(self.scenarios.ohms[rows, k] / max(before, 1e-300), 1.0)
                ratio[rows, column[name]] = lower
        return ratio

    def _conditional(self, values: Floats, rows: tuple[Integers, Floats]) -> Floats:
        transfer = self.factored.transfer(rows, self._p)
        if not self.index.size:
            return values
        return np.asarray(values - np.einsum("nk,nkr->nr", self.corrections, transfer.T[self.index]))

    def _inner(self, p: tuple[Integers, Floats]) -> Floats:
        """What extra columns do to each scenario's own changes, shape (n, columns, k)."""
        if not self.index.size:
            return np.zeros((len(self.index), len(p[0]), 0))
        back = self.factored.transfer(self._q, p)[self.index]  # (n, k, columns)
        return nodal.corrections(self._small()[:, None], np.moveaxis(back, 1, 2), self.amount[:, None, :])

    def gain(self, p: tuple[Integers, Floats], inner: Floats, outputs: Sequence[int] | None) -> Floats:
        """Gain from extra columns to some outputs with each scenario's changes, shape (columns, n, outputs).

        Parameters
        ----------
        inner : ndarray, shape (n, columns, k)
            What they do to the changes.
        outputs : sequence of int or None
            Which, by number; None for all.
        """
        rows = self._of(outputs)
        direct = self.factored.transfer(rows, p).T[:, None]  # (columns, 1, outputs)
        if not inner.shape[-1]:
            return np.broadcast_to(direct, (len(direct), len(self.index), direct.shape[-1]))
        outward = self.factored.transfer(rows, self._p).T[self.index]  # (n, k, outputs)
        return np.asarray(direct - np.moveaxis(inner @ outward, 1, 0))


@dataclass(frozen=True)
class _Source:
    """Branches whose resistance, or whose electromotive force, moves with the variables.

    Attributes
    ----------
    inner : ndarray, shape (n, columns, k)
        What they do to each scenario's own changes.
    factor, weight : ndarray, shape (n, columns)
        What a step of each is multiplied by; and that times how much of the sound branch's step is left.
    steps : ndarray, shape (variables, columns)
    instead : list of (int, ndarray of int, ndarray of shape (variables, rows))
        What takes the place of a step: the column's number, in which scenarios, and what it is there.
    """

    columns: tuple[Integers, Floats]
    inner: Floats
    factor: Floats
    weight: Floats
    steps: Floats
    instead: list[tuple[int, Integers, Floats]]


@dataclass(frozen=True)
class Moves:
    """How currents move with each tolerance variable, to first order; for some outputs as they are wanted."""

    correction: Correction
    count: int
    sources: tuple[_Source, ...]

    def of(self, outputs: Sequence[int] | None = None) -> Floats:
        """Change of currents for one deviation of each variable, shape (variables, n, outputs) [A].

        Parameters
        ----------
        outputs : sequence of int, optional
            Which of the correction's outputs, by number; all if left out.
        """
        shape = len(self.correction.index), len(self.correction.rows[0] if outputs is None else outputs)
        result = np.zeros((self.count, *shape))
        for source in self.sources:
            gain = self.correction.gain(source.columns, source.inner, outputs)
            # column by column in memory, as they are added up so
            scaled = np.multiply(gain, source.weight.T[:, :, None], order="C")
            # a variable moves few branches, most of them one
            for variable, column in zip(*np.nonzero(source.steps), strict=True):
                result[variable] += source.steps[variable, column] * scaled[column]
            for column, rows, steps in source.instead:
                moved = (source.factor[rows, column] * steps)[:, :, None]
                result[:, rows] += gain[column][rows] * moved
        return result
