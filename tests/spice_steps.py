"""Many networks of one shape one after the other, few answers wanted of each: the quick way through ngspice.

The text is loaded once, only what differs from one network to the next is altered, and only what is wanted
is kept and read. Networks that step one resistance evenly are a sweep, which costs hardly more than one of
them. Resistances are SPICE's own resistors; `spice.solve` keeps the digits that these may lose.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.solve.matrix import check
from gaugesim.solve.network import Network
from gaugesim.solve.nodal import Solution
from gaugesim.solve.spice.decks import OPTIONS, deck, spice_number
from gaugesim.solve.spice.ngspice import Engine, using_engine

# what stands in for a branch that is not there: nothing is left of its conductance beside that of an open
ABSENT_OHMS = 1e30
# how even the steps of a sweep must be, of the value itself; and how far down it may go, since what is added
# up step by step is rounded to digits of the largest
EVEN = 1e-13
LEAST_SHARE = 0.001
# smaller steps are none to a sweep, which takes values for the same that are 2e-13 apart [ohm]
SMALLEST = 1e-9


class Steps:
    """A deck of resistors that stays loaded while its values step from network to network.

    Branches without an electromotive force are resistors, and none of them may be a dead short or a current
    source. Wanted are the currents of the branches ``outputs`` and the voltages of the nodes ``nodes``.
    """

    def __init__(self, network: Network, outputs: Sequence[int], nodes: Sequence[int] = ()) -> None:
        self.network = network
        self.driven = network.volts != 0
        self.outputs = np.array(outputs, dtype=np.intp)
        self.wanted = np.array(nodes, dtype=np.intp)
        across = network.ends[self.outputs[~self.driven[self.outputs]]]
        read = np.unique(np.concatenate([across.ravel(), self.wanted]))
        self.nodes = read[read < len(network.nodes)]
        sensed = self.outputs[self.driven[self.outputs]]
        self.vectors = [*(f"n{i}" for i in self.nodes), *(f"h{k}#branch" for k in sensed)]

    def solve(self, ohms: Floats, volts: Floats) -> tuple[Floats, Floats]:
        """Currents of the wanted branches and voltages of the wanted nodes in each network.

        Of shapes (batch, outputs) [A] and (batch, nodes) [V], from ohms and electromotive forces of shape
        (batch, branches); infinite ohms are a branch that is not there. Among nodes that hang on opens alone
        few digits are left where resistances of less than the opens lie between them.
        """
        ohms, volts = np.broadcast_arrays(ohms, volts)
        ohms = np.where(np.isinf(ohms), ABSENT_OHMS, ohms)
        runs = sweeps(ohms, volts, self.driven)
        starts = [start for start, _, _ in runs]
        values = np.empty((len(self.vectors), len(ohms)))
        with using_engine() as engine:
            self._load(engine, ohms[0], volts[0])
            for (start, stop, k), changes in zip(
                runs, self._changes(ohms[starts], volts[starts]), strict=True
            ):
                if k < 0:
                    analysis = "op"
                else:
                    first, last = ohms[start, k], ohms[stop - 1, k]
                    step = (last - first) / (stop - start - 1)
                    # half a step more, lest rounding lose the last one
                    ends = " ".join(map(spice_number, (first, last + step / 2, step)))
                    analysis = f"dc r{k} {ends}"
                engine.command(*changes, "destroy all", analysis)
                values[:, start:stop] = engine.results(self.vectors, stop - start)
        return self._read_off(values, ohms)

    def _load(self, engine: Engine, ohms: Floats, volts: Floats) -> None:
        nodes = [*(f"n{i}" for i in range(len(self.network.nodes))), "0"]
        lines = ["* steps"]
        for k, ends in enumerate(self.network.ends):
            a, b = (nodes[end] for end in ends)
            if self.driven[k]:
                lines.append(f"v{k} {a} m{k} {spice_number(volts[k])}")
                lines.append(f"h{k} m{k} {b} h{k} {spice_number(ohms[k])}")
            else:
                lines.append(f"r{k} {a} {b} {spice_number(ohms[k])}")
        saved = (f"i({name.removesuffix('#branch')})" if "#" in name else name for name in self.vectors)
        engine.load("\n".join([*lines, f".save {' '.join(saved)}", OPTIONS, ".op", ".end", ""]))

    def _changes(self, ohms: Floats, volts: Floats) -> list[list[str]]:
        """For each network the commands that lead to it from the one before, none for the first."""
        commands: list[list[str]] = [[] for _ in ohms]
        for row, k in np.argwhere(np.diff(ohms, axis=0, prepend=ohms[:1]) != 0).tolist():
            element = f"h{k} gain" if self.driven[k] else f"r{k}"
            commands[row].append(f"alter {element} = {spice_number(ohms[row, k])}")
        for row, k in np.argwhere(np.diff(volts, axis=0, prepend=volts[:1]) != 0).tolist():
            commands[row].append(f"alter v{k} dc = {spice_number(volts[row, k])}")
        return commands

    def _read_off(self, values: Floats, ohms: Floats) -> tuple[Floats, Floats]:
        """Currents and voltages out of the vectors: currents of resistors by Ohm's law."""
        voltages = np.zeros((len(self.network.nodes) + 1, values.shape[1]))
        voltages[self.nodes] = values[: len(self.nodes)]
        sensed = iter(values[len(self.nodes) :])
        currents = [
            next(sensed) if self.driven[k] else (voltages[a] - voltages[b]) / ohms[:, k]
            for k, (a, b) in zip(self.outputs, self.network.ends[self.outputs], strict=True)
        ]
        return np.array(currents).reshape(len(self.outputs), len(ohms)).T, voltages[self.wanted].T


