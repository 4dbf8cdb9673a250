"""Whole networks solved anew, one for each vehicle, without the small corrections that inference rests on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.reading import Engine, Situation
from gaugesim.scenario.check import LAMP
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.solve import nodal
from gaugesim.solve.network import Integers, Network, Path

# networks that are solved at once: what fits into memory
AT_ONCE = 256


def anew(situation: Situation) -> Engine:
    """An engine that solves the whole network of every scenario in a situation. For `respond`."""

    def solve(
        network: Network, outputs: Sequence[int], scenarios: Scenarios, lamp_ohms: Floats | None
    ) -> Floats:
        currents = np.empty((len(scenarios), len(outputs)))
        for paths, rows in _by_paths(scenarios):
            for some in np.array_split(rows, -(-len(rows) // AT_ONCE)):
                lamps = None if lamp_ohms is None else lamp_ohms[some]
                full, ohms, volts = _stamped(situation, network, scenarios.take(some), paths, lamps)
                currents[some] = nodal.solve(full, ohms, volts).currents[:, list(outputs)]
        return currents

    return solve


def _by_paths(scenarios: Scenarios) -> Iterator[tuple[Integers, Integers]]:
    """Numbers of the paths that some fault adds, and the rows that have just these."""
    first = len(scenarios.branches)
    added = np.sort(np.where(scenarios.column >= first, scenarios.column - first, -1), axis=1)
    kinds, which = np.unique(added, axis=0, return_inverse=True)
    for k, kind in enumerate(kinds):
        yield np.unique(kind[kind >= 0]), np.flatnonzero(which.reshape(-1) == k)


def _stamped(
    situation: Situation, network: Network, scenarios: Scenarios, paths: Integers, lamp_ohms: Floats | None
) -> tuple[Network, Floats, Floats]:
    """The network with the paths that are added; ohms and volts of all branches in each scenario."""
    decided = situation.decided(network)
    added = [scenarios.paths[i] for i in paths]
    full = network.with_paths(Path(f"{a}:{b}", a, b, np.inf) for a, b in added)
    number = np.full(len(scenarios.branches) + len(scenarios.paths) + 1, -1)
    for i, name in enumerate(scenarios.branches):
        if name not in decided.branches:
            number[i] = network.branch(name)
    if not decided.paths:
        number[len(scenarios.branches) + paths] = len(network.names) + np.arange(len(paths))
    # the last one stands for no change at all
    branch = number[scenarios.column]
    ohms = np.tile(full.ohms, (len(scenarios), 1))
    row, k = np.nonzero(branch >= 0)
    ohms[row, branch[row, k]] = scenarios.ohms[row, k]
    volts = np.tile(full.volts, (len(scenarios), 1))
    for name, values in scenarios.volts.items():
        if name not in decided.branches:
            at = full.branch(name)
            volts[:, at] = np.where(np.isnan(values), volts[:, at], values)
    if lamp_ohms is not None:
        ohms[:, full.branch(LAMP)] = lamp_ohms
    return full, ohms, volts
