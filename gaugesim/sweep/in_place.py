"""Each scenario of a sweep as a change of one solved network: put in place first, or put on top of another.

With scenario s in place the network's v, K, D and outputs y are, by Woodbury's formula over the columns S of
its changes and M = (diag(1/d) + K_SS)^-1,

    v' = v - K_TS M v_S,    K' = K_TT - K_TS M K_ST,    D' = D_T - D_S M K_ST,    y' = y_0 - D_S M v_S,

and a scenario t that is one change of size d_t makes of them y = y' - D' v' / (1/d_t + K'). The first may
change anything: several branches, sources, a coil's turns, a movement's strength, a stuck needle.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gaugesim.reading.correction import Correction, source_gain
from gaugesim.scenario.stack import Scenarios
from gaugesim.solve import nodal
from gaugesim.solve.change import REDUNDANT
from gaugesim.solve.network import Floats, Integers
from gaugesim.sweep.layout import WHOLE, Firsts, Seconds
from gaugesim.sweep.sums import Sums


def changes_of(scenarios: Scenarios, changes: Correction, sums: Sums) -> tuple[Seconds, Firsts]:
    """Every scenario of a batch, as it is put in place and, where it can be, as it is put on top.

    Parameters
    ----------
    scenarios : Scenarios
    changes : Correction
        The same of the situation's network.
    sums : Sums
        What is wanted.

    Returns
    -------
    seconds : Seconds
        Of the scenarios that change one branch or path at most and nothing else that is seen.
    firsts : Firsts
        Of all.

    Source
    ------
    Woodbury's formula; Leung and Spence (1975) for large changes of a circuit.
    """
    used = changes.amount != 0
    most = max(1, int(used.sum(axis=1).max(initial=0)))
    order = np.argsort(~used, axis=1, kind="stable")[:, :most]
    place, amount = (np.take_along_axis(each, order, axis=1) for each in (changes.index, changes.amount))
    factored, columns = changes.factored, changes.columns
    p, q = (columns.p_index, columns.p_sign), (columns.q_index, columns.q_sign)
    coupling, drive, transfer = factored.transfer(q, p), factored.pick(q), factored.transfer(changes.rows, p)
    gains = np.array([source_gain(factored, q, row) for row, _ in changes.volts]).reshape(-1, len(drive))
    steps = np.array([step for _, step in changes.volts]).reshape(-1, len(place)).T

    large = np.abs(amount[:, 0]) > 1
    diagonal = np.where(large, 1.0 / np.where(large, amount[:, 0], 1.0), 1.0)
    scale = np.where(large, 1.0, amount[:, 0])
    own = coupling[place[:, 0], place[:, 0]]
    least = REDUNDANT * np.where(diagonal == 0, 1.0, np.abs(diagonal))
    bears = np.abs(diagonal + scale * own) > least
    alone = plain(scenarios, used)
    known = np.concatenate([np.flatnonzero(alone & bears), np.flatnonzero(alone & ~bears)])
    number = np.append(known, np.zeros(WHOLE, dtype=np.intp))
    at = place[number, 0]
    currents = np.ascontiguousarray(transfer[:, at])
    seconds = Seconds(
        number,
        bears[known],
        np.ascontiguousarray(coupling[:, at]),
        np.ascontiguousarray(coupling[at].T),
        own[number],
        drive[at],
        sums.weights @ currents,
        currents,
        np.ascontiguousarray(gains[:, at]),
        diagonal[number],
        scale[number],
        least[number],
    )

    each = np.broadcast_to(np.eye(most), (len(place), most, most))
    small = coupling[place[:, :, None], place[:, None, :]]
    inverse = np.swapaxes(nodal.corrections(small[:, None], each, amount[:, None, :]), 1, 2)
    solved = np.einsum("nkl,nl->nk", inverse, drive[place] + np.einsum("ns,snk->nk", steps, gains[:, place]))
    flowing = changes.currents()
    outward = np.einsum("cnk,nkl->ncl", transfer[:, place], inverse)
    factor, more, coil, fits = _turns(scenarios, sums)
    every = np.arange(len(place))
    firsts = Firsts(
        fits & np.all(np.any(inverse != 0, axis=2) | (amount == 0), axis=1),
        used.sum(axis=1),
        np.ascontiguousarray(place),
        solved,
        np.ascontiguousarray(inverse),
        factor[:, :, None] * (sums.weights @ outward) + more[:, :, None] * outward[every, coil][:, None, :],
        factor * (flowing @ sums.weights.T) + more * flowing[every, coil][:, None] + sums.constants,
        factor,
        more,
        coil,
        np.ascontiguousarray(steps),
        np.array([scenarios.stuck.get(name, np.full(len(place), np.nan)) for name in sums.gauges]).T.copy(),
    )
    return seconds, firsts


def plain(scenarios: Scenarios, used: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Scenarios that change one branch or path at most, and nothing else that is seen.

    Parameters
    ----------
    scenarios : Scenarios
    used : ndarray of bool, shape (n, k)
        Which changes of branches and paths each makes.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    result = np.count_nonzero(used, axis=1) <= 1
    # parameters count for nothing by themselves where there is no regulator
    for values in (*scenarios.volts.values(), *scenarios.stuck.values()):
        result &= np.isnan(values)
    for values in (*scenarios.turns.values(), *scenarios.strength.values()):
        result &= values == 1
    return np.asarray(result)


def _turns(scenarios: Scenarios, sums: Sums) -> tuple[Floats, Floats, Integers, NDArray[np.bool_]]:
    """`Firsts.factor`, ``more`` and ``coil``; and whether no scenario's coils are more than these can say."""
    count = len(scenarios)
    factor, lost = np.ones((count, len(sums.gauge))), np.ones(count)
    for name, strength in scenarios.strength.items():
        factor[:, [gauge == name for gauge in sums.gauge]] = strength[:, None]
    coil, coils = np.zeros(count, dtype=np.intp), np.zeros(count, dtype=np.intp)
    for element, turns in scenarios.turns.items():
        rows = turns != 1
        coil[rows], lost[rows] = sums.outputs.index(element), turns[rows]
        coils += rows
    return factor, factor * (lost[:, None] - 1.0) * sums.weights.T[coil], coil, coils <= 1
