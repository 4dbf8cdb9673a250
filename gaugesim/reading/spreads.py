"""How what is seen moves with the tolerances of a sound circuit, to first order, from the same solution."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.reading.correction import Correction, Moves, OwnSteps
from gaugesim.reading.response import (
    BranchCurrents,
    Response,
    design_volts,
    embedded,
    lamp_resistance,
    respond,
)
from gaugesim.reading.situations import Situation
from gaugesim.scenario.changes import Reevaluation
from gaugesim.scenario.check import METER
from gaugesim.scenario.fault import HEALTHY
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.scenario.tolerance import DEVIATIONS_95, Tolerances, tolerances
from gaugesim.solve import nodal
from gaugesim.solve.network import Integers, Network

# for more scenarios than this, variables that move nothing by this share of the whole are left out
MANY, BEARS = 16, 0.02
# from names of variables to draws of them, shape (variables, draws)
Draw = Callable[[Sequence[str]], Floats]


class Spread:
    """How what is seen moves with each tolerance variable, to first order, from the same factorisation.

    Each needle and the reading are worked out when they are asked for: most have nothing to do with the case.

    Parameters
    ----------
    draw : callable or None
        From names of variables to draws of them, shape (variables, draws).
    many : bool
        Whether variables that move nothing worth counting are left out.

    Attributes
    ----------
    names : tuple of str
        Variables; a process value carries its nominal value, since the same value in two states is one and
        the same, and a gauge's own accuracy the gauge's name.
    positions : mapping
        From gauge to the change of its position for one deviation of each variable, shape (variables, n).
    drawn : mapping
        From gauge to its position in draws of the variables but the last, the gauges' own accuracies, shape
        (draws, n): what stops, friction and a turn of the field do to it is no matter of first order. NaN
        where nothing drives the needle; empty if no draws were asked for.
    """

    def __init__(
        self, situation: Situation, scenarios: Scenarios, response: Response, draw: Draw | None, many: bool
    ) -> None:
        self._situation, self._scenarios, self._response = situation, scenarios, response
        variables = _variables(situation)
        if many:
            variables = variables.take(_bearing(situation, variables))
        self._variables: Tolerances = variables
        self._lamp_ohms = (
            lamp_resistance(situation, scenarios, embedded(situation)) if situation.has_lamp else None
        )
        processes = {
            name for name, quantity in situation.circuit.sheet.quantities.items() if quantity.process
        }
        self._names = tuple(
            f"{name}@{nominal:g}" if name in processes else name
            for name, nominal in zip(variables.names, variables.nominal, strict=True)
        )
        self.names = (*self._names, *(f"accuracy@{gauge.id}" for gauge in situation.gauges))
        ids = [gauge.id for gauge in situation.gauges]
        self.positions: Mapping[str, Floats] = AsAsked(ids, self._position)
        self._steps: dict[tuple[int, ...], list[tuple[Floats, Floats]]] = {}
        self._draws = draw(self._names) if draw is not None and self._names else None
        self.drawn: Mapping[str, Floats] = AsAsked([] if self._draws is None else ids, self._drawn)

    @cached_property
    def _moves(self) -> list[Moves]:
        """Of each phase, then of an ohmmeter by itself if there is one."""
        situation, variables = self._situation, self._variables
        own = _own_steps(situation, self._scenarios, variables)
        return [
            correction.moves(*_branch_steps(situation, variables, network), own)
            for network, correction in _corrections(situation, self._scenarios, self._lamp_ohms)
        ]

    def _stepped(self, branches: tuple[int, ...]) -> list[tuple[Floats, Floats]]:
        """Currents of some of the outputs in each phase, and their steps."""
        if branches not in self._steps:
            at = [self._situation.outputs.index(k) for k in branches]
            phases = self._moves[: len(self._situation.phases)]
            self._steps[branches] = [(moves.correction.currents(at), moves.of(at)) for moves in phases]
        return self._steps[branches]

    def _held(self, factor: Callable[[int], Floats | float], count: int) -> Floats:
        """What the regulator holds, moved by a factor of its own variable, shape (count, n)."""
        held = np.broadcast_to(design_volts(self._situation, self._scenarios), (count, len(self._scenarios)))
        unit = self._situation.circuit.sheet.regulator
        if unit is None or unit.design_volts not in self._variables.names:
            return held
        return np.asarray(held * factor(self._variables.names.index(unit.design_volts)))

    def _side(
        self, side: float, stepped: Sequence[tuple[Floats, Floats]], branches: Sequence[int]
    ) -> BranchCurrents:
        """What is seen with each variable a deviation to one side."""

        def factor(t: int) -> Floats:
            ratios = np.ones((len(self._variables.names), 1))
            ratios[t] = np.exp(side * self._variables.deviation[t])
            return ratios

        currents = [now + side * steps for now, steps in stepped]
        held = self._held(factor, len(self._variables.names))
        return BranchCurrents(self._situation, self._scenarios, currents, branches, held)

    def _position(self, name: str) -> Floats:
        gauge = self._situation.circuit.sheet.gauges[name]
        branches = self._situation.needle_outputs(gauge)
        stepped = self._stepped(branches)
        stand = self._response.positions[name]
        sides = [self._side(side, stepped, branches).position(gauge) for side in (1.0, -1.0)]
        # a needle that is driven on one side only may lie anywhere on the other
        above, below = (np.where(np.isnan(side), 0.5, side) for side in sides)
        step = np.where(np.isnan(stand), 0.0, 0.5 * (above - below))
        extra = np.zeros((len(self._situation.gauges), len(self._scenarios)))
        # a stuck needle, or one on a stop, has no spread
        free = np.isnan(self._scenarios.stuck.get(name, np.nan))
        free = free & (stand > gauge.stops[0]) & (stand < gauge.stops[1])
        extra[self._situation.gauges.index(gauge)] = np.where(free, gauge.accuracy / DEVIATIONS_95, 0.0)
        return np.concatenate([step, extra])

    @cached_property
    def reading(self) -> Floats | None:
        """Change of the reading for one deviation of each variable, shape (variables, n)."""
        situation = self._situation
        branches = situation.reading_outputs
        stepped = self._stepped(branches)
        above, below = (
            self._side(side, stepped, branches).reading(self._lamp_ohms, self._metered(side))[0]
            for side in (1.0, -1.0)
        )
        if above is None or below is None:
            return None
        shape = len(self._variables.names), len(self._scenarios)
        step = np.broadcast_to(0.5 * (above - below), shape)
        return np.concatenate([step, np.zeros((len(situation.gauges), len(self._scenarios)))])

    def _metered(self, side: float) -> Floats | None:
        """The current of an ohmmeter by itself with each variable a deviation to one side."""
        if self._situation.meter is None:
            return None
        alone = self._moves[-1]
        return np.asarray((alone.correction.currents() + side * alone.of())[..., 0])

    def _drawn(self, name: str) -> Floats:
        gauge = self._situation.circuit.sheet.gauges[name]
        branches = self._situation.needle_outputs(gauge)
        normal, variables = self._draws, self._variables
        assert normal is not None
        currents = [
            now + (normal.T @ steps.reshape(len(steps), -1)).reshape(-1, *now.shape)
            for now, steps in self._stepped(branches)
        ]
        held = self._held(lambda t: np.exp(normal[t] * variables.deviation[t])[:, None], normal.shape[1])
        return BranchCurrents(self._situation, self._scenarios, currents, branches, held).position(gauge)


class AsAsked(Mapping[str, Floats]):
    """Arrays by name, each worked out when it is first asked for."""

    def __init__(self, names: Iterable[str], make: Callable[[str], Floats]) -> None:
        self._names, self._make = tuple(names), make
        self._made: dict[str, Floats] = {}

    def __getitem__(self, name: str) -> Floats:
        if name not in self._made:
            if name not in self._names:
                raise KeyError(name)
            self._made[name] = self._make(name)
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


def spread(
    situation: Situation,
    scenarios: Scenarios | None = None,
    response: Response | None = None,
    draw: Draw | None = None,
    many: bool | None = None,
) -> Spread:
    """First-order tolerance of what each scenario shows.

    Parameters
    ----------
    draw : callable, optional
        From names of variables to draws of them, shape (variables, draws).
    many : bool, optional
        Whether variables that move nothing worth counting are left out; if nothing is said, where there are
        more than `MANY` scenarios.
    """
    scenarios = stack([HEALTHY]) if scenarios is None else scenarios
    many = len(scenarios) > MANY if many is None else many
    return Spread(situation, scenarios, response or respond(situation, scenarios), draw, many)


def _variables(situation: Situation) -> Tolerances:
    """All that varies there."""
    return situation.circuit.recall(
        ("tolerances", situation.state, situation.pinned),
        situation.parameters,
        lambda: tolerances(situation.circuit, situation.parameters, situation.state, situation.pinned),
    )


def _corrections(
    situation: Situation, scenarios: Scenarios, lamp_ohms: Floats | None
) -> list[tuple[Network, Correction]]:
    """The scenarios in each phase, then on an ohmmeter by itself if there is one."""
    result = [
        (network, Correction(factored, situation.outputs, scenarios, situation.decided(network), lamp_ohms))
        for network, factored in zip(situation.phases, situation.factored, strict=True)
    ]
    if situation.meter is not None:
        at = (situation.meter.branch(METER),)
        alone = Correction(nodal.factor(situation.meter), at, scenarios, situation.decided(situation.meter))
        result.append((situation.meter, alone))
    return result


def _bearing(situation: Situation, variables: Tolerances) -> NDArray[np.bool_]:
    """Variables that move anything worth counting on the sound circuit: a contact's milliohms seldom do."""
    sound = stack([HEALTHY])
    lamp_ohms = lamp_resistance(situation, sound, embedded(situation)) if situation.has_lamp else None
    moves = [
        np.abs(correction.moves(*_branch_steps(situation, variables, network)).of())[:, 0, :]
        for network, correction in _corrections(situation, sound, lamp_ohms)
    ]
    every = np.concatenate(moves, axis=1)
    whole = np.sqrt((every**2).sum(axis=0))
    unit = situation.circuit.sheet.regulator
    bears = np.any(every > BEARS * np.where(whole > 0, whole, np.inf), axis=1)
    return np.asarray(bears | [unit is not None and name == unit.design_volts for name in variables.names])


