"""A large network factored sparsely with scipy: a solution for each place at which it is changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.solve.change import Columns, Factored
from gaugesim.solve.matrix import assemble_sparsely
from gaugesim.solve.network import Integers, Network

# columns that are solved at a time
COLUMNS = 256


@dataclass(frozen=True)
class SparselyFactored(Factored):
    """A large network with the factors of its matrix."""

    factors: Any

    def transfer(self, q: tuple[Integers, Floats], p: tuple[Integers, Floats]) -> Floats:
        """See `Factored.transfer`: one solution for each row or column, whichever are fewer."""
        transposed = len(q[0]) <= len(p[0])
        few, many = (q, p) if transposed else (p, q)
        result = np.empty((len(few[0]), len(many[0])))
        for start in range(0, len(few[0]), COLUMNS):
            some = slice(start, start + COLUMNS)
            solved = self._solved((few[0][some], few[1][some]), "T" if transposed else "N")
            result[some] = _taken(solved, many).T
        return result if transposed else result.T

    def _solved(self, columns: tuple[Integers, Floats], which: str) -> Floats:
        """Solutions for sparse right-hand sides, shape (size + 1, columns)."""
        index, sign = columns
        right = np.zeros((self.size + 1, len(index)))
        for end in range(index.shape[1]):
            np.add.at(right, (index[:, end], np.arange(len(index))), sign[:, end])
        solved = np.zeros_like(right)
        solved[:-1] = self.factors.solve(right[:-1], which)
        return solved

    def coupling(self, columns: Columns, index: Integers) -> Floats:
        """See `Factored.coupling`."""
        n, k = index.shape
        result = np.empty((n, k, k))
        used = np.unique(index)
        for start in range(0, len(used), COLUMNS):
            some = used[start : start + COLUMNS]
            solved = self._solved((columns.p_index[some], columns.p_sign[some]), "N")
            row, j = np.nonzero((index >= some[0]) & (index <= some[-1]))
            at = index[row]
            q = columns.q_index[at], columns.q_sign[at]
            column = np.searchsorted(some, index[row, j])[:, None, None]
            result[row, :, j] = (solved[q[0], column] * q[1]).sum(axis=2)
        return result


def _taken(solved: Floats, rows: tuple[Integers, Floats]) -> Floats:
    index, sign = rows
    return np.asarray(solved[index[:, 0]] * sign[:, :1] + solved[index[:, 1]] * sign[:, 1:])


def factor_sparsely(network: Network) -> SparselyFactored:
    """Factor the matrix of a large network once.

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

    matrix, right, island = assemble_sparsely(network)
    factors = splu(matrix)
    x = np.zeros(len(right) + 1)
    x[:-1] = factors.solve(right)
    x[:-1] += factors.solve(right - matrix @ x[:-1])  # the last digits
    return SparselyFactored(network, x, island, factors)
