"""The embedded engine: modified nodal analysis in numpy, exact for opens and dead shorts.

`solve` answers one network or a batch; `factor` and `corrections` answer any few changes of one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.solve.change import Columns, Factored, corrections, invert
from gaugesim.solve.matrix import assemble, check
from gaugesim.solve.network import Network

__all__ = ["Columns", "Factored", "Solution", "corrections", "factor", "solve"]

# a network of more unknowns than this is factored sparsely: its whole inverse would take minutes and memory
MANY = 1200


def factor(network: Network) -> Factored:
    """Solve a network once, so that any few changes of it follow by a small correction.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    """
    if len(network.nodes) + len(network.names) <= MANY:
        return invert(network)
    from gaugesim.solve.sparse import factor_sparsely

    return factor_sparsely(network)


@dataclass(frozen=True)
class Solution:
    """Voltages and currents of one network or a batch.

    Attributes
    ----------
    voltages : ndarray, shape (..., nodes + 1)
        Against ground [V], ground last; NaN at a node that is cut off from everything.
    currents : ndarray, shape (..., branches)
        From the first node to the second [A].
    """

    network: Network
    voltages: Floats
    currents: Floats

    def voltage(self, node_a: str, node_b: str = "0") -> Floats:
        """Voltage between two nodes [V]."""
        return self.voltages[..., self.network.node(node_a)] - self.voltages[..., self.network.node(node_b)]

    def current(self, branch: str) -> Floats:
        """Current of a branch [A]."""
        return self.currents[..., self.network.branch(branch)]


def solve(network: Network, ohms: Floats | None = None, volts: Floats | None = None) -> Solution:
    """Solve a network, or a batch of networks of the same shape.

    Parameters
    ----------
    ohms : ndarray, shape (batch, branches), optional
        Resistances [ohm] in place of the network's own.
    volts : ndarray, shape (batch, branches), optional
        Electromotive forces [V] likewise.

    Returns
    -------
    Solution
        Of shape (batch, ...), or without the batch axis if neither was given.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.

    Examples
    --------
    >>> from gaugesim.solve.network import Path
    >>> battery = Path("v", "in", "0", 0.0, 12.0)
    >>> divider = Network.of([battery, Path("r1", "in", "out", 1e3), Path("r2", "out", "0", 3e3)])
    >>> solve(divider).voltage("out").round(9)
    np.float64(9.0)
    >>> solve(divider.with_ohms({"r1": np.inf})).voltage("out")
    np.float64(0.0)
    """
    single = ohms is None and volts is None
    ohms = network.ohms[None] if ohms is None else ohms
    volts = network.volts[None] if volts is None else volts
    ohms, volts = np.broadcast_arrays(ohms, volts)
    n = len(network.nodes)
    if single and n + len(network.names) > MANY:
        island = check(network, ohms)
        x = factor(network).x[None, :-1]
    else:
        matrix, right, island = assemble(network, ohms, volts)
        x = np.asarray(np.linalg.solve(matrix, right[..., None])[..., 0], dtype=np.float64)
    voltages = np.concatenate([x[:, :n], np.zeros((len(x), 1))], axis=1)
    voltages[island != n] = np.nan
    currents = x[:, n:]
    if single:
        voltages, currents = voltages[0], currents[0]
    return Solution(network, voltages, currents)