def solve_each(network: Network, ohms: Floats, volts: Floats) -> Solution:
    """A batch of networks of one shape, with every digit; each pattern of opens and noughts is one deck."""
    island, n = check(network, ohms), len(network.nodes)
    voltages, currents = np.zeros((len(ohms), n + 1)), np.zeros(ohms.shape)
    patterns = np.concatenate([np.isinf(ohms), ohms == 0, volts == 0], axis=1)
    _, which = np.unique(patterns, axis=0, return_inverse=True)
    with using_engine() as engine:
        for pattern in range(which.max(initial=-1) + 1):
            rows = np.flatnonzero(which.reshape(-1) == pattern)
            text, nodes, vectors = deck(replace(network, ohms=ohms[rows[0]], volts=volts[rows[0]]), "network")
            engine.load(text)
            names = [vector.removesuffix("#branch") for vector in vectors]
            sensed = [k for k, name in enumerate(names) if name]
            for row, before in zip(rows, (rows[0], *rows[:-1]), strict=True):
                for k in np.flatnonzero(ohms[row] != ohms[before]):
                    engine.command(f"alter {names[k]} gain = {spice_number(ohms[row, k])}")
                for k in np.flatnonzero((volts[row] != volts[before]) & np.isfinite(ohms[row])):
                    engine.command(f"alter v{names[k][1:]} dc = {spice_number(volts[row, k])}")
                values = engine.operating_point([*nodes, *filter(None, vectors)])
                voltages[row, :n], currents[row, sensed] = values[:n], values[n:]
    voltages[island != n] = np.nan
    return Solution(network, voltages, currents)


def sweeps(ohms: Floats, volts: Floats, driven: NDArray[np.bool_]) -> list[tuple[int, int, int]]:
    """Cut a batch into runs of networks that step one resistor evenly.

    First network, the one after the last, and the resistor; -1 for a network by itself.

    Examples
    --------
    >>> ohms = np.array([[1.0, 5.0], [1.0, 6.0], [1.0, 7.0], [2.0, 9.0]])
    >>> sweeps(ohms, np.zeros((4, 2)), np.zeros(2, dtype=bool))
    [(0, 3, 1), (3, 4, -1)]
    """
    before, after = ohms[:-1], ohms[1:]
    differ = before != after
    which = differ.argmax(axis=1)
    rows = np.arange(len(which))
    before, after = before[rows, which], after[rows, which]
    alone = (differ.sum(axis=1) == 1) & np.all(volts[1:] == volts[:-1], axis=1) & ~driven[which]
    alone &= np.abs(after - before) > SMALLEST
    branches, steps = np.where(alone, which, -1).tolist(), (after - before).tolist()
    slack, first = (EVEN * after).tolist(), ohms[rows, which].tolist()
    runs = []
    start = 0
    while start < len(ohms):
        stop, k = start + 1, -1
        while stop < len(ohms) and branches[stop - 1] >= 0 and branches[stop - 1] == branches[start]:
            uneven = abs(steps[stop - 1] - steps[start]) > slack[stop - 1]
            reached = 1 + steps[start] * (stop - start) / first[start]
            if uneven or reached <= LEAST_SHARE:
                break
            stop, k = stop + 1, branches[start]
        runs.append((start, stop, k))
        start = stop
    return runs
