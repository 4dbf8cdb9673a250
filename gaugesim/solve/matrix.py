"""The equations of a network, after a look at whether they can have one solution.

Unknowns are the node voltages and the current of every branch. A branch of finite resistance has the row
``v_a - v_b - ohms*i = volts`` and an open one ``i = 0``, so wires of milliohms, opens and shorts are
ordinary numbers and nothing cancels. A path that a fault adds is stamped as a conductance, whose healthy
value is zero.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.solve.network import Integers, Network, explain_unsolvable, islands

if TYPE_CHECKING:
    from scipy.sparse import csc_array

# an island without ground floats: its last node is tied to ground, where no current can flow in the tie [S]
TIE = 1.0


def assemble(network: Network, ohms: Floats, volts: Floats) -> tuple[Floats, Floats, Integers]:
    """Stack the matrices and right-hand sides of a batch of networks.

    Parameters
    ----------
    ohms, volts : ndarray, shape (batch, branches)
        Resistances [ohm] and electromotive forces [V] in place of the network's own.

    Returns
    -------
    matrix : ndarray, shape (batch, nodes + branches, nodes + branches)
    right : ndarray, shape (batch, nodes + branches)
    island : ndarray of int, shape (batch, nodes + 1)
        See `islands`.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    ValueError
        If a resistance is negative or not a number.
    """
    island = check(network, ohms)
    batch, branches = ohms.shape
    n = len(network.nodes)
    size = n + branches
    matrix = np.zeros((batch, size + 1, size + 1))  # the last row and column stand for ground and are cut off
    right = np.zeros((batch, size + 1))
    k = np.arange(branches)
    a = np.where(network.ends[:, 0] == n, size, network.ends[:, 0])
    b = np.where(network.ends[:, 1] == n, size, network.ends[:, 1])
    sources = ~np.isnan(network.amperes)
    finite = np.isfinite(ohms) & ~sources
    matrix[:, a, n + k] += 1.0
    matrix[:, b, n + k] -= 1.0
    matrix[:, n + k, a] += finite
    matrix[:, n + k, b] -= finite
    matrix[:, n + k, n + k] = np.where(finite, -np.where(finite, ohms, 0.0), 1.0)
    right[:, n + k] = np.where(finite, volts, np.where(sources, np.nan_to_num(network.amperes), 0.0))
    floating = (island[:, :n] == np.arange(n)) & (island[:, :n] != n)
    rows, nodes = np.nonzero(floating)
    matrix[rows, nodes, nodes] += TIE
    return matrix[:, :-1, :-1], right[:, :-1], island


def check(network: Network, ohms: Floats) -> Integers:
    """Find the islands of a batch of networks, and refuse those that have no single solution.

    A passive network has one unless branches without resistance form a ring, or a current source drives into
    nothing.

    Parameters
    ----------
    ohms : ndarray, shape (batch, branches)
        Resistances [ohm].

    Returns
    -------
    ndarray of int, shape (batch, nodes + 1)
        See `islands`.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    ValueError
        If a resistance is negative or not a number.
    """
    wrong = np.argwhere(~(ohms >= 0))
    if len(wrong):
        row, k = wrong[0]
        raise ValueError(f"{network.names[k]} has {ohms[row, k]} ohm; a resistance is 0 or more, inf if open")
    n = len(network.nodes)
    sources = ~np.isnan(network.amperes)
    masks = np.concatenate([np.isfinite(ohms) & ~sources, (ohms == 0) & ~sources], axis=1)
    # most of a batch share their pattern of opens and shorts
    patterns = [row.tobytes() for row in np.packbits(masks, axis=1)]
    begins = {pattern: row for row, pattern in reversed([*enumerate(patterns)])}
    number = {pattern: k for k, pattern in enumerate(begins)}
    first = np.array([*begins.values()], dtype=np.intp)
    which = np.array([number[pattern] for pattern in patterns], dtype=np.intp)
    conducting, rigid = np.split(masks[first], 2, axis=1)
    island = islands(network.ends, conducting, n)
    trees = (islands(network.ends, rigid, n) == np.arange(n + 1)).sum(axis=1)
    ring = rigid.sum(axis=1) > n + 1 - trees
    into = np.zeros((len(first), n + 1))
    for k in np.flatnonzero(sources):
        a, b = network.ends[k]
        into[np.arange(len(first)), island[:, a]] -= network.amperes[k]
        into[np.arange(len(first)), island[:, b]] += network.amperes[k]
    stranded = np.any(np.abs(into) > 1e-12 * np.nansum(np.abs(network.amperes)), axis=1)
    for pattern in np.flatnonzero(ring | stranded):
        raise explain_unsolvable(replace(network, ohms=ohms[first[pattern]]))
    return np.asarray(island[which])


def assemble_sparsely(network: Network) -> tuple[csc_array, Floats, Integers]:
    """The same matrix and right-hand side for one large network.

    Returns
    -------
    matrix : csc_array, shape (nodes + branches, nodes + branches)
    right : ndarray, shape (nodes + branches,)
    island : ndarray of int, shape (nodes + 1,)
        See `islands`.

    Raises
    ------
    UnsolvableError
        With the reason in circuit words.
    ValueError
        If a resistance is negative or not a number.
    """
    from scipy.sparse import csc_array

    island = check(network, network.ohms[None])[0]
    n, branches = len(network.nodes), len(network.names)
    size = n + branches
    k = n + np.arange(branches)
    ends = np.where(network.ends == n, size, network.ends)
    sources = ~np.isnan(network.amperes)
    finite = np.isfinite(network.ohms) & ~sources
    ties = np.flatnonzero((island[:n] == np.arange(n)) & (island[:n] != n))
    row = np.concatenate([ends[:, 0], ends[:, 1], k[finite], k[finite], k, ties])
    column = np.concatenate([k, k, ends[finite, 0], ends[finite, 1], k, ties])
    ones = np.ones(branches)
    own = np.where(finite, -np.where(finite, network.ohms, 0.0), 1.0)
    value = np.concatenate([ones, -ones, ones[finite], -ones[finite], own, np.full(len(ties), TIE)])
    there = (row < size) & (column < size)
    matrix = csc_array((value[there], (row[there], column[there])), shape=(size, size))
    right = np.zeros(size)
    right[k] = np.where(finite, network.volts, np.where(sources, np.nan_to_num(network.amperes), 0.0))
    return matrix, right, island
