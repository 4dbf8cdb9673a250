"""Operating points by ngspice."""

from __future__ import annotations

import numpy as np

from gaugesim.solve.matrix import check
from gaugesim.solve.network import Network
from gaugesim.solve.nodal import Solution
from gaugesim.solve.spice.decks import deck
from gaugesim.solve.spice.ngspice import using_engine


def solve(network: Network) -> Solution:
    """Solve a network with ngspice.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    EngineError
        If ngspice is missing or gives up; with what it said.

    Examples
    --------
    >>> from gaugesim.solve.network import Path
    >>> battery, lamp = Path("battery", "feed", "0", 2.0, 12.0), Path("lamp", "feed", "0", 6.0)
    >>> solve(Network.of([battery, lamp])).voltage("feed")
    np.float64(9.0)
    """
    island = check(network, network.ohms[None])[0]
    text, nodes, vectors = deck(network, "network")
    with using_engine() as engine:
        engine.load(text)
        values = engine.operating_point([*nodes, *filter(None, vectors)])
    voltages = np.where(island == len(nodes), np.append(values[: len(nodes)], 0.0), np.nan)
    # a branch that is open carries nothing, a current source its own
    currents = np.nan_to_num(network.amperes)
    currents[[k for k, name in enumerate(vectors) if name]] = values[len(nodes) :]
    return Solution(network, voltages, currents)
