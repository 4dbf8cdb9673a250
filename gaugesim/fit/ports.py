"""A network seen from a few of its nodes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.solve.network import Floats, Network


def stamped(incidence: Floats, siemens: Floats) -> Floats:
    """Conductance matrices of a few branches.

    Parameters
    ----------
    incidence : ndarray, shape (nodes, branches)
        1 where a branch begins, -1 where it ends [1].
    siemens : ndarray, shape (sets, branches)
        [S].

    Returns
    -------
    ndarray, shape (sets, nodes, nodes)
        [S].

    Examples
    --------
    >>> stamped(np.array([[1.0], [-1.0]]), np.array([[0.5]]))
    array([[[ 0.5, -0.5],
            [-0.5,  0.5]]])
    """
    nodes, branches = incidence.shape
    outer = (incidence[:, None, :] * incidence[None, :, :]).reshape(nodes * nodes, branches)
    return np.asarray((siemens @ outer.T).reshape(-1, nodes, nodes))


@dataclass(frozen=True)
class Pair:
    """Two nodes of a few branches that are joined.

    Attributes
    ----------
    incidence : ndarray, shape (nodes, branches)
        Of the nodes that hang together, the second of the pair left out.
    first : int
        Row of the first of the pair.
    """

    incidence: Floats
    first: int

    def ohms(self, siemens: Floats) -> Floats:
        """What an ohmmeter shows between the two.

        Parameters
        ----------
        siemens : ndarray, shape (sets, branches)
            [S].

        Returns
        -------
        ndarray, shape (sets,)
            [ohm].
        """
        injected = np.zeros((len(self.incidence), 1))
        injected[self.first] = 1.0
        return np.asarray(np.linalg.solve(stamped(self.incidence, siemens), injected)[:, self.first, 0])


def joined(incidence: Floats, first: int, second: int) -> Pair | None:
    """See whether and how branches join two nodes.

    Parameters
    ----------
    incidence : ndarray, shape (nodes, branches)
        As for `stamped` [1].
    first, second : int
        Rows of two nodes [1].

    Returns
    -------
    Pair or None
        None if nothing joins them.
    """
    reached, waiting = {first}, [first]
    while waiting:
        ends = np.any(incidence[:, incidence[waiting.pop()] != 0] != 0, axis=1)
        new = {int(node) for node in np.flatnonzero(ends)} - reached
        reached |= new
        waiting += new
    if second not in reached:
        return None
    kept = sorted(reached - {second})
    return Pair(incidence[kept], kept.index(first))


def reduced(network: Network, ports: Sequence[str]) -> tuple[Floats, Floats]:
    """A network seen from some of its nodes: the currents that it takes in there are ``Y v - J``.

    Parameters
    ----------
    ports : sequence of str
        Nodes. No part of the network may hang on none of them, nor on ground.

    Returns
    -------
    matrix : ndarray, shape (ports, ports)
        Y [S].
    source : ndarray, shape (ports,)
        J [A].

    Examples
    --------
    >>> from gaugesim.solve.network import Path
    >>> battery = Network.of([Path("battery", "inner", "0", 0.0, 12.0), Path("lead", "inner", "out", 2.0)])
    >>> reduced(battery, ["out"])
    (array([[0.5]]), array([6.]))
    """
    live = np.flatnonzero(np.isfinite(network.ohms))
    n = len(network.nodes)
    size = n + len(live)
    matrix, right = np.zeros((size + 1, size + 1)), np.zeros(size + 1)
    for row, k in enumerate(live, start=n):
        a, b = (end if end < n else size for end in network.ends[k])  # the last row and column are ground's
        matrix[[a, row], [row, a]] += 1.0
        matrix[[b, row], [row, b]] -= 1.0
        matrix[row, row] = -network.ohms[k]
        right[row] = network.volts[k]
    keep = [network.node(name) for name in ports]
    rest = [i for i in range(size) if i not in keep]
    outward = np.column_stack([matrix[np.ix_(rest, keep)], right[rest]])
    inner = np.linalg.solve(matrix[np.ix_(rest, rest)], outward)
    outer = matrix[np.ix_(keep, rest)]
    return matrix[np.ix_(keep, keep)] - outer @ inner[:, :-1], right[keep] - outer @ inner[:, -1]
