"""Resistance seen between neighbours of a large network, for all of them at once.

Nodes of few neighbours, none beside another, are eliminated together, level by level; on the way back each
level gives the resistances seen at its own nodes. Every step is a few array operations whatever the number of
nodes, so that all resistances cost little more than one factorisation.

A node's conductance is always summed up, never taken from a difference: wires of milliohms beside kilohms to
ground keep their digits.

Source
------
Takahashi, Fagan and Chen (1973): entries of the inverse at the pattern of the factors follow from those
alone, here as differences. Grassmann, Taksar and Heyman (1985): elimination without subtraction.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gaugesim.solve.network import Floats, Integers

if TYPE_CHECKING:
    from scipy.sparse import csr_array

# neighbours of a node that is eliminated, at most: two for a ladder, more where rungs cross
DEGREE = 6
# stands for ground as a neighbour
TO_GROUND = -1
# times that a level looks for more nodes that may go with it
ROUNDS = 2
# nodes that are left to plain elimination one by one, and a share of a level that is worth a level
FEW = 32
WORTH = 0.05


@dataclass(frozen=True)
class Seen:
    """Resistance seen between nodes that have a path between them, and from each node to ground.

    Attributes
    ----------
    size : int
    key : ndarray of int
        ``node * size + node`` of each two neighbours, either way round, ascending [1].
    between : ndarray
        [ohm], likewise.
    to_ground : ndarray, shape (size,)
        [ohm].
    """

    size: int
    key: Integers
    between: Floats
    to_ground: Floats

    def at(self, one: Integers, other: Integers) -> Floats:
        """Resistance between nodes.

        Parameters
        ----------
        one, other : ndarray of int
            Nodes; `TO_GROUND` for ground.

        Returns
        -------
        ndarray
            [ohm]; NaN for two nodes that are no neighbours.
        """
        grounded = (one < 0) | (other < 0)
        node = np.maximum(one, other)
        result = np.where(node < 0, 0.0, self.to_ground[node])
        inner = np.flatnonzero(~grounded)
        wanted = one[inner] * self.size + other[inner]
        if len(self.key):
            place = np.minimum(np.searchsorted(self.key, wanted), len(self.key) - 1)
            result[inner] = np.where(self.key[place] == wanted, self.between[place], np.nan)
        else:
            result[inner] = np.nan
        result[one == other] = 0.0
        return result


@dataclass(frozen=True)
class _Level:
    """A network, and the nodes that are eliminated from it."""

    row: Integers  # of each conductance between two nodes, either way round, sorted by row and column
    column: Integers
    number: Integers  # of each node among those gone, or among those left
    gone: Integers
    left: Integers
    neighbour: Integers  # (gone, slots): numbered among those left; ground last
    weight: Floats  # (gone, slots): the share of each in the node's conductance; they sum to one
    siemens: Floats  # (gone,): the node's conductance


def resistances(conductances: csr_array, grounded: Floats) -> Seen:
    """Resistance between every two nodes that a conductance joins, and from every node to ground.

    Parameters
    ----------
    conductances : csr_array, shape (size, size)
        Between nodes [S], symmetric, nothing on the diagonal.
    grounded : ndarray, shape (size,)
        From each node to ground [S]; every node must reach ground somehow.

    Returns
    -------
    Seen

    Examples
    --------
    >>> from scipy.sparse import csr_array
    >>> pair = csr_array(np.array([[0.0, 1.0], [1.0, 0.0]]))
    >>> resistances(pair, np.array([1.0, 0.0])).at(np.array([0, 1]), np.array([1, TO_GROUND]))
    array([1., 2.])
    """
    levels: list[_Level] = []
    random = np.random.default_rng(0)
    while conductances.shape[0] > FEW:
        conductances.sort_indices()
        level, rest, rest_grounded = _eliminate(conductances, grounded, random)
        if len(level.gone) < WORTH * conductances.shape[0]:
            break
        levels.append(level)
        conductances, grounded = rest, rest_grounded
    found = _one_by_one(conductances.toarray(), grounded)
    for level in reversed(levels):
        found = _back(level, found)
    return found


def _one_by_one(conductances: Floats, grounded: Floats) -> Seen:
    """All resistances of a small network; ground is its last node."""
    size = len(conductances)
    full = np.zeros((size + 1, size + 1))
    full[:size, :size] = conductances
    full[:size, size] = full[size, :size] = grounded
    shares, siemens = [], []
    for k in range(size):
        siemens.append(full[k, k + 1 :].sum())
        shares.append(full[k, k + 1 :] / siemens[-1])
        full[k + 1 :, k + 1 :] += np.outer(full[k, k + 1 :], shares[-1])
    result = np.zeros((size + 1, size + 1))
    for k in reversed(range(size)):
        inner, share = result[k + 1 :, k + 1 :], shares[k]
        through = inner @ share
        seen = 1 / siemens[k] + through - 0.5 * share @ through
        result[k, k + 1 :] = result[k + 1 :, k] = seen
    return Seen(size, np.arange(size * size), result[:size, :size].ravel(), result[:size, size])


def _eliminate(
    conductances: csr_array, grounded: Floats, random: np.random.Generator
) -> tuple[_Level, csr_array, Floats]:
    from scipy.sparse import csr_array

    size = conductances.shape[0]
    degree = np.diff(conductances.indptr)
    row, column = np.repeat(np.arange(size), degree), conductances.indices.astype(np.intp)
    # of two neighbours the one with fewer neighbours goes, by lot where they have equally many
    rank = np.where(degree <= DEGREE, degree + random.random(size), np.inf)
    goes = np.zeros(size, dtype=bool)
    # then those that have lost to one that did not go itself
    for _ in range(ROUNDS):
        lowest = np.full(size, np.inf)
        np.minimum.at(lowest, row, rank[column])
        goes |= rank < lowest
        rank[goes] = np.inf
        rank[column[goes[row]]] = np.inf
    gone, left = np.flatnonzero(goes), np.flatnonzero(~goes)
    number = np.empty(size, dtype=np.intp)
    number[left], number[gone] = np.arange(len(left)), np.arange(len(gone))
    siemens = np.bincount(row, conductances.data, size)[gone] + grounded[gone]
    mine = goes[row]
    r, c = number[row[mine]], number[column[mine]]
    slots = int(degree[gone].max(initial=0)) + 1
    neighbour = np.full((len(gone), slots), TO_GROUND)
    weight = np.zeros((len(gone), slots))
    slot = np.arange(len(r)) - np.searchsorted(r, np.arange(len(gone)))[r]
    neighbour[r, slot] = c
    weight[r, slot] = conductances.data[mine] / siemens[r]
    weight[:, -1] = grounded[gone] / siemens
    # what a node leaves behind joins every two of its neighbours; with what stays it makes one matrix
    across = (weight * siemens[:, None])[:, :, None] * weight[:, None, :]
    there = (neighbour >= 0)[:, :, None] & (neighbour >= 0)[:, None, :] & ~np.eye(slots, dtype=bool)
    one = np.broadcast_to(neighbour[:, :, None], there.shape)[there]
    other = np.broadcast_to(neighbour[:, None, :], there.shape)[there]
    kept = ~goes[row] & ~goes[column]
    rest = csr_array(
        (
            np.concatenate([conductances.data[kept], across[there]]),
            (np.concatenate([number[row[kept]], one]), np.concatenate([number[column[kept]], other])),
        ),
        shape=(len(left), len(left)),
    )
    real = neighbour >= 0
    more = np.bincount(neighbour[real], across[:, :, -1][real], len(left))
    level = _Level(row, column, number, gone, left, neighbour, weight, siemens)
    return level, rest, grounded[left] + more


def _back(level: _Level, found: Seen) -> Seen:
    """Resistances of a level out of those of what was left of it."""
    size, slots = len(level.gone) + len(level.left), level.weight.shape[1]
    through = np.zeros(level.weight.shape)
    for i in range(slots):
        for j in range(slots):
            through[:, i] += level.weight[:, j] * found.at(level.neighbour[:, i], level.neighbour[:, j])
    half = 0.5 * (level.weight * through).sum(axis=1)
    beside = 1 / level.siemens[:, None] + through - half[:, None]
    to_ground = np.empty(size)
    to_ground[level.left], to_ground[level.gone] = found.to_ground, beside[:, -1]
    is_gone = np.zeros(size, dtype=bool)
    is_gone[level.gone] = True
    between = np.empty(len(level.row))
    row, column = level.number[level.row], level.number[level.column]
    stays = ~is_gone[level.row] & ~is_gone[level.column]
    between[stays] = found.at(row[stays], column[stays])
    for mine, gone, left in (
        (is_gone[level.row], row, column),
        (is_gone[level.column], column, row),
    ):
        node = gone[mine]
        slot = np.argmax(level.neighbour[node] == left[mine, None], axis=1)
        between[mine] = beside[node, slot]
    return Seen(size, level.row * size + level.column, between, to_ground)