def _branch_steps(situation: Situation, variables: Tolerances, network: Network) -> tuple[Floats, Floats]:
    """Change of every branch's ohms and volts for one deviation of each variable, (variables, branches)."""
    circuit = situation.circuit
    every = _variables(situation)
    key = ("steps", every.names, tuple(every.deviation))
    stepped = circuit.recall(key, situation.parameters, lambda: _stepped(situation, every))
    if variables is not every:
        stepped = stepped[every.places(variables)]
    elements = circuit.netlist.elements
    apart = [element.name in situation.fixed for element in elements]
    able = np.isfinite(network.ohms[: len(elements)]) & ~np.array(apart)
    kinds = np.array([element.kind for element in elements])
    ohm_steps, voltage_steps = np.zeros((2, len(variables.names), len(network.names)))
    for kind, steps in (("r", ohm_steps), ("v", voltage_steps)):
        moved = able & (kinds == kind)
        steps[:, np.flatnonzero(moved)] = stepped[:, moved]
    return ohm_steps, voltage_steps


def _stepped(situation: Situation, variables: Tolerances) -> Floats:
    """Change of every element's value for one deviation of each variable, (variables, elements).

    It is the mean of a step up and a step down: a tank cannot be fuller than full, nor a track quite even.
    """
    count = len(variables.names)
    steps = variables.values(np.concatenate([np.eye(count), -np.eye(count)], axis=1))
    values = situation.circuit.values({**situation.parameters, **steps})
    columns = [
        0.5 * (column[:count] - column[count:]) if np.ndim(column) else np.zeros(count)
        for column in (values[element.name] for element in situation.circuit.netlist.elements)
    ]
    return np.stack(columns, axis=1)


