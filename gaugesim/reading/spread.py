"""How what is seen moves with the tolerances of a sound circuit, to first order, from the same solution."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.reading.correction import Correction, OwnSteps
from gaugesim.reading.response import Response, design, embedded, interpret, lamp_resistance, respond
from gaugesim.reading.situation import Situation
from gaugesim.scenario.check import METER
from gaugesim.scenario.fault import HEALTHY
from gaugesim.scenario.stack import Scenarios, stack
from gaugesim.scenario.tolerance import DEVIATIONS_95, Tolerances, tolerances
from gaugesim.solve import nodal
from gaugesim.solve.network import Floats, Network

# for more scenarios than this, variables that move nothing by this share of the whole are left out
MANY, BEARS = 16, 0.02


@dataclass(frozen=True)
class Spread:
    """How what is seen moves with each tolerance variable, to first order.

    Attributes
    ----------
    names : tuple of str
        Variables; a process value carries its nominal value, since the same value in two states is one and
        the same, and a gauge's own accuracy the gauge's name.
    positions : mapping
        From gauge to the change of its position for one deviation of each variable, shape (variables, n).
    reading : ndarray, shape (variables, n), or None
    drawn : mapping
        From gauge to its position in draws of the variables but the last, the gauges' own accuracies, shape
        (draws, n): what stops, friction and a turn of the field do to it is no matter of first order. NaN
        where nothing drives the needle; empty if no draws were asked for.
    """

    names: tuple[str, ...]
    positions: Mapping[str, Floats]
    reading: Floats | None
    drawn: Mapping[str, Floats]


def spread(
    place: Situation,
    scenarios: Scenarios | None = None,
    response: Response | None = None,
    draw: Callable[[Sequence[str]], Floats] | None = None,
) -> Spread:
    """First-order tolerance of what each scenario shows, from the same factorisation.

    Parameters
    ----------
    place : Situation
    scenarios : Scenarios, optional
        The sound circuit alone if left out.
    response : Response, optional
        What `respond` gave for them.
    draw : callable, optional
        From names of variables to draws of them, shape (variables, draws).

    Returns
    -------
    Spread
    """
    scenarios = stack([HEALTHY]) if scenarios is None else scenarios
    response = response or respond(place, scenarios)
    variables = place.circuit.recall(
        ("tolerances", place.state, place.known),
        place.parameters,
        lambda: tolerances(place.circuit, place.parameters, place.state, place.known),
    )
    if len(scenarios) > MANY:
        variables = variables.take(_bearing(place, variables))
    lamp_ohms = lamp_resistance(place, scenarios, embedded(place)) if place.has_lamp else None
    own = _own_steps(place, scenarios, variables)
    moves = [
        (correction.currents(), correction.steps(*_branch_steps(place, variables, network), own))
        for network, correction in _corrections(place, scenarios, lamp_ohms)
    ]
    unit = place.circuit.sheet.regulator
    sides = []
    for side in (1.0, -1.0):
        stepped = [currents + side * steps for currents, steps in moves]
        metered = None if place.meter is None else stepped[-1][..., 0]
        held = np.broadcast_to(design(place, scenarios), (len(variables.names), len(scenarios)))
        if unit and unit.design_volts in variables.names:
            t = variables.names.index(unit.design_volts)
            held = held.copy()
            held[t] *= np.exp(side * variables.deviation[t])
        sides.append(interpret(place, scenarios, stepped[: len(place.phases)], lamp_ohms, metered, held))
    processes = {name for name, quantity in place.circuit.sheet.quantities.items() if quantity.process}
    names = [
        f"{name}@{nominal:g}" if name in processes else name
        for name, nominal in zip(variables.names, variables.nominal, strict=True)
    ]
    accuracies = [f"accuracy@{gauge.id}" for gauge in place.gauges]
    positions = {}
    for i, gauge in enumerate(place.gauges):
        stand = response.positions[gauge.id]
        # a needle that is driven on one side only may lie anywhere on the other
        above, below = (
            np.where(np.isnan(side.positions[gauge.id]), 0.5, side.positions[gauge.id]) for side in sides
        )
        step = np.where(np.isnan(stand), 0.0, 0.5 * (above - below))
        extra = np.zeros((len(accuracies), len(scenarios)))
        free = np.isnan(
            scenarios.stuck.get(gauge.id, np.nan)
        )  # a stuck needle, or one on a stop, has no spread
        free = free & (stand > gauge.stops[0]) & (stand < gauge.stops[1])
        extra[i] = np.where(free, gauge.accuracy / DEVIATIONS_95, 0.0)
        positions[gauge.id] = np.concatenate([step, extra])
    reading = None
    above_reading, below_reading = (side.reading for side in sides)
    if above_reading is not None and below_reading is not None:
        step = np.broadcast_to(0.5 * (above_reading - below_reading), (len(variables.names), len(scenarios)))
        reading = np.concatenate([step, np.zeros((len(accuracies), len(scenarios)))])
    drawn: Mapping[str, Floats] = {}
    if draw is not None and names:
        normal = draw(names)
        currents = [now + np.einsum("vd,vno->dno", normal, steps, optimize=True) for now, steps in moves]
        held = np.broadcast_to(design(place, scenarios), (normal.shape[1], len(scenarios)))
        if unit and unit.design_volts in variables.names:
            t = variables.names.index(unit.design_volts)
            held = held * np.exp(normal[t] * variables.deviation[t])[:, None]
        metered = None if place.meter is None else currents[-1][..., 0]
        drawn = interpret(place, scenarios, currents[: len(place.phases)], lamp_ohms, metered, held).positions
    return Spread((*names, *accuracies), positions, reading, drawn)


def _corrections(
    place: Situation, scenarios: Scenarios, lamp_ohms: Floats | None
) -> list[tuple[Network, Correction]]:
    """The scenarios in each phase, then on an ohmmeter by itself if there is one."""
    result = [
        (network, Correction(factored, place.outputs, scenarios, place.decided(network), lamp_ohms))
        for network, factored in zip(place.phases, place.factored, strict=True)
    ]
    if place.meter is not None:
        at = (place.meter.branch(METER),)
        alone = Correction(nodal.factor(place.meter), at, scenarios, place.decided(place.meter))
        result.append((place.meter, alone))
    return result


def _bearing(place: Situation, variables: Tolerances) -> NDArray[np.bool_]:
    """Variables that move anything worth counting on the sound circuit: a contact's milliohms seldom do."""
    sound = stack([HEALTHY])
    lamp_ohms = lamp_resistance(place, sound, embedded(place)) if place.has_lamp else None
    moves = [
        np.abs(correction.steps(*_branch_steps(place, variables, network)))[:, 0, :]
        for network, correction in _corrections(place, sound, lamp_ohms)
    ]
    every = np.concatenate(moves, axis=1)
    whole = np.sqrt((every**2).sum(axis=0))
    unit = place.circuit.sheet.regulator
    bears = np.any(every > BEARS * np.where(whole > 0, whole, np.inf), axis=1)
    return np.asarray(bears | [unit is not None and name == unit.design_volts for name in variables.names])


