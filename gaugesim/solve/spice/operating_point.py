"""Operating points by ngspice: of a network, or of a batch of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.solve.matrix import check
from gaugesim.solve.network import Network
from gaugesim.solve.nodal import Solution
from gaugesim.solve.spice.decks import DeckNames
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
    batch = solve_batch(network, network.ohms[None])
    return Solution(network, batch.voltages[0], batch.currents[0])


def solve_batch(network: Network, ohms: Floats, volts: Floats | None = None) -> Solution:
    """Solve a batch of networks of one shape with ngspice.

    The text is loaded once for each pattern of opens; after that only values that differ from the row before
    are altered.

    Parameters
    ----------
    ohms : ndarray, shape (batch, branches)
        Resistances [ohm] in place of the network's own.
    volts : ndarray, shape (batch, branches), optional
        Electromotive forces [V] likewise.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    EngineError
        If ngspice is missing or gives up; with what it said.
    """
    ohms, volts = np.broadcast_arrays(ohms, network.volts[None] if volts is None else volts)
    island = check(network, ohms)
    n = len(network.nodes)
    voltages = np.zeros((len(ohms), n + 1))
    # a branch that is open carries nothing, a current source its own
    currents = np.tile(np.nan_to_num(network.amperes), (len(ohms), 1))
    _, which = np.unique(np.isinf(ohms), axis=0, return_inverse=True)
    with using_engine() as engine:
        for pattern in range(which.max(initial=-1) + 1):
            rows = np.flatnonzero(which.reshape(-1) == pattern)
            first = replace(network, ohms=ohms[rows[0]], volts=volts[rows[0]])
            layout = DeckNames.of(first, np.any(volts[rows] != 0, axis=0), np.any(ohms[rows] != 0, axis=0))
            sensed = [k for k, name in enumerate(layout.currents) if name]
            wanted = [*layout.nodes, *filter(None, layout.currents)]
            engine.load(layout.text(first, "network"))
            for row, before in zip(rows, (rows[0], *rows[:-1]), strict=True):
                for k in np.flatnonzero(ohms[row] != ohms[before]):
                    engine.command(layout.alter_ohms(int(k), ohms[row, k]))
                for k in np.flatnonzero((volts[row] != volts[before]) & np.isfinite(ohms[row])):
                    engine.command(layout.alter_volts(int(k), volts[row, k]))
                values = engine.operating_point(wanted)
                voltages[row, :n] = values[:n]
                currents[row, sensed] = values[n:]
    voltages[island != n] = np.nan
    return Solution(network, voltages, currents)
