"""Cells: each fault at each slice of its severity, and what they show in every situation of a case."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.evidence.degrees import SLICES, Changes, grid
from gaugesim.evidence.draws import drawn
from gaugesim.evidence.prediction import Prediction
from gaugesim.reading import Response, Situation, Spread, respond, situation, spread
from gaugesim.reading.situation import without_process
from gaugesim.scenario.check import NO_CHECK, Check, find_check
from gaugesim.scenario.fault import HEALTHY, Fault, Pair, all_faults
from gaugesim.scenario.stack import Scenarios, stack
from gaugesim.solve.network import Floats, Integers

# standard deviation of the severity inside a slice, in slices: uniform would be 0.29; a little more leaves no
# gaps between the slices of a fault that a sharp reading could fall into
SLICE_DEVIATION = 0.4
# a change between slices that is this many times the one before it is a jump, not a slope
JUMP = 10.0
# chance that a vehicle with one fault has another, unrelated one that shows on the same gauges: assumed
SECOND_FAULT = 0.05


class Cells:
    """All faults of a circuit at slices of their severity, row 0 being the sound circuit.

    Parameters
    ----------
    circuit : Circuit
    slices : int
        How many for a fault with degrees [1].
    pairs : sequence of Pair
        Pairs of faults that are in question as well.
    sharing : Cells, optional
        Cells of the same circuit, whose solved situations and changes are used again.
    tolerant : bool
        Whether predictions carry their tolerances; without them they are quicker and a little too sure.
    """

    def __init__(
        self,
        circuit: Circuit,
        slices: int = SLICES,
        pairs: Sequence[Pair] = (),
        sharing: Cells | None = None,
        tolerant: bool = True,
    ) -> None:
        self.circuit = circuit
        self.tolerant = tolerant
        self.faults: tuple[Fault | Pair, ...] = (*all_faults(circuit), *pairs)
        # for each single fault of an entry, its severity in each of the entry's cells
        self._severities = [grid(fault, slices) for fault in self.faults]
        self._slices = slices
        self._changes: Changes = Changes(circuit) if sharing is None else sharing._changes
        counts = [len(values[0]) for values in self._severities]
        # row 0 belongs to fault -1, the sound circuit
        self.fault: Integers = np.concatenate([[-1], np.repeat(np.arange(len(self.faults)), counts)])
        self.weight: Floats = np.concatenate([[0.0], np.repeat(self.prior / np.maximum(counts, 1), counts)])
        self._stacks: dict[tuple[tuple[str, float], ...], Scenarios] = {}
        self._situations: dict[tuple[str, str, tuple[tuple[str, float], ...]], Situation] = (
            {} if sharing is None else sharing._situations
        )
        self._responses: dict[int, Response] = {}
        self._spreads: dict[int, Spread] = {}

    @cached_property
    def prior(self) -> Floats:
        """Prior probability of each fault or pair, given that one of them is there."""
        singles = [fault for fault in self.faults if isinstance(fault, Fault)]
        total = sum(fault.weight for fault in singles)
        weights = [
            fault.weight / total if isinstance(fault, Fault) else pair_prior(self.circuit, fault, total)
            for fault in self.faults
        ]
        return np.array(weights) / sum(weights)

    @cached_property
    def intermittent(self) -> np.ndarray:
        """Which cells act only now and then, bool of shape (cells,)."""
        return self.of_faults(
            np.array([fault.singles[0].mode.id == "intermittent" for fault in self.faults]), False
        )

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
        """The cells in a state.

        Parameters
        ----------
        parameters : mapping

        Returns
        -------
        Scenarios
        """
        key = tuple(sorted(parameters.items()))
        if key not in self._stacks:
            self._stacks[key] = self._stacked(range(len(self.faults)), parameters)
        return self._stacks[key]

    def scenarios_of(self, rows: Integers, parameters: Mapping[str, float]) -> Scenarios:
        """Some of the cells in a state; only their faults are worked out.

        Parameters
        ----------
        rows : ndarray of int
            Which cells.
        parameters : mapping

        Returns
        -------
        Scenarios
        """
        key = tuple(sorted(parameters.items()))
        if key in self._stacks:
            return self._stacks[key].take(rows)
        # the sound circuit is the first row of any stack
        wanted = sorted({*self.fault[rows].tolist()} - {-1})
        every = np.flatnonzero(np.isin(self.fault, [-1, *wanted]))
        return self._stacked(wanted, parameters).take(np.searchsorted(every, rows))

    def _stacked(self, faults: Iterable[int], parameters: Mapping[str, float]) -> Scenarios:
        entries = (self.faults[i] for i in faults)
        return stack([HEALTHY, *self._changes.of(entries, self._slices, parameters)])

    def place(
        self, state: str | None, check: str = "", given: Mapping[str, float] | None = None
    ) -> Situation:
        """A situation, made once.

        Parameters
        ----------
        state : str or None
        check : str
            A check's id, empty for none.
        given : mapping, optional

        Returns
        -------
        Situation
        """
        return self.place_with(state, find_check(self.circuit, check) if check else NO_CHECK, given)

    def place_with(
        self, state: str | None, check: Check, given: Mapping[str, float] | None = None
    ) -> Situation:
        """A situation with a check that is at hand, made once.

        Parameters
        ----------
        state : str or None
        check : Check
        given : mapping, optional

        Returns
        -------
        Situation
        """
        state = state or self.circuit.sheet.default_state
        key = (state, f"{check.gauge}/{check.id}", tuple(sorted((given or {}).items())))
        if key not in self._situations:
            self._situations[key] = situation(self.circuit, state, check, given)
        return self._situations[key]

    def _rows(self, where: Situation) -> Scenarios:
        return without_process(self.scenarios(where.parameters), where.known)

    def response(self, where: Situation) -> Response:
        """What every cell shows in a situation.

        Parameters
        ----------
        where : Situation

        Returns
        -------
        Response
        """
        if id(where) not in self._responses:
            self._responses[id(where)] = respond(where, self._rows(where))
        return self._responses[id(where)]

    def position(self, where: Situation, gauge: str) -> Prediction:
        """Needle position of a gauge in a situation, with its tolerances.

        Parameters
        ----------
        where : Situation
        gauge : str

        Returns
        -------
        Prediction
        """
        mean = self.response(where).positions[gauge]
        if not self.tolerant:
            bounds = self.circuit.sheet.gauges[gauge].stops
            return replace(self._prediction(mean, (), np.zeros((0, len(mean))), None), bounds=bounds)
        found = self._spread(where)
        shown = self._prediction(mean, found.names, found.positions[gauge], None)
        drawn = found.drawn.get(gauge)
        # the gauges' own accuracies come last and are added to what is drawn
        counted = 0 if drawn is None else len(found.names) - len(self.circuit.sheet.gauges)
        bounds = self.circuit.sheet.gauges[gauge].stops
        return replace(shown, bounds=bounds, drawn=drawn, counted=counted)

    def reading(self, where: Situation) -> Prediction:
        """Reading of the check's instrument in a situation, with its tolerances.

        Parameters
        ----------
        where : Situation

        Returns
        -------
        Prediction
        """
        response = self.response(where)
        assert response.reading is not None
        if not self.tolerant:
            steps = np.zeros((0, len(self.fault)))
            return self._prediction(response.reading, (), steps, response.pulses)
        found = self._spread(where)
        assert found.reading is not None
        return self._prediction(response.reading, found.names, found.reading, response.pulses)

    def _spread(self, where: Situation) -> Spread:
        if id(where) not in self._spreads:
            self._spreads[id(where)] = spread(where, self._rows(where), self.response(where), drawn)
        return self._spreads[id(where)]

    def _prediction(
        self, mean: Floats, names: tuple[str, ...], steps: Floats, pulses: np.ndarray | None
    ) -> Prediction:
        steps = np.concatenate([steps, self._severity_steps(mean)])
        still = np.zeros(len(mean), dtype=bool)
        return Prediction(
            mean, (*names, "severity", "second severity"), steps, still if pulses is None else pulses
        )

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
        found: dict[tuple[int, ...], list[Integers]] = {}
        start = 1
        for severities in self._severities:
            shape = tuple(len({*severity.tolist()}) for severity in severities)
            found.setdefault(shape, []).append(start + np.arange(len(severities[0])))
            start += len(severities[0])
        return [(shape, np.array(rows)) for shape, rows in found.items()]


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

    Parameters
    ----------
    circuit : Circuit
    pair : Pair
    total : float
        Sum of the weights of all single faults [1].

    Returns
    -------
    float
        Larger where the two parts are in a group that one cause strikes.
    """
    first, second = pair.singles
    together = [
        group.factor
        for group in circuit.sheet.groups.values()
        if first.part.id in group.parts and second.part.id in group.parts
    ]
    alone = 2.0 * first.weight * second.weight / total**2
    return SECOND_FAULT * alone * max([1.0, *together])
