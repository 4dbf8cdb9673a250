"""One scenario put in place in a solved network, and others on top of it: every pair from a few products.

With scenario s in place the network's v, K, D and outputs y are, by Woodbury's formula over the columns S of
its changes and M = (diag(1/d) + K_SS)^-1,

    v' = v - K_TS M v_S,    K' = K_TT - K_TS M K_ST,    D' = D_T - D_S M K_ST,    y' = y_0 - D_S M v_S,

and scenario t on top of it makes of them y = y' - D' a where (diag(1/d) + K') a = v'.

Source
------
Woodbury's formula; Leung and Spence (1975) for large changes of a circuit.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.reading.correction import Correction, source_gain
from gaugesim.solve import nodal
from gaugesim.solve.network import Integers


class InPlace:
    """A batch of scenarios of one network, each as it is put in place and as it is put on top of another.

    Attributes
    ----------
    rank : ndarray of int, shape (n,)
        How many branches and paths each changes.
    drives : ndarray of bool, shape (n,)
        Whether it changes a source: it can be put in place, not on top.
    bears : ndarray of bool, shape (n,)
        Whether each of its changes makes a difference by itself, unlike an open in a dead end: one that does
        not can be put on top, not in place. None does where one joins what is cut off: that would be untied
        twice.
    """

    def __init__(self, changes: Correction) -> None:
        used = changes.amount != 0
        self.rank = used.sum(axis=1)
        order = np.argsort(~used, axis=1, kind="stable")[:, : max(1, int(self.rank.max(initial=0)))]
        self._at = np.take_along_axis(changes.index, order, axis=1)
        self._amount = np.take_along_axis(changes.amount, order, axis=1)
        factored, columns = changes.factored, changes.columns
        p, q = (columns.p_index, columns.p_sign), (columns.q_index, columns.q_sign)
        self._forth, self._drive = factored.transfer(q, p), factored.pick(q)
        self._back = np.ascontiguousarray(self._forth.T)
        self._outward = factored.transfer(changes.rows, p)
        gains = np.array([source_gain(factored, q, row) for row, _ in changes.volts])
        self._gains = gains.reshape(len(changes.volts), len(self._drive))
        self._steps = np.array([step for _, step in changes.volts]).reshape(len(changes.volts), len(used)).T
        self.drives: NDArray[np.bool_] = np.any(self._steps != 0, axis=1)
        self._single = changes.currents()
        width = self._at.shape[1]
        small = self._forth[self._at[:, :, None], self._at[:, None, :]]
        each = np.broadcast_to(np.eye(width, dtype=np.float64), small.shape)
        inverse = nodal.corrections(small[:, None], each, self._amount[:, None, :])
        self._inverse = np.swapaxes(inverse, 1, 2)
        driven = self._drive[self._at] + np.einsum("ns,snk->nk", self._steps, self._gains[:, self._at])
        self._solved = np.einsum("nkl,nl->nk", self._inverse, driven)
        bears = np.any(self._inverse != 0, axis=2) | (self._amount == 0)
        self.bears: NDArray[np.bool_] = np.all(bears, axis=1) & (not changes.joins)

    def currents(self, first: Integers, second: Integers) -> Floats:
        """Output currents with one scenario in place and another on top of it, shape (outputs, f, s) [A].

        Parameters
        ----------
        first : ndarray of int, shape (f,)
            Scenarios that bear.
        second : ndarray of int, shape (s,)
            Scenarios that change no source.
        """
        here, there = (
            self._at[some, : max(1, int(self.rank[some].max(initial=0)))].T for some in (first, second)
        )
        k, m = len(here), len(there)
        # i, l: changes of the first; j, n: of the second; f, s: which first and second; o: outputs
        forth, back = (each[here].take(there, axis=2) for each in (self._forth, self._back))
        inner = np.einsum("fil,lfjs->ifjs", self._inverse[first, :k, :k], forth)
        own = self._forth[there[:, None], there[None, :]][:, :, None] - np.einsum(
            "ifjs,ifns->jnfs", back, inner
        )
        drive = self._drive[there][:, None] - np.einsum("fi,ifjs->jfs", self._solved[first, :k], back)
        if self.drives[first].any():
            drive += np.einsum("fe,ejs->jfs", self._steps[first], self._gains[:, there])
        shape = len(first), len(second)
        count = shape[0] * shape[1]
        flow = nodal.corrections(
            np.moveaxis(own, (0, 1), (2, 3)).reshape(count, m, m),
            np.moveaxis(drive, 0, 2).reshape(count, m),
            np.broadcast_to(self._amount[second, :m], (*shape, m)).reshape(count, m),
        )
        flow = np.moveaxis(flow.reshape(*shape, m), 2, 0)
        through = np.einsum("ifjs,jfs->ifs", forth, flow)
        outward = np.einsum("ofl,fli->ofi", self._outward[:, here.T], self._inverse[first, :k, :k])
        result = np.einsum("ofi,ifs->ofs", outward, through)
        result -= np.einsum("ojs,jfs->ofs", self._outward[:, there], flow)
        result += self._single[first].T[:, :, None]
        return np.asarray(result)
