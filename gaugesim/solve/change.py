"""Any few changes of a network as a small correction of its one inverse (Woodbury), opens and shorts exact.

With the changes written as ``A + sum_f d_f p_f q_f'``, ``K = Q'A^-1 P`` and ``v = Q'x``, the outputs are
``y = y_0 - D a`` where ``(diag(1/d) + K) a = v``. An open in a resistance and a dead short across a path have
``1/d = 0``.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.solve.matrix import TIE, assemble
from gaugesim.solve.network import Integers, Network

# A change is redundant when nothing flows or stands where it is made; legitimate values start at the
# conductance of a 1e9 ohm path, rounding errors end near 1e-13.
REDUNDANT = 1e-11


@dataclass(frozen=True)
class Columns:
    """Places at which a factored network may be changed.

    Attributes
    ----------
    p_index, q_index : ndarray, shape (columns, 2)
        Rows and unknowns that the change touches [1]; the pad is ``size``.
    p_sign, q_sign : ndarray, shape (columns, 2)
        Their signs [1].
    ohms : ndarray, shape (columns,)
        Resistance before the change [ohm]; NaN for a path that is absent before it.
    """

    p_index: Integers
    p_sign: Floats
    q_index: Integers
    q_sign: Floats
    ohms: Floats

    def amount(self, columns: Integers, ohms: Floats) -> Floats:
        """Size of a change to new resistances: ohms added in series, or siemens added in parallel.

        ``inf`` for an exact open or short.

        Parameters
        ----------
        ohms : ndarray
            New resistances [ohm], broadcasting with ``columns``.
        """
        before = self.ohms[columns]
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(np.isfinite(before), ohms - before, 1.0 / np.asarray(ohms, dtype=float))


@dataclass(frozen=True)
class Factored(ABC):
    """A network solved once, from which any few changes follow by a small correction.

    Attributes
    ----------
    x : ndarray, shape (size + 1,)
        Its solution, padded with a zero for ground: node voltages [V], then branch currents [A].
    island : ndarray of int, shape (nodes + 1,)
        See `network.islands`; what is cut off from ground is tied to it, see `matrix.assemble`.
    """

    network: Network
    x: Floats
    island: Integers

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return len(self.network.nodes) + len(self.network.names)

    def columns(
        self, branches: Sequence[int] | Integers, paths: Sequence[tuple[int, int]] | Integers
    ) -> Columns:
        """Prepare changes of branches and of added paths, in that order.

        Parameters
        ----------
        branches : sequence or ndarray of int
            Branch numbers [1].
        paths : sequence of (int, int), or ndarray of int, shape (paths, 2)
            Node numbers [1] between which paths may be added.
        """
        n, size = len(self.network.nodes), self.size
        at = np.asarray(branches, dtype=np.intp)
        joined = np.asarray(paths, dtype=np.intp).reshape(-1, 2)
        nodes = np.concatenate([self.network.ends.take(at, axis=0), joined])
        q_index, q_sign = np.where(nodes == n, size, nodes), np.empty(nodes.shape)
        q_sign[:, 0], q_sign[:, 1] = 1.0, -1.0
        p_index, p_sign = q_index.copy(), q_sign.copy()
        ohms, count = np.full(len(nodes), np.nan), len(at)
        closed = np.flatnonzero(np.isfinite(self.network.ohms[at]))
        # the row of an open branch reads +i = 0 here, so a conductance enters it with a minus
        p_index[:count, 0], p_sign[:count, 0] = n + at, -1.0
        p_index[:count, 1], p_sign[:count, 1] = size, 0.0
        q_index[closed, 0], q_index[closed, 1] = n + at[closed], size
        q_sign[closed, 0], q_sign[closed, 1] = 1.0, 0.0
        ohms[closed] = self.network.ohms[at[closed]]
        return Columns(p_index, p_sign, q_index, q_sign, ohms)

    def freed(self, columns: Columns, index: Integers, amount: Floats) -> tuple[Columns, Integers, Floats]:
        """Changes with the ties taken out of those islands that some of them join to anything else.

        In a tie no current flows for as long as its island is one.

        Parameters
        ----------
        index : ndarray of int, shape (..., k)
            Columns that each scenario changes [1].
        amount : ndarray, shape (..., k)
            How much [ohm or S]; 0 for no change.

        Returns
        -------
        index, amount : ndarray, shape (..., k + ties)
            As they were given if no island is joined.
        """
        ground = len(self.network.nodes)
        if np.all(self.island == ground):
            return columns, index, amount
        absent = np.isnan(columns.ohms)
        used = index[(amount != 0) & absent[index]]
        ends = self.island[np.minimum(columns.q_index[used], ground)]
        # np.unique would load numpy.ma, which takes longer than all this
        joined = sorted({*ends[ends[:, 0] != ends[:, 1]].ravel().tolist()} - {ground})
        if not len(joined):
            return columns, index, amount
        ties = self.columns([], [(node, ground) for node in joined])
        both = Columns(
            *(
                np.concatenate([getattr(each, field.name) for each in (columns, ties)])
                for field in fields(Columns)
            )
        )
        shape = (*index.shape[:-1], len(joined))
        at = np.broadcast_to(len(columns.ohms) + np.arange(len(joined)), shape)
        return (
            both,
            np.concatenate([index, at], axis=-1),
            np.concatenate([amount, np.full(shape, -TIE)], axis=-1),
        )

    def rows(self, unknowns: Sequence[tuple[int, int]]) -> tuple[Integers, Floats]:
        """Outputs as differences of two unknowns; use ``size`` for nothing.

        Parameters
        ----------
        unknowns : sequence of (int, int)
            Pairs of indices [1].

        Returns
        -------
        index : ndarray, shape (outputs, 2)
        sign : ndarray, shape (outputs, 2)
        """
        index = np.array(unknowns, dtype=np.intp).reshape(-1, 2)
        return index, np.broadcast_to(np.array([1.0, -1.0]), index.shape)

    @abstractmethod
    def transfer(self, q: tuple[Integers, Floats], p: tuple[Integers, Floats]) -> Floats:
        """``Q' A^-1 P`` for sparse rows and columns, shape (outputs, columns).

        Parameters
        ----------
        q, p : (index, sign)
            Index [1] and sign [1] arrays, shape (outputs, 2) and (columns, 2).
        """

    @abstractmethod
    def coupling(self, columns: Columns, index: Integers) -> Floats:
        """K between the changes of each scenario, shape (n, k, k).

        Parameters
        ----------
        index : ndarray of int, shape (n, k)
            Columns that each scenario changes [1].
        """

    def pick(self, q: tuple[Integers, Floats]) -> Floats:
        """``Q' x``: the outputs of the unchanged network, shape (outputs,).

        Parameters
        ----------
        q : (index, sign)
            Index [1] and sign [1] arrays, shape (outputs, 2).
        """
        index, sign = q
        return np.asarray(self.x[index[:, 0]] * sign[:, 0] + self.x[index[:, 1]] * sign[:, 1])


@dataclass(frozen=True)
class Inverted(Factored):
    """A network of which the whole inverse is known.

    Attributes
    ----------
    inverse : ndarray, shape (size + 1, size + 1)
        Inverse of its matrix, padded with a row and a column of zeros for ground.
    """

    inverse: Floats

    def transfer(self, q: tuple[Integers, Floats], p: tuple[Integers, Floats]) -> Floats:
        """See `Factored.transfer`."""
        (qi, qs), (pi, ps) = q, p
        rows = self.inverse[qi[:, 0]] * qs[:, :1] + self.inverse[qi[:, 1]] * qs[:, 1:]
        return rows[:, pi[:, 0]] * ps[:, 0] + rows[:, pi[:, 1]] * ps[:, 1]

    def coupling(self, columns: Columns, index: Integers) -> Floats:
        """See `Factored.coupling`."""
        q, p = (columns.q_index, columns.q_sign), (columns.p_index, columns.p_sign)
        return self.transfer(q, p)[index[:, :, None], index[:, None, :]]


def invert(network: Network) -> Inverted:
    """Invert the matrix of a network once.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    """
    matrix, right, island = assemble(network, network.ohms[None], network.volts[None])
    size = matrix.shape[-1]
    inner = np.linalg.inv(matrix[0])
    inverse = np.zeros((size + 1, size + 1))
    inverse[:size, :size] = inner
    x = np.zeros(size + 1)
    x[:size] = inner @ right[0]
    return Inverted(network, x, island[0], inverse)


def corrections(coupling: Floats, drive: Floats, amount: Floats) -> Floats:
    """Solve ``(diag(1/d) + K) a = v`` for a batch of small systems, exact opens and shorts included.

    A change that is redundant, since nothing flows or stands there once the others are made, gets ``a = 0``:
    all currents are then right, and the voltages of what it cuts off are nobody's.

    Parameters
    ----------
    coupling : ndarray, shape (batch, k, k)
        K [S or ohm].
    drive : ndarray, shape (batch, k)
        v [A or V].
    amount : ndarray, shape (batch, k)
        d [ohm or S]; 0 for no change, ``inf`` for an exact open or short.

    Returns
    -------
    ndarray, shape (batch, k)
        a [V or A].

    Examples
    --------
    >>> corrections(np.array([[[2.0]]]), np.array([[6.0]]), np.array([[np.inf]]))
    array([[3.]])
    """
    large = np.abs(amount) > 1
    with np.errstate(divide="ignore"):
        diagonal = np.where(large, 1.0 / np.where(amount == 0, 1.0, amount), 1.0)
    scale = np.where(large, 1.0, amount)
    system = scale[..., None] * coupling
    k = amount.shape[-1]
    system[..., np.arange(k), np.arange(k)] += diagonal
    right = scale * drive
    # elimination in the order given, as every pivot is a passive immittance seen through the earlier changes;
    # a change that makes no difference yet, as an open in a dead end, waits: a later one may close that end
    order, pivots = None, []
    kept = np.ones(amount.shape, dtype=bool)
    for i in range(k):
        kept[..., i] = _bears(system, diagonal, i)
        waiting = ~kept[..., i]
        if i + 1 < k and np.any(waiting):
            if order is None:
                order = np.broadcast_to(np.arange(k), amount.shape).copy()
            _defer(waiting, i, system, diagonal, right, order)
            kept[..., i] = _bears(system, diagonal, i)
        pivots.append(np.where(kept[..., i], system[..., i, i], 1.0))
        for j in range(i + 1, k):
            ratio = np.where(kept[..., i], system[..., j, i] / pivots[i], 0.0)
            system[..., j, i:] -= ratio[..., None] * system[..., i, i:]
            right[..., j] -= ratio * right[..., i]
    solved = np.zeros(right.shape)
    for i in reversed(range(k)):
        rest = right[..., i]
        if i + 1 < k:
            rest = rest - np.einsum("...j,...j->...", system[..., i, i + 1 :], solved[..., i + 1 :])
        solved[..., i] = np.where(kept[..., i], rest / pivots[i], 0.0)
    if order is None:
        return solved
    result = np.empty(right.shape)
    np.put_along_axis(result, np.broadcast_to(order, right.shape), solved, axis=-1)
    return result


def _bears(system: Floats, diagonal: Floats, i: int) -> NDArray[np.bool_]:
    """Whether a pivot is more than rounding."""
    unit = np.where(diagonal[..., i] == 0, 1.0, np.abs(diagonal[..., i]))
    return np.asarray(np.abs(system[..., i, i]) > REDUNDANT * unit)


def _defer(
    waiting: NDArray[np.bool_], i: int, system: Floats, diagonal: Floats, right: Floats, order: Integers
) -> None:
    """Let another change take the place of one that makes no difference yet, in the rows where one does."""
    for j in range(i + 1, system.shape[-1]):
        # the batch runs along the first axis, others have one entry
        rows = np.flatnonzero((waiting & _bears(system, diagonal, j)).reshape(len(system), -1).any(axis=1))
        waiting = waiting & ~_bears(system, diagonal, j)
        exchange = [j, i]
        system[rows[:, None], ..., [i, j], :] = system[rows[:, None], ..., exchange, :]
        system[rows[:, None], ..., [i, j]] = system[rows[:, None], ..., exchange]
        for values in (diagonal, right, order):
            values[rows[:, None], ..., [i, j]] = values[rows[:, None], ..., exchange]
