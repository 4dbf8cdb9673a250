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

import numpy as np
from numpy.typing import NDArray

from gaugesim.solve.network import Floats, Integers

# neighbours of a node that is eliminated, at most, unless most have more: two for a ladder, more where rungs
# cross, many when little is left of a net
DEGREE = 6
# stands for ground as a neighbour
TO_GROUND = -1
# times that a level looks for more nodes that may go with it
ROUNDS = 2
# nodes that are left to plain elimination one by one, and a share of a level that is worth a level
FEW = 48
WORTH = 0.02


@dataclass(frozen=True)
class Seen:
    """Resistance seen between nodes that have a path between them, and from each node to ground.

    Attributes
    ----------
    size : int
    key : ndarray of int
        ``lower * size + higher`` of each two neighbours, ascending [1].
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
        low, high = np.minimum(one, other), np.maximum(one, other)
        result = np.where(high < 0, 0.0, self.to_ground[high])
        inner = np.flatnonzero(low >= 0)
        low, high = low[inner], high[inner]
        wanted = low * self.size + high
        found = np.full(len(inner), np.nan)
        if len(self.key):
            place = np.minimum(np.searchsorted(self.key, wanted), len(self.key) - 1)
            found = np.where(self.key[place] == wanted, self.between[place], np.nan)
        result[inner] = np.where(low == high, 0.0, found)
        return result


@dataclass(frozen=True)
class _Mesh:
    """Conductances between nodes and from each to ground.

    Attributes
    ----------
    key : ndarray of int, shape (edges,)
        ``lower * size + higher`` of the two nodes of each, ascending; no two nodes twice.
    low, high : ndarray of int, shape (edges,)
    siemens : ndarray, shape (edges,)
    grounded : ndarray, shape (size,)
        [S].
    """

    key: Integers
    low: Integers
    high: Integers
    siemens: Floats
    grounded: Floats

    @classmethod
    def of(cls, one: Integers, other: Integers, siemens: Floats, grounded: Floats) -> tuple[_Mesh, Integers]:
        """Conductances side by side as one, and where each of those given has gone."""
        key = np.minimum(one, other) * len(grounded) + np.maximum(one, other)
        order = np.argsort(key)
        ordered = key[order]
        is_new = np.ones(len(key), dtype=bool)
        np.not_equal(ordered[1:], ordered[:-1], out=is_new[1:])
        place = np.empty(len(key), dtype=np.intp)
        place[order] = np.cumsum(is_new) - 1
        key = ordered[is_new]
        low, high = np.divmod(key, len(grounded))
        return cls(key, low, high, summed(place, siemens, len(key)), grounded), place


@dataclass(frozen=True)
class _Level:
    """What of a mesh has been eliminated, and where the rest of it has gone.

    Attributes
    ----------
    mesh : _Mesh
    gone, left : ndarray of int
        Its nodes.
    neighbour : ndarray of int, shape (slots, gone)
        Numbered among those left; of no meaning where the weight is 0.
    weight : ndarray, shape (slots + 1, gone)
        The share of each in the node's conductance, ground last; they sum to one.
    siemens : ndarray, shape (gone,)
        The node's conductance.
    edge, slot, node : ndarray of int
        Conductances at these nodes, and of which slot of which of them each is.
    stays, place : ndarray of int
        The other conductances, and where each is in the rest.
    crosses : tuple of (int, ndarray of int, ndarray of int of shape (slot, nodes))
        For each slot but the first: the nodes that have it, and where in the rest their conductances are
        between this neighbour and those before it.
    """

    mesh: _Mesh
    gone: Integers
    left: Integers
    neighbour: Integers
    weight: Floats
    siemens: Floats
    edge: Integers
    slot: Integers
    node: Integers
    stays: Integers
    place: Integers
    crosses: tuple[tuple[int, Integers, Integers], ...]


def summed(place: Integers, values: Floats, size: int) -> Floats:
    """Sum of the values at each place.

    Parameters
    ----------
    place : ndarray of int, shape (n,)
    values : ndarray, shape (n,)
    size : int
        Number of places [1].

    Returns
    -------
    ndarray, shape (size,)
    """
    return np.bincount(place, values, size).astype(float, copy=False)


def resistances(one: Integers, other: Integers, siemens: Floats, grounded: Floats) -> Seen:
    """Resistance between every two nodes that a conductance joins, and from every node to ground.

    Parameters
    ----------
    one, other : ndarray of int, shape (n,)
        Nodes that each conductance joins, never one to itself [1].
    siemens : ndarray, shape (n,)
        Conductances [S], more than 0.
    grounded : ndarray, shape (size,)
        From each node to ground [S]; every node must reach ground somehow.

    Returns
    -------
    Seen

    Examples
    --------
    >>> both = resistances(np.array([0]), np.array([1]), np.array([1.0]), np.array([1.0, 0.0]))
    >>> both.at(np.array([0, 1]), np.array([1, TO_GROUND]))
    array([1., 2.])
    """
    mesh, _ = _Mesh.of(one, other, siemens, grounded)
    first, levels = mesh, []
    random = np.random.default_rng(0)
    while len(mesh.grounded) > FEW:
        goes = _chosen(mesh, random)
        if np.count_nonzero(goes) < WORTH * len(goes):
            break
        level, mesh = _eliminate(mesh, goes)
        levels.append(level)
    between, to_ground = _one_by_one(mesh)
    for level in reversed(levels):
        between, to_ground = _back(level, between, to_ground)
    return Seen(len(grounded), first.key, between, to_ground)


def _one_by_one(mesh: _Mesh) -> tuple[Floats, Floats]:
    """Resistances of a small mesh: of its conductances, and of its nodes to ground."""
    size = len(mesh.grounded)
    full = np.zeros((size + 1, size + 1))
    full[mesh.low, mesh.high] = full[mesh.high, mesh.low] = mesh.siemens
    full[:size, size] = full[size, :size] = mesh.grounded
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
    return result[mesh.low, mesh.high], result[:size, size]


def _chosen(mesh: _Mesh, random: np.random.Generator) -> NDArray[np.bool_]:
    """Nodes of few neighbours, of which none is another's neighbour."""
    size = len(mesh.grounded)
    degree = np.bincount(mesh.low, minlength=size) + np.bincount(mesh.high, minlength=size)
    # of two neighbours the one with fewer neighbours goes, by lot where they have equally many: rather one of
    # even number, which takes every other node of a line that is numbered along
    lot = 0.5 * (np.arange(size) % 2 + random.random(size))
    rank = np.where(degree <= max(DEGREE, degree.mean()), degree + lot, np.inf)
    goes = np.zeros(size, dtype=bool)
    for _ in range(ROUNDS):
        one, other = rank[mesh.low], rank[mesh.high]
        stands = np.isfinite(rank)
        stands[np.where(one < other, mesh.high, mesh.low)] = False
        goes |= stands
        # then those that have lost to one that did not go itself
        rank[goes] = np.inf
        rank[mesh.high[goes[mesh.low]]] = np.inf
        rank[mesh.low[goes[mesh.high]]] = np.inf
    return goes


