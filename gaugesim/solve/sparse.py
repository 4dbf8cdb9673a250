"""A large network factored sparsely: every single change of it at the price of a few numbers.

Outputs answer to all changes through one adjoint solution each, and what a change sees of itself is the
resistance between its two nodes, of which `elimination` gives all at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from gaugesim.solve.change import Columns, Factored
from gaugesim.solve.elimination import TO_GROUND, Seen, resistances, summed
from gaugesim.solve.matrix import assemble_sparsely
from gaugesim.solve.network import Floats, Integers, Network, islands

# a branch that is so small a part of its loop keeps too few digits of the rest: it is solved by itself
LITTLE = 1e-6
# columns that are solved at a time
COLUMNS = 256


@dataclass(frozen=True)
class SparselyFactored(Factored):
    """A large network with the factors of its matrix.

    Attributes
    ----------
    factors
        Of its matrix, from scipy.
    ties : ndarray of int
        Nodes that are tied to ground, as nothing else grounds their island [1].
    """

    factors: Any
    ties: Integers

    def transfer(self, q: tuple[Integers, Floats], p: tuple[Integers, Floats]) -> Floats:
        """See `Factored.transfer`: one solution for each row or column, whichever are fewer."""
        if len(q[0]) <= len(p[0]):
            return self._solved(q, p, "T")
        return self._solved(p, q, "N").T

    def _solved(self, few: tuple[Integers, Floats], many: tuple[Integers, Floats], which: str) -> Floats:
        (index, sign), (at, factor) = few, many
        result = np.empty((len(index), len(at)))
        for start in range(0, len(index), COLUMNS):
            some = index[start : start + COLUMNS]
            right = np.zeros((self.size + 1, len(some)))
            for end in range(index.shape[1]):
                np.add.at(right, (some[:, end], np.arange(len(some))), sign[start : start + COLUMNS, end])
            solved = np.zeros_like(right)
            solved[:-1] = self.factors.solve(right[:-1], which)
            taken = solved[at[:, 0]] * factor[:, :1] + solved[at[:, 1]] * factor[:, 1:]
            result[start : start + COLUMNS] = taken.T
        return result

    def coupling(self, columns: Columns, index: Integers) -> Floats:
        """See `Factored.coupling`."""
        n, k = index.shape
        if k == 1:
            return self._own(columns)[index][:, :, None]
        # few scenarios change more than one branch; for the columns of those alone all of K is solved
        several = np.flatnonzero((index != index[:, :1]).any(axis=1))
        result = np.broadcast_to(self._own(columns)[index[:, :1, None]], (n, k, k)).copy()
        used, which = np.unique(index[several], return_inverse=True)
        q = columns.q_index[used], columns.q_sign[used]
        p = columns.p_index[used], columns.p_sign[used]
        which = which.reshape(-1, k)
        result[several] = self.transfer(q, p)[which[:, :, None], which[:, None, :]]
        return result

    def _own(self, columns: Columns) -> Floats:
        """K of each column with itself."""
        n = len(self.network.nodes)
        # branches that can carry current have a current as their unknown, all others the nodes they join
        closed = np.flatnonzero(np.isfinite(columns.ohms))
        ends = np.where(columns.q_index == self.size, n, columns.q_index)
        branch = columns.q_index[closed, 0] - n
        for end in range(2):
            ends[closed, end] = self.network.ends[branch, end]
        own = self._seen(ends[:, 0], ends[:, 1])
        ohms = columns.ohms[closed]
        siemens = 1 / np.where(ohms > 0, ohms, 1.0)
        rest = 1 - siemens * own[closed]
        own[closed] = np.where((ohms > 0) & (rest >= LITTLE), siemens * rest, np.nan)
        alone = np.flatnonzero(np.isnan(own))
        for start in range(0, len(alone), COLUMNS):
            some = alone[start : start + COLUMNS]
            q = columns.q_index[some], columns.q_sign[some]
            p = columns.p_index[some], columns.p_sign[some]
            own[some] = np.diagonal(self.transfer(q, p))
        return own

    def _seen(self, node_a: Integers, node_b: Integers) -> Floats:
        """Resistance between two nodes; NaN where only a solution of its own can tell."""
        number, seen = self._resistances
        return seen.at(number[node_a], number[node_b])

    @cached_property
    def _resistances(self) -> tuple[Integers, Seen]:
        """The number of each node once what has no resistance is one node; what is seen between those."""
        network = self.network
        n = len(network.nodes)
        sources = ~np.isnan(network.amperes)
        label = islands(network.ends, (network.ohms == 0) & ~sources, n)
        # a node of each label bears its own number; ground is the last
        kept = np.flatnonzero(label[:-1] == np.arange(n))
        number = np.full(n + 1, TO_GROUND)
        number[kept] = np.arange(len(kept))
        number = number[label]
        through = np.flatnonzero(~sources & np.isfinite(network.ohms) & (network.ohms > 0))
        a, b = number[network.ends[through]].T
        siemens = 1 / network.ohms[through]
        at_ground = (a == TO_GROUND) ^ (b == TO_GROUND)
        node = np.concatenate([np.maximum(a, b)[at_ground], number[self.ties]])
        grounded = summed(node, np.append(siemens[at_ground], np.ones(len(self.ties))), len(kept))
        inner = (np.minimum(a, b) != TO_GROUND) & (a != b)
        return number, resistances(a[inner], b[inner], siemens[inner], grounded)


def factor_sparsely(network: Network) -> SparselyFactored:
    """Factor the matrix of a large network once.

    Parameters
    ----------
    network : Network

    Returns
    -------
    SparselyFactored

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.

    Examples
    --------
    >>> from gaugesim.solve.network import Path
    >>> battery = Path("v", "in", "0", 0.0, 12.0)
    >>> divider = Network.of([battery, Path("r1", "in", "out", 1e3), Path("r2", "out", "0", 3e3)])
    >>> solved = factor_sparsely(divider)
    >>> solved.x[divider.node("out")].round(9)
    np.float64(9.0)
    """
    from scipy.sparse.linalg import splu

    matrix, right, ties = assemble_sparsely(network)
    factors = splu(matrix)
    x = np.zeros(len(right) + 1)
    x[:-1] = factors.solve(right)
    x[:-1] += factors.solve(right - matrix @ x[:-1])  # the last digits
    return SparselyFactored(network, x, bool(len(ties)), factors, ties)
