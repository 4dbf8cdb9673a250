"""Whole networks solved anew, one for each vehicle, without the small corrections that inference rests on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugesim.reading import Engine, Situation
from gaugesim.scenario.check import LAMP
from gaugesim.scenario.stack import Scenarios
from gaugesim.solve import nodal
from gaugesim.solve.network import Floats, Integers, Network, Path

# networks that are solved at once: what fits into memory
AT_ONCE = 256


def anew(place: Situation) -> Engine:
    """An engine that solves the whole network of every scenario in a situation.

    Parameters
    ----------
    place : Situation

    Returns
    -------
    Engine
        For `respond`.
    """

    def solve(
        network: Network, outputs: Sequence[int], scenarios: Scenarios, lamp_ohms: Floats | None
    ) -> Floats:
        full, ohms, volts = _stamped(place, network, scenarios, lamp_ohms)
        currents = np.empty((len(scenarios), len(outputs)))
        for start in range(0, len(scenarios), AT_ONCE):
            some = slice(start, start + AT_ONCE)
            currents[some] = nodal.solve(full, ohms[some], volts[some]).currents[:, list(outputs)]
        return currents

    return solve


def _stamped(
    place: Situation, network: Network, scenarios: Scenarios, lamp_ohms: Floats | None
) -> tuple[Network, Floats, Floats]:
    """The network with every path that some fault adds; ohms and volts of all branches in each scenario."""
    decided = place.decided(network)
    full = network.with_paths(Path(f"{a}:{b}", a, b, np.inf) for a, b in scenarios.paths)
    number = [-1 if name in decided.branches else network.branch(name) for name in scenarios.branches]
    number += [-1 if decided.paths else len(network.names) + i for i in range(len(scenarios.paths))]
    branch: Integers = np.array([*number, -1], dtype=np.intp)[scenarios.column]
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