def _eliminate(mesh: _Mesh, goes: NDArray[np.bool_]) -> tuple[_Level, _Mesh]:
    gone, left = np.flatnonzero(goes), np.flatnonzero(~goes)
    number = np.empty(len(goes), dtype=np.intp)
    number[left], number[gone] = np.arange(len(left)), np.arange(len(gone))
    low_goes, high_goes = goes[mesh.low], goes[mesh.high]
    edge, stays = np.flatnonzero(low_goes | high_goes), np.flatnonzero(~(low_goes | high_goes))
    low, high = number[mesh.low], number[mesh.high]
    node, other = np.where(low_goes, low, high)[edge], np.where(low_goes, high, low)[edge]
    order = np.argsort(node, kind="stable")
    edge, node, other = edge[order], node[order], other[order]
    degree = np.bincount(node, minlength=len(gone))
    slot = np.arange(len(node)) - (np.cumsum(degree) - degree)[node]
    slots = int(degree.max(initial=0))
    grounded, siemens = mesh.grounded[gone], mesh.siemens[edge]
    whole = summed(node, siemens, len(gone)) + grounded
    neighbour = np.zeros((slots, len(gone)), dtype=np.intp)
    neighbour[slot, node] = other
    weight = np.zeros((slots + 1, len(gone)))
    share = siemens / whole[node]
    weight[slot, node], weight[-1] = share, grounded / whole
    # what a node leaves behind joins every two of its neighbours; with what stays it makes one mesh
    ones, others, values = [low[stays]], [high[stays]], [mesh.siemens[stays]]
    nodes = [np.flatnonzero(degree > k) for k in range(1, slots)]
    for k, some in enumerate(nodes, 1):
        before = weight[:k, some] * (weight[k] * whole)[some]
        ones.append(neighbour[:k, some].ravel())
        others.append(np.broadcast_to(neighbour[k, some], before.shape).ravel())
        values.append(before.ravel())
    more = summed(other, share * grounded[node], len(left))
    rest, place = _Mesh.of(
        np.concatenate(ones), np.concatenate(others), np.concatenate(values), mesh.grounded[left] + more
    )
    parts = np.split(place, np.cumsum([len(part) for part in ones])[:-1])
    crosses = tuple(
        (k, some, part.reshape(k, -1)) for k, (some, part) in enumerate(zip(nodes, parts[1:], strict=True), 1)
    )
    return _Level(
        mesh, gone, left, neighbour, weight, whole, edge, slot, node, stays, parts[0], crosses
    ), rest


def _back(level: _Level, between: Floats, to_ground: Floats) -> tuple[Floats, Floats]:
    """Resistances of a level, see `_one_by_one`, out of those of what was left of it."""
    weight = level.weight
    seen = to_ground[level.neighbour]
    through = np.empty(weight.shape)
    through[-1] = (weight[:-1] * seen).sum(axis=0)
    through[:-1] = weight[-1] * seen
    for k, some, place in level.crosses:
        across = between[place]
        through[:k, some] += weight[k, some] * across
        through[k, some] += (weight[:k, some] * across).sum(axis=0)
    beside = 1 / level.siemens + through - 0.5 * (weight * through).sum(axis=0)
    everywhere = np.empty(len(level.mesh.grounded))
    everywhere[level.left], everywhere[level.gone] = to_ground, beside[-1]
    everything = np.empty(len(level.mesh.key))
    everything[level.stays], everything[level.edge] = between[level.place], beside[level.slot, level.node]
    return everything, everywhere
