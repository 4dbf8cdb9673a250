"""Cells: each fault at each slice of its severity, and what they show in every situation of a case."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import probe_sides
from gaugesim.evidence.degrees import PAIR_SLICES, SLICES, fault_changes, grid, kinds_of_cells
from gaugesim.evidence.handling import sticks
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.rows import Rows
from gaugesim.evidence.shared_draws import drawn, shares
from gaugesim.reading import Response, Situation, Spread, respond, spread
from gaugesim.reading.situations import Key, without_process
from gaugesim.reading.spreads import MANY
from gaugesim.scenario.fault import HEALTHY, Fault, Pair, all_faults
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.solve.network import Integers

# standard deviation of the severity inside a slice, in slices: uniform would be 0.29; a little more leaves no
# gaps between the slices of a fault that a sharp reading could fall into
SLICE_DEVIATION = 0.4
# a change between slices that is this many times the one before it is a jump, not a slope
JUMP = 10.0
# chance that a vehicle with one fault has another, unrelated one that shows on the same gauges: assumed
SECOND_FAULT = 0.05
# chance that a fault in another gauge's own branch is what an owner complains of, against one in the branch
# of the gauge that he names: assumed
ELSEWHERE = 0.03


class Cells(Rows):
    """All faults of a circuit at slices of their severity, row 0 being the sound circuit.

    Parameters
    ----------
    slices : int
        How many for a fault with degrees [1].
    pairs : sequence of Pair
        Pairs of faults that are in question as well.
    sharing : Cells, optional
        Cells of the same circuit, whose situations are used again.
    tolerant : bool
        Whether predictions carry their tolerances; without them they are quicker and a little too sure.
    before : Cells, optional
        Cells of the same circuit and slices that were asked before: what they showed is not worked out again.
    complaint : frozenset of str
        The gauges of which the complaint speaks; empty if there is none.
    """

    def __init__(
        self,
        circuit: Circuit,
        slices: int = SLICES,
        pairs: Sequence[Pair] = (),
        sharing: Cells | None = None,
        tolerant: bool = True,
        before: Cells | None = None,
        complaint: frozenset[str] = frozenset(),
    ) -> None:
        self.circuit = circuit
        self.complaint = complaint
        self.sharing = sharing
        self.tolerant = tolerant
        self.faults: tuple[Fault | Pair, ...] = (*all_faults(circuit), *pairs)
        # for each single fault of an entry, its severity in each of the entry's cells
        self._severities = [grid(fault, slices) for fault in self.faults]
        self._slices = slices
        shared = sharing or before
        counts = self._counts = [len(values[0]) for values in self._severities]
        self._starts = 1 + np.cumsum([0, *counts[:-1]])
        # row 0 belongs to fault -1, the sound circuit
        self.fault: Integers = np.concatenate([[-1], np.repeat(np.arange(len(self.faults)), counts)])
        self.weight: Floats = self._weights()
        self._stacks: dict[tuple[tuple[str, float], ...], Scenarios] = {}
        self.situations: dict[Key, Situation] = {} if shared is None else shared.situations
        self._responses: dict[Key, Response] = {}
        self._batches: dict[tuple[Key, int], tuple[Response, Spread | None]] = {}
        # by the situation and the gauge, empty for the check's reading
        self._shown: dict[tuple[Key, str], Prediction] = {}
        # of the cells that were asked before only what they showed is kept, and in which of their rows
        self._shown_before = {} if before is None else before._shown
        self._earlier = None if before is None else self._rows_of(before)

    @cached_property
    def prior(self) -> Floats:
        """Prior probability of each fault or pair, given the complaint and that one of them is there."""
        singles = [fault for fault in self.faults if isinstance(fault, Fault)]
        total = sum(fault.weight for fault in singles)
        weights = [
            self._complained(fault)
            * (fault.weight / total if isinstance(fault, Fault) else pair_prior(self.circuit, fault, total))
            for fault in self.faults
        ]
        return np.array(weights) / sum(weights)

    def _complained(self, entry: Fault | Pair) -> float:
        """Chance that it is complained of as it was."""
        meant = {"", *self.complaint}
        own = not self.complaint or any(fault.part.gauge in meant for fault in entry.singles)
        return 1.0 if own else ELSEWHERE

    def _pieces(self, entry: Fault | Pair) -> list[tuple[bool, int]]:
        """Whether its cells come and go, and how many there are, in their order."""
        if isinstance(entry, Pair):
            return [(False, len(grid(entry, self._slices)[0]))]
        kinds = kinds_of_cells(entry, self._slices)
        return [(bool(acts), len(entry.severities(count))) for acts, count in kinds]

    def _weights(self) -> Floats:
        """Prior weight of each cell: in equal parts over the slices of a fault's severity."""
        weights = [0.0]
        for entry, prior in zip(self.faults, self.prior, strict=True):
            at_times = 0.0 if isinstance(entry, Pair) else entry.mode.at_times
            for acts, count in self._pieces(entry):
                weights += [prior * (at_times if acts else 1 - at_times) / count] * count
        return np.array(weights)

    @cached_property
    def intermittent(self) -> np.ndarray:
        """Which cells act only now and then, bool of shape (cells,)."""
        acting = [False]
        for entry in self.faults:
            for acts, count in self._pieces(entry):
                acting += [acts] * count
        return np.array(acting)

    def of_faults(self, values: Floats, sound: Floats | float) -> Floats:
        """Spread a value of every fault over its cells.

        Parameters
        ----------
        values : ndarray, shape (faults, ...)
        sound : ndarray or float
            The sound circuit's.

        Returns
        -------
        ndarray, shape (cells, ...)
        """
        first = np.broadcast_to(np.asarray(sound), values.shape[1:])[None]
        return np.concatenate([first, values])[self.fault + 1]

    def scenarios(self, parameters: Mapping[str, float]) -> Scenarios:
        """The cells in a state."""
        key = tuple(sorted(parameters.items()))
        if key not in self._stacks:
            self._stacks[key] = self._stacked(range(len(self.faults)), parameters)
        return self._stacks[key]

    def scenarios_of(self, rows: Integers, parameters: Mapping[str, float]) -> Scenarios:
        """Some of the cells in a state; only their faults are worked out."""
        key = tuple(sorted(parameters.items()))
        if key in self._stacks:
            return self._stacks[key].take(rows)
        # the sound circuit is the first row of any stack
        wanted = sorted({*self.fault[rows].tolist()} - {-1})
        every = np.flatnonzero(np.isin(self.fault, [-1, *wanted]))
        return self._stacked(wanted, parameters).take(np.searchsorted(every, rows))

    def _stacked(self, faults: Iterable[int], parameters: Mapping[str, float]) -> Scenarios:
        entries = (self.faults[i] for i in faults)
        return stack([HEALTHY, *fault_changes(self.circuit, entries, self._slices, parameters)])

    def _rows_of(self, before: Cells) -> Integers:
        """Number of each cell among those of others, -1 where it is not among them."""
        starts = {fault.id: start for fault, start in zip(before.faults, before._starts, strict=True)}
        first = [starts.get(fault.id, -1) for fault in self.faults]
        rows = np.concatenate([[0], np.repeat(first, self._counts)])
        within = np.arange(len(rows)) - np.concatenate([[0], np.repeat(self._starts, self._counts)])
        return np.where(rows >= 0, rows + within, -1)

    def response(self, situation: Situation) -> Response:
        """What every cell shows in a situation."""
        if situation.key not in self._responses:
            scenarios = without_process(self.scenarios(situation.parameters), situation.certain)
            self._responses[situation.key] = respond(situation, scenarios)
        return self._responses[situation.key]

    def position(self, situation: Situation, gauge: str) -> Prediction:
        """Needle position of a gauge in a situation, with its tolerances."""
        shown = self._set_free(self._with_severity(self._kept(situation, gauge)), situation)
        return shown.also(f"winding@{gauge}", self.of_faults(self._wound_otherwise(gauge), 0.0))

    def _wound_otherwise(self, gauge: str) -> Floats:
        """How far each fault may leave the needle from where the sheet's gauge would have it."""
        damaged = [
            any(fault.part.gauge in ("", gauge) and fault.damages_winding for fault in entry.singles)
            for entry in self.faults
        ]
        spread = like.WOUND_OTHERWISE * min(self.circuit.sheet.make_spread, 1.0)
        return np.where(damaged, spread, 0.0)

    def reading(self, situation: Situation) -> Prediction:
        """Reading of the check's instrument in a situation, with its tolerances."""
        shown = self._with_severity(self._kept(situation, ""))
        for part, beyond in probe_sides.beyond_joints(self.circuit, situation.check):
            there = self.situation_with(situation.state, beyond, dict(situation.given))
            other = self._with_severity(self._kept(there, ""))
            chosen = shares(f"probe@{part}")[:, None] < probe_sides.BEYOND
            rows = self.of_faults(np.array([probe_sides.is_in(fault, part) for fault in self.faults]), False)
            shown = shown.in_some_draws(np.flatnonzero(rows), chosen, other)
        return self._set_free(shown, situation)

    def _set_free(self, shown: Prediction, situation: Situation) -> Prediction:
        """The same where what sticks in a part may come free under the check, as if it were sound."""
        for kind, chance in situation.check.kind.frees.items():
            stuck = np.array([sticks(fault, kind, situation.check.gauge) for fault in self.faults])
            chosen = shares(f"free@{kind}")[:, None] < chance
            sound = shown.take(np.zeros(len(shown.mean), dtype=int))
            shown = shown.in_some_draws(np.flatnonzero(self.of_faults(stuck, False)), chosen, sound)
        return shown

    def _kept(self, situation: Situation, gauge: str) -> Prediction:
        """What a gauge or the check's instrument shows in every cell; only of new cells is it worked out."""
        key = situation.key, gauge
        if key not in self._shown:
            before = self._shown_before.get(key)
            if before is None or self._earlier is None:
                self._shown[key] = self._worked_out(situation, gauge, np.arange(len(self.fault)))
            else:
                shown, new = before.take(np.maximum(self._earlier, 0)), np.flatnonzero(self._earlier < 0)
                self._shown[key] = (
                    shown.put(new, self._worked_out(situation, gauge, new)) if new.size else shown
                )
        return self._shown[key]

    def _worked_out(self, situation: Situation, gauge: str, rows: Integers) -> Prediction:
        response, moves = self._batch(situation, rows)
        mean = response.positions[gauge] if gauge else response.reading
        assert mean is not None
        if gauge:
            pulses, bounds = np.zeros(len(rows), dtype=bool), self.circuit.sheet.gauges[gauge].stops
        else:
            pulses, bounds = response.pulses, (-np.inf, np.inf)
        rest = like.resting(shares(f"rest@{gauge}"), bounds) if gauge else None
        if moves is None:
            return Prediction(mean, (), np.zeros((0, len(rows))), pulses, bounds, rest=rest)
        steps = moves.positions[gauge] if gauge else moves.reading
        assert steps is not None
        drawn = moves.drawn.get(gauge)
        # the gauges' own accuracies come last and are added to what is drawn
        counted = 0 if drawn is None else len(moves.names) - len(self.circuit.sheet.gauges)
        return Prediction(mean, moves.names, steps, pulses, bounds, drawn=drawn, counted=counted, rest=rest)

    def _batch(self, situation: Situation, rows: Integers) -> tuple[Response, Spread | None]:
        """What some of the cells show in a situation, and how it moves with tolerances."""
        key = situation.key, len(rows)
        if key not in self._batches:
            if len(rows) == len(self.fault):
                scenarios, response = self.scenarios(situation.parameters), self.response(situation)
                scenarios = without_process(scenarios, situation.certain)
            else:
                scenarios = without_process(self.scenarios_of(rows, situation.parameters), situation.certain)
                response = respond(situation, scenarios)
            many = len(self.fault) > MANY
            moves = spread(situation, scenarios, response, drawn, many) if self.tolerant else None
            self._batches[key] = response, moves
        return self._batches[key]

    def _with_severity(self, shown: Prediction) -> Prediction:
        steps = np.concatenate([shown.steps, self._severity_steps(shown.mean)])
        return replace(shown, names=(*shown.names, "severity", "second severity"), steps=steps)

    def _severity_steps(self, mean: Floats) -> Floats:
        """How a quantity moves inside a slice of severity: the fault's line, cut into pieces."""
        steps = np.zeros((2, len(mean)))
        for shape, rows in self._blocks:
            inside = mean[rows].reshape(-1, *shape)
            for axis, count in enumerate(shape):
                if count > 1:
                    slope = _slope(np.moveaxis(inside, axis + 1, -1))
                    steps[axis, rows] = SLICE_DEVIATION * np.moveaxis(slope, -1, axis + 1).reshape(rows.shape)
        return np.nan_to_num(steps)

    @cached_property
    def _blocks(self) -> list[tuple[tuple[int, ...], Integers]]:
        """Rows of all faults that have so many slices of each severity, shape (faults, cells)."""
        shapes: dict[tuple[int, ...], list[Integers]] = {}
        start = 1
        for fault in self.faults:
            counts = tuple(PAIR_SLICES if single.mode.severity.quantity else 1 for single in fault.singles)
            for _, count in self._pieces(fault):
                shape = (count,) if isinstance(fault, Fault) else counts
                shapes.setdefault(shape, []).append(start + np.arange(count))
                start += count
        return [(shape, np.array(rows)) for shape, rows in shapes.items()]


def _slope(values: Floats) -> Floats:
    """Change from slice to slice; beside a jump, as a worn spot makes, what there is on this side of it."""
    change = np.diff(values, axis=-1)
    left = np.concatenate([change[..., :1], change], axis=-1)
    right = np.concatenate([change, change[..., -1:]], axis=-1)
    small, large = np.minimum(np.abs(left), np.abs(right)), np.maximum(np.abs(left), np.abs(right))
    nearer = np.where(np.abs(left) < np.abs(right), left, right)
    return np.where(large > JUMP * small, nearer, 0.5 * (left + right))


def pair_prior(circuit: Circuit, pair: Pair, total: float) -> float:
    """Prior probability of two faults at once, against one at a time.

    Larger where the two parts are in a group that one cause strikes.

    Parameters
    ----------
    total : float
        Sum of the weights of all single faults [1].
    """
    first, second = pair.singles
    together = [
        group.factor
        for group in circuit.sheet.groups.values()
        if first.part.id in group.parts and second.part.id in group.parts
    ]
    alone = 2.0 * first.weight * second.weight / total**2
    return SECOND_FAULT * alone * max([1.0, *together])