def _branch_steps(place: Situation, variables: Tolerances, network: Network) -> tuple[Floats, Floats]:
    """Change of every branch's ohms and volts for one deviation of each variable, (variables, branches)."""
    circuit = place.circuit
    key = ("steps", variables.names, tuple(variables.deviation))
    stepped = circuit.recall(key, place.parameters, lambda: _stepped(place, variables))
    elements = circuit.netlist.elements
    apart = [element.name in place.fixed for element in elements]
    able = np.isfinite(network.ohms[: len(elements)]) & ~np.array(apart)
    kinds = np.array([element.kind for element in elements])
    ohm_steps, voltage_steps = np.zeros((2, len(variables.names), len(network.names)))
    for kind, steps in (("r", ohm_steps), ("v", voltage_steps)):
        moved = able & (kinds == kind)
        steps[:, np.flatnonzero(moved)] = stepped[:, moved]
    return ohm_steps, voltage_steps


def _stepped(place: Situation, variables: Tolerances) -> Floats:
    """Change of every element's value for one deviation of each variable, (variables, elements).

    It is the mean of a step up and a step down: a tank cannot be fuller than full, nor a track quite even.
    """
    count = len(variables.names)
    steps = variables.values(np.concatenate([np.eye(count), -np.eye(count)], axis=1))
    values = place.circuit.values({**place.parameters, **steps})
    columns = [
        0.5 * (column[:count] - column[count:]) if np.ndim(column) else np.zeros(count)
        for column in (values[element.name] for element in place.circuit.netlist.elements)
    ]
    return np.stack(columns, axis=1)


def _own_steps(place: Situation, scenarios: Scenarios, variables: Tolerances) -> OwnSteps:
    """The same in the scenarios whose fault multiplies or sets a value: a worn sender keeps its share."""
    count = len(variables.names)
    steps = variables.values(np.concatenate([np.eye(count), -np.eye(count)], axis=1))
    found: dict[str, Floats] = {}
    for source, again in enumerate(scenarios.again):
        rows = np.flatnonzero(scenarios.source == source)
        if again is None or not rows.size:
            continue
        given = {name: np.repeat(values, len(rows)) for name, values in steps.items()}
        numbers = np.tile(scenarios.number[rows], 2 * count)
        for name, values in again({**place.parameters, **given}, numbers).items():
            up, down = values.reshape(2, count, len(rows))
            own = found.setdefault(name, np.full((count, len(scenarios)), np.nan))
            own[:, rows] = 0.5 * (up - down)
    return found


def deviations(steps: Floats) -> Floats:
    """Standard deviation from the steps of independent variables.

    Parameters
    ----------
    steps : ndarray, shape (variables, n)
        In any unit [1].

    Returns
    -------
    ndarray, shape (n,)

    Examples
    --------
    >>> deviations(np.array([[3.0], [4.0]]))
    array([5.])
    """
    return np.asarray(np.sqrt((steps**2).sum(axis=0)))
