"""One scenario as a network of its own: for engines that solve whole networks, and for its voltages."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.reading.response import Engine, Response, lamp_resistance
from gaugesim.reading.situations import Decided, Situation
from gaugesim.scenario.check import LAMP
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.solve import nodal
from gaugesim.solve.network import Network, Path, islands
from gaugesim.solve.nodal import Solution

Solver = Callable[[Network], Solution]


@dataclass(frozen=True)
class OperatingPoint:
    """Every voltage and current of a circuit; means over time where a regulator pulses.

    Attributes
    ----------
    voltages : dict
        From node to its voltage against battery negative [V]; NaN where it is cut off from everything.
    currents : dict
        From branch to its current, first node to second [A]: the elements of the netlist, then what the check
        hangs on (``meter``, ``test_lamp``, ``wire``, ``resistor``) and the paths of the faults.
    """

    voltages: dict[str, float]
    currents: dict[str, float]


def with_faults(
    network: Network, scenarios: Scenarios, row: int, decided: Decided, lamp_ohms: Floats | None = None
) -> Network:
    """The network of one scenario.

    Parameters
    ----------
    lamp_ohms : ndarray, shape (n,), optional
        Resistance of the test lamp in each scenario [ohm].

    Returns
    -------
    Network
        With a branch ``NODE:NODE`` for each path that a fault adds.
    """
    named: dict[str, float] = {}
    paths: list[Path] = []
    for column, value in zip(scenarios.column[row], scenarios.ohms[row], strict=True):
        if column < 0:
            continue
        if column < len(scenarios.branches):
            name = scenarios.branches[column]
            if name not in decided.branches:
                named[name] = float(value)
        elif not decided.paths:
            node_a, node_b = scenarios.paths[column - len(scenarios.branches)]
            paths.append(Path(f"{node_a}:{node_b}", node_a, node_b, float(value)))
    volts = network.volts.copy()
    for name, values in scenarios.volts.items():
        if name not in decided.branches and not np.isnan(values[row]):
            volts[network.branch(name)] = values[row]
    if lamp_ohms is not None:
        named[LAMP] = float(lamp_ohms[row])
    before = replace(network, volts=volts).with_paths([replace(path, ohms=np.inf) for path in paths])
    return _without_rings(before, {**named, **{path.name: path.ohms for path in paths}})


def _without_rings(before: Network, ohms: Mapping[str, float]) -> Network:
    """A network with other resistances, but for dead shorts between what dead shorts have joined already.

    Such a one makes no difference, and its own current would be anything.
    """
    after = before.with_ohms({name: value for name, value in ohms.items() if value != 0})
    for name in (name for name, value in ohms.items() if value == 0):
        joined = islands(after.ends, (after.ohms == 0) & (after.volts == 0), len(after.nodes))
        k = after.branch(name)
        if joined[after.ends[k, 0]] != joined[after.ends[k, 1]]:
            after = after.with_ohms({name: 0.0})
    return after


def one_by_one(situation: Situation, solve: Solver) -> Engine:
    """An engine out of a function that solves one whole network. For `respond`."""

    def engine(
        network: Network, outputs: Sequence[int], scenarios: Scenarios, lamp_ohms: Floats | None
    ) -> Floats:
        decided = situation.decided(network)
        rows = [
            solve(with_faults(network, scenarios, row, decided, lamp_ohms)).currents[list(outputs)]
            for row in range(len(scenarios))
        ]
        return np.array(rows, dtype=float).reshape(len(rows), len(outputs))

    return engine


def operating_point(
    situation: Situation, scenarios: Scenarios, response: Response, solve: Solver = nodal.solve
) -> OperatingPoint:
    """Every voltage and current of one scenario."""
    voltages: dict[str, float] = {}
    currents: dict[str, float] = {}
    for share, solution in moments(situation, scenarios, response, solve):
        for node, volts in zip(solution.network.nodes, solution.voltages.tolist(), strict=False):
            voltages[node] = voltages.get(node, 0.0) + share * volts
        for name, amperes in zip(solution.network.names, solution.currents.tolist(), strict=True):
            currents[name] = currents.get(name, 0.0) + share * amperes
    return OperatingPoint(voltages, currents)


def moments(
    situation: Situation, scenarios: Scenarios, response: Response, solve: Solver = nodal.solve
) -> list[tuple[float, Solution]]:
    """The whole circuit in each phase of the regulator, with its share of the time.

    The shares sum to one; a phase that never comes is left out. A steady regulator has one moment, between
    its phases.
    """
    lamp_ohms = (
        lamp_resistance(situation, scenarios, one_by_one(situation, solve)) if situation.has_lamp else None
    )
    duty = float(response.duty[0])
    shares = [duty, 1.0 - duty][: len(situation.phases)]
    solutions = [
        (share, solve(with_faults(network, scenarios, 0, situation.decided(network), lamp_ohms)))
        for network, share in zip(situation.phases, shares, strict=True)
        if share > 0
    ]
    unit = situation.circuit.sheet.regulator
    if unit is None or not unit.steady or len(solutions) == 1:
        return solutions
    volts, amperes = (
        sum(share * each for share, each in zip((duty, 1.0 - duty), both, strict=True))
        for both in zip(*((solution.voltages, solution.currents) for _, solution in solutions), strict=True)
    )
    return [(1.0, replace(solutions[0][1], voltages=np.asarray(volts), currents=np.asarray(amperes)))]
