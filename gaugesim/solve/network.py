"""A network of branches with all its values: what both engines solve.

Every branch joins two nodes through an electromotive force and a resistance, ``v_a - v_b = volts + ohms*i``.
An open is infinite ohms and a dead short is none; neither is special.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.errors import UnsolvableError, unknown_name
from gaugesim.netlist import Netlist

Integers = NDArray[np.intp]

OPEN_OHMS = 1e9
SHORT_OHMS = 1e-6
GROUND = "0"


@dataclass(frozen=True)
class Path:
    """A branch that a check or a fault adds: a meter, a wire, a chafe.

    Attributes
    ----------
    ohms : float
        Its resistance [ohm].
    volts : float
        Its electromotive force [V], for a bench supply or an ohmmeter.
    """

    name: str
    node_a: str
    node_b: str
    ohms: float
    volts: float = 0.0


@dataclass(frozen=True)
class Network:
    """Nodes, branches and their values.

    Attributes
    ----------
    nodes : tuple of str
        All nodes but ground.
    ends : ndarray, shape (branches, 2)
        Node numbers of each branch, first to second as its current counts; ground is ``len(nodes)``.
    ohms : ndarray, shape (branches,)
        Resistance [ohm]: ``inf`` is open.
    volts : ndarray, shape (branches,)
        Electromotive force [V].
    amperes : ndarray, shape (branches,)
        Current of a current source [A], NaN for other branches.
    """

    nodes: tuple[str, ...]
    names: tuple[str, ...]
    ends: Integers
    ohms: Floats
    volts: Floats
    amperes: Floats

    @classmethod
    def of(cls, paths: Iterable[Path], currents: Mapping[str, float] | None = None) -> Network:
        """Build a network from a list of paths.

        Parameters
        ----------
        currents : mapping, optional
            Amperes [A] of those paths that are current sources.

        Examples
        --------
        >>> network = Network.of([Path("battery", "a", "0", 0.0, 12.0), Path("lamp", "a", "0", 6.0)])
        >>> network.nodes, network.names
        (('a',), ('battery', 'lamp'))
        """
        paths = list(paths)
        seen = dict.fromkeys(node for path in paths for node in (path.node_a, path.node_b))
        nodes = tuple(node for node in seen if node != GROUND)
        number = {node: i for i, node in enumerate(nodes)} | {GROUND: len(nodes)}
        given = currents or {}
        return cls(
            nodes,
            tuple(path.name for path in paths),
            np.array([[number[path.node_a], number[path.node_b]] for path in paths], dtype=np.intp).reshape(
                -1, 2
            ),
            np.array([path.ohms for path in paths], dtype=float),
            np.array([path.volts for path in paths], dtype=float),
            np.array([given.get(path.name, np.nan) for path in paths], dtype=float),
        )

    def node(self, name: str) -> int:
        """Number of a node; ground is ``len(nodes)``.

        Raises
        ------
        UnknownNameError
        """
        try:
            return self._numbers[0][name]
        except KeyError:
            raise unknown_name("node", name, self.nodes) from None

    def node_numbers(self, names: Iterable[str]) -> Integers:
        """Numbers of nodes, see `node`.

        Raises
        ------
        UnknownNameError
        """
        try:
            return np.fromiter(map(self._numbers[0].__getitem__, names), dtype=np.intp)
        except KeyError as error:
            raise unknown_name("node", error.args[0], self.nodes) from None

    @cached_property
    def _numbers(self) -> tuple[dict[str, int], dict[str, int]]:
        """Numbers of nodes and of branches by name; of two branches of one name the first counts."""
        nodes, branches = (
            {name: k for k, name in reversed([*enumerate(names)])} for names in (self.nodes, self.names)
        )
        return nodes | {GROUND: len(self.nodes)}, branches

    def branch(self, name: str) -> int:
        """Number of a branch.

        Raises
        ------
        UnknownNameError
        """
        try:
            return self._numbers[1][name]
        except KeyError:
            raise unknown_name("branch", name, self.names) from None

    def branch_numbers(self, names: Iterable[str]) -> Integers:
        """Numbers of branches, see `branch`.

        Raises
        ------
        UnknownNameError
        """
        try:
            return np.fromiter(map(self._numbers[1].__getitem__, names), dtype=np.intp)
        except KeyError as error:
            raise unknown_name("branch", error.args[0], self.names) from None

    def with_paths(self, paths: Iterable[Path]) -> Network:
        """The network with more branches between nodes that it has."""
        more = list(paths)
        if not more:
            return self
        ends = [[self.node(path.node_a), self.node(path.node_b)] for path in more]
        return replace(
            self,
            names=self.names + tuple(path.name for path in more),
            ends=np.vstack([self.ends, np.array(ends, dtype=np.intp)]),
            ohms=np.append(self.ohms, [path.ohms for path in more]),
            volts=np.append(self.volts, [path.volts for path in more]),
            amperes=np.append(self.amperes, [np.nan] * len(more)),
        )

    def with_ohms(self, ohms: Mapping[str, float]) -> Network:
        """The network with other resistances in some branches.

        Parameters
        ----------
        ohms : mapping
            From branch name to resistance [ohm]. An open source is a source with infinite ohms.
        """
        if not ohms:
            return self
        values = self.ohms.copy()
        for name, value in ohms.items():
            values[self.branch(name)] = value
        return replace(self, ohms=values)

    def finite(self) -> Network:
        """The network with `OPEN_OHMS` for every open and `SHORT_OHMS` for every resistor of no ohms."""
        ohms = np.where(np.isinf(self.ohms), OPEN_OHMS, self.ohms)
        plain = (self.volts == 0) & np.isnan(self.amperes)
        return replace(self, ohms=np.where(plain & (ohms == 0), SHORT_OHMS, ohms))


def of_netlist(netlist: Netlist, values: Mapping[str, float]) -> Network:
    """The network of a netlist: at direct current inductors are wires and capacitors opens.

    Parameters
    ----------
    values : mapping
        From element name to its value [ohm, V, A, H or F].
    """
    elements = netlist.elements
    nodes = netlist.nodes
    number = {node: i for i, node in enumerate(nodes)} | {GROUND: len(nodes)}
    kinds = np.array([part.kind for part in elements])
    numbers = np.array([values[part.name] for part in elements], dtype=float)
    return Network(
        nodes,
        tuple(part.name for part in elements),
        np.array([[number[part.node_a], number[part.node_b]] for part in elements], dtype=np.intp),
        np.where(kinds == "r", numbers, np.where((kinds == "c") | (kinds == "i"), np.inf, 0.0)),
        np.where(kinds == "v", numbers, 0.0),
        np.where(kinds == "i", numbers, np.nan),
    )


def islands(ends: Integers, conducting: NDArray[np.bool_], node_count: int) -> Integers:
    """Which nodes hang together through conducting branches.

    Parameters
    ----------
    ends : ndarray, shape (branches, 2)
        Node numbers [1]; ground is ``node_count``.
    conducting : ndarray of bool, shape (..., branches)
        Whether current can flow in each branch [1].
    node_count : int
        Number of nodes without ground [1].

    Returns
    -------
    ndarray of int, shape (..., node_count + 1)
        For each node the largest node number in its island, so that ground's island has ``node_count``.

    Examples
    --------
    >>> islands(np.array([[0, 1], [1, 2]]), np.array([True, False]), 2)
    array([1, 1, 2])
    """
    size = node_count + 1
    masks = conducting.reshape(-1, conducting.shape[-1])
    # all networks at once, each with node numbers of its own
    row, branch = np.nonzero(masks)
    a, b = ends[branch, 0] + row * size, ends[branch, 1] + row * size
    labels = np.arange(len(masks) * size)
    while True:
        best = np.maximum(labels[a], labels[b])
        before = labels.copy()
        np.maximum.at(labels, a, best)
        np.maximum.at(labels, b, best)
        labels = labels[labels]  # jump to the label's own label: halves the rounds
        if np.array_equal(before, labels):
            break
    return np.asarray(labels.reshape(*conducting.shape[:-1], size) % size)


def explain_unsolvable(network: Network) -> UnsolvableError:
    """Say in circuit words why a network has no single solution.

    Names the sources that fight, the shorts in a ring, or the source whose current has nowhere to go.

    Examples
    --------
    >>> twice = Network.of([Path("v1", "a", "0", 0.0, 12.0), Path("v2", "a", "0", 0.0, 6.0)])
    >>> print(explain_unsolvable(twice))
    sources fight: v1, v2 form a ring without resistance; give one of them ohms
    """
    sources = ~np.isnan(network.amperes)
    if ring := _ring(network, (network.ohms == 0) & ~sources):
        names = ", ".join(network.names[k] for k, _ in ring)
        around = [sign * network.volts[k] for k, sign in ring]
        if abs(sum(around)) > 1e-12 * sum(map(abs, around)):
            problem = f"sources fight: {names} form a ring without resistance"
        else:
            problem = f"{names} form a ring without resistance, so its current is undetermined"
        return UnsolvableError(problem, remedy="give one of them ohms")
    island = islands(network.ends, np.isfinite(network.ohms) & ~sources, len(network.nodes))
    for k in np.flatnonzero(sources & (network.amperes != 0)):
        if island[network.ends[k, 0]] != island[network.ends[k, 1]]:
            return UnsolvableError(
                f"the current of source {network.names[k]} has nowhere to go",
                remedy="close a circuit around it",
            )
    return UnsolvableError("the circuit has no single solution")


def _ring(network: Network, rigid: NDArray[np.bool_]) -> list[tuple[int, float]]:
    """The first ring among some branches, each with its direction in it, in the order of the branches."""
    tree: dict[int, list[tuple[int, int, float]]] = {}
    for k in np.flatnonzero(rigid):
        a, b = (int(end) for end in network.ends[k])
        paths: dict[int, list[tuple[int, float]]] = {b: [(int(k), 1.0)]}
        waiting = [b]
        while waiting:
            node = waiting.pop()
            for other, branch, sign in tree.get(node, []):
                if other not in paths:
                    paths[other] = [*paths[node], (branch, sign)]
                    waiting.append(other)
        if a in paths:
            return sorted(paths[a])
        tree.setdefault(a, []).append((b, int(k), 1.0))
        tree.setdefault(b, []).append((a, int(k), -1.0))
    return []