def _own_steps(situation: Situation, scenarios: Scenarios, variables: Tolerances) -> OwnSteps:
    """The same in the scenarios whose fault multiplies or sets a value: a worn sender keeps its share."""
    if not any(scenarios.again):
        return {}
    # checks in one state have the same parameters, but not all count the same variables
    every = _variables(situation)
    key = ("own steps", frozenset(situation.parameters.items()), every.names, tuple(every.deviation))
    every_step = scenarios.recall(key, lambda: _own_steps_of(situation, scenarios, every))
    if variables is every:
        return every_step
    kept = every.places(variables)
    return {name: (rows, steps[kept]) for name, (rows, steps) in every_step.items()}


def _own_steps_of(situation: Situation, scenarios: Scenarios, variables: Tolerances) -> OwnSteps:
    count = len(variables.names)
    steps = variables.values(np.concatenate([np.eye(count), -np.eye(count)], axis=1))
    names, table = [*steps], np.stack([*steps.values()])
    # a fault is in many pairs, with the same severities
    made: dict[Hashable, dict[str, Floats]] = {}

    def moves(again: Reevaluation) -> dict[str, Floats]:
        if again.make not in made:
            given = dict(zip(names, np.repeat(table, again.count, axis=1), strict=True))
            numbers = np.tile(np.arange(again.count), 2 * count)
            values = again.make({**situation.parameters, **given}, numbers)
            sides = {name: each.reshape(2, count, again.count) for name, each in values.items()}
            made[again.make] = {name: 0.5 * (up - down) for name, (up, down) in sides.items()}
        return made[again.make]

    changes: dict[str, dict[int, tuple[Floats, Integers]]] = {}
    for source, each in enumerate(scenarios.again):
        rows = np.flatnonzero(scenarios.source == source) if each else np.zeros(0, dtype=np.intp)
        for again in each if rows.size else ():
            numbers = again.rows[scenarios.number[rows]]
            for name, moved in moves(again).items():
                changes.setdefault(name, {})[source] = moved[:, numbers], rows
    return {name: _together([*parts.values()]) for name, parts in changes.items()}


def _together(parts: Sequence[tuple[Floats, Integers]]) -> tuple[Integers, Floats]:
    """Rows of several faults in ascending order, with their steps; without those that have none."""
    rows = np.concatenate([own for _, own in parts])
    steps = np.concatenate([steps for steps, _ in parts], axis=1)
    order = np.argsort(rows)
    order = order[~np.isnan(steps[0, order])]
    return rows[order], steps[:, order]


def deviations(steps: Floats) -> Floats:
    """Standard deviation from the steps of independent variables, shape (n,).

    Parameters
    ----------
    steps : ndarray, shape (variables, n)
        In any unit [1].

    Examples
    --------
    >>> deviations(np.array([[3.0], [4.0]]))
    array([5.])
    """
    return np.asarray(np.sqrt((steps**2).sum(axis=0)))
