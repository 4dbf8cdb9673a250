"""Where each branch of a circuit stands on a page, from the wiring alone.

Branches in series form a chain, a chain is a column that runs downwards from feed to ground, and a node where
chains meet is a bar across their columns. Rows hold elements and the gaps between rows hold nodes, so nothing
drawn in a cell of its own can cover anything else.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.solve.network import Integers, Network

# what a crossing of lines costs against a bar that is one column longer
_CROSSING = 12.0
# keeps chains in the order of the netlist where nothing else decides
_ORDER = 0.1
_STARTS = 4


@dataclass(frozen=True)
class Chain:
    """Branches in series from one junction down to another.

    Attributes
    ----------
    branches : tuple of int
        Numbers of the branches, from the top.
    downward : tuple of bool
        Whether each branch's first node is its upper one.
    nodes : tuple of int
        Numbers of the nodes: the upper junction, those between the branches, the lower junction.
    """

    branches: tuple[int, ...]
    downward: tuple[bool, ...]
    nodes: tuple[int, ...]


@dataclass(frozen=True)
class Bar:
    """A node where chains meet or end, drawn across its columns.

    Attributes
    ----------
    gap : int
        Gap it lies in: gap g is above row g.
    track : int
        Which of the gap's lines it has, counted from the top.
    """

    node: int
    gap: int
    track: int
    left: int
    right: int


@dataclass(frozen=True)
class Layout:
    """Cells for everything.

    Attributes
    ----------
    rows : tuple of int
        Row of each chain's first branch; the others follow below it.
    tracks : tuple of int
        Number of lines in each gap, ``height + 1`` of them.
    """

    chains: tuple[Chain, ...]
    columns: tuple[int, ...]
    rows: tuple[int, ...]
    bars: tuple[Bar, ...]
    width: int
    height: int
    tracks: tuple[int, ...]

    def bar(self, node: int) -> Bar:
        """The bar of a junction."""
        return next(bar for bar in self.bars if bar.node == node)


def arrange(
    network: Network,
    potential: Sequence[float],
    junctions: frozenset[int] = frozenset(),
    before: Mapping[int, int] | None = None,
) -> Layout:
    """Lay a network out.

    Parameters
    ----------
    network : Network
        Only its nodes and the ends of its branches matter.
    potential : sequence of float, length nodes + 1
        Usual voltage of each node [V]: of two nodes the one with more stands higher.
    junctions : frozenset of int
        Nodes at which a chain ends though only two branches meet there, because others are not drawn.
    before : mapping, optional
        Columns that some of the branches have in another picture, whose order from left to right they keep.

    Examples
    --------
    >>> from gaugesim.solve.network import Path
    >>> parts = [("cell", "a", "0"), ("wire", "a", "b"), ("lamp", "b", "0"), ("motor", "a", "0")]
    >>> layout = arrange(Network.of([Path(*part, 1.0) for part in parts]), [12.0, 11.0, 0.0])
    >>> [chain.branches for chain in layout.chains], layout.width, layout.height
    ([(0,), (1, 2), (3,)], 3, 2)
    """
    ends = tuple(tuple(map(int, pair)) for pair in network.ends)
    height = np.round(np.asarray(potential, dtype=float), 6)
    height[
        -1
    ] = -np.inf  # battery negative lies at the bottom, even below what a charging current has pulled down
    order = np.lexsort((np.arange(len(height)), -height))
    rank = np.empty(len(order), dtype=int)
    rank[order] = np.arange(len(order))
    return _arrange(ends, tuple(rank.tolist()), junctions, tuple((before or {}).items()))


@lru_cache(maxsize=64)
def _arrange(
    ends: tuple[tuple[int, int], ...],
    rank: tuple[int, ...],
    junctions: frozenset[int],
    before: tuple[tuple[int, int], ...],
) -> Layout:
    chains = _chains(ends, rank, junctions | {len(rank) - 1})
    levels = _levels(chains, rank)
    order = _kept_order(chains, levels, dict(before)) if before else _order(chains, levels)
    columns = _packed(chains, levels, order)
    rows = tuple(levels[chain.nodes[0]] for chain in chains)
    height = max(levels.values(), default=0)
    bars = _bars(chains, columns, rows, levels, height)
    tracks = [1] * (height + 1)
    for bar in bars:
        tracks[bar.gap] = max(tracks[bar.gap], bar.track + 1)
    return Layout(chains, columns, rows, bars, max(columns, default=-1) + 1, height, tuple(tracks))


def _chains(
    ends: tuple[tuple[int, int], ...], rank: tuple[int, ...], junctions: frozenset[int]
) -> tuple[Chain, ...]:
    """Branches in series joined up, each chain turned so that its upper end comes first."""
    meeting: dict[int, list[int]] = {}
    for k, pair in enumerate(ends):
        for node in pair:
            meeting.setdefault(node, []).append(k)

    def inner(node: int) -> bool:
        return node not in junctions and len(meeting[node]) == 2 and meeting[node][0] != meeting[node][1]

    used: set[int] = set()
    chains = []
    for first in range(len(ends)):
        if first in used or ends[first][0] == ends[first][1]:
            continue
        used.add(first)
        branches, nodes = [first], list(ends[first])
        for _ in range(2):  # onwards from the one end, then from the other
            while inner(nodes[-1]):
                following = next(k for k in meeting[nodes[-1]] if k != branches[-1])
                if following in used:
                    break
                used.add(following)
                branches.append(following)
                a, b = ends[following]
                nodes.append(b if a == nodes[-1] else a)
            branches.reverse()
            nodes.reverse()
        if nodes[0] == nodes[-1]:  # a ring of parts, cut open at its top
            top = min(range(len(branches)), key=lambda i, nodes=nodes: rank[nodes[i]])  # type: ignore[misc]
            half = max(1, len(branches) // 2)
            branches, nodes = branches[top:] + branches[:top], nodes[top:-1] + nodes[:top] + [nodes[top]]
            chains += [_turned(branches[:half], nodes[: half + 1], ends, rank)]
            branches, nodes = branches[half:], nodes[half:]
        chains.append(_turned(branches, nodes, ends, rank))
    return tuple(chains)


def _turned(
    branches: list[int], nodes: list[int], ends: tuple[tuple[int, int], ...], rank: tuple[int, ...]
) -> Chain:
    if rank[nodes[0]] > rank[nodes[-1]]:
        branches, nodes = branches[::-1], nodes[::-1]
    downward = tuple(ends[k][0] == nodes[i] for i, k in enumerate(branches))
    return Chain(tuple(branches), downward, tuple(nodes))


def _levels(chains: tuple[Chain, ...], rank: tuple[int, ...]) -> dict[int, int]:
    """Gap of each junction: as high as the chains above it allow."""
    levels: dict[int, int] = {}
    for node in sorted({chain.nodes[i] for chain in chains for i in (0, -1)}, key=rank.__getitem__):
        above = [levels[chain.nodes[0]] + len(chain.branches) for chain in chains if chain.nodes[-1] == node]
        levels[node] = max(above, default=0)
    return levels


def _cost(chains: tuple[Chain, ...], levels: dict[int, int]) -> Callable[[Integers], Floats]:
    """What orders cost in crossings and in length of bars."""
    count = len(chains)
    junctions = list(levels)
    attached = np.array(
        [[node in (chain.nodes[0], chain.nodes[-1]) for chain in chains] for node in junctions]
    )
    level = np.array([levels[node] for node in junctions])[:, None]
    top = np.array([levels[chain.nodes[0]] for chain in chains])
    bottom = np.array([levels[chain.nodes[-1]] for chain in chains])
    passes = ~attached & (top < level) & (level < bottom)

    def cost(places: Integers) -> Floats:
        """Of candidates, shape (candidates, chains): the place of each chain."""
        spread = np.where(attached, places[:, None, :], count)
        low = spread.min(axis=2, initial=count)
        high = np.where(attached, places[:, None, :], -1).max(axis=2, initial=-1)
        inside = (low[:, :, None] < places[:, None, :]) & (places[:, None, :] < high[:, :, None])
        crossings = (inside & passes).sum(axis=(1, 2))
        stray = np.abs(places - np.arange(count)).sum(axis=1)
        return np.asarray(_CROSSING * crossings + (high - low).sum(axis=1) + _ORDER * stray)

    return cost


def _kept_order(chains: tuple[Chain, ...], levels: dict[int, int], columns: Mapping[int, int]) -> list[int]:
    """Chains whose branches had columns before in the order of these, the others where they fit best."""
    had = {k: [columns[b] for b in chain.branches if b in columns] for k, chain in enumerate(chains)}
    order = sorted((k for k in had if had[k]), key=lambda k: (min(had[k]), levels[chains[k].nodes[0]]))
    rest = [k for k in had if not had[k]]
    for i, k in enumerate(rest):
        later = rest[i + 1 :]
        tried = [[*order[:j], k, *order[j:], *later] for j in range(len(order) + 1)]
        costs = _cost(chains, levels)(_places(np.array(tried)))
        order = tried[int(np.argmin(costs))][: len(order) + 1]
    return order


def _order(chains: tuple[Chain, ...], levels: dict[int, int]) -> list[int]:
    """Chains from left to right, so that lines cross little and bars are short."""
    count, cost = len(chains), _cost(chains, levels)
    random = np.random.default_rng(1)
    best, best_cost = np.arange(count), np.inf
    for start in range(_STARTS if count > 2 else 1):
        order = np.arange(count) if start == 0 else random.permutation(count)
        now = cost(_places(order[None]))[0]
        while True:
            moved = _insertions(order)
            costs = cost(_places(moved))
            k = int(np.argmin(costs))
            if costs[k] >= now - 1e-9:
                break
            order, now = moved[k], costs[k]
        if now < best_cost - 1e-9:
            best, best_cost = order, now
    return [int(k) for k in best]


def _places(orders: Integers) -> Integers:
    return np.argsort(orders, axis=1)


def _insertions(order: Integers) -> Integers:
    """Every order that differs in the place of one chain."""
    count = len(order)
    moved = [
        np.insert(np.delete(order, i), j, order[i]) for i in range(count) for j in range(count) if i != j
    ]
    return np.array(moved if moved else [order])


def _packed(chains: tuple[Chain, ...], levels: dict[int, int], order: list[int]) -> tuple[int, ...]:
    """Columns: a chain stands under its left neighbour where their rows allow it."""
    columns = [0] * len(chains)
    current, taken, ends = 0, set[int](), dict[int, int]()
    for k in order:
        top, bottom = (chains[k].nodes[0], chains[k].nodes[-1])
        rows = set(range(levels[top], levels[bottom]))
        # two chains that meet in one gap of a column must meet in one node, or they would seem to be joined
        meets = any(ends.get(levels[node], node) != node for node in (top, bottom))
        if meets or rows & taken:
            current, taken, ends = current + 1, set(), {}
        taken |= rows
        ends |= {levels[top]: top, levels[bottom]: bottom}
        columns[k] = current
    return tuple(columns)


def _bars(
    chains: tuple[Chain, ...],
    columns: tuple[int, ...],
    rows: tuple[int, ...],
    levels: dict[int, int],
    height: int,
) -> tuple[Bar, ...]:
    """Bars on tracks: none runs over another, nor over a node inside a chain."""
    busy: list[list[set[int]]] = [[set()] for _ in range(height + 1)]
    for chain, column, row in zip(chains, columns, rows, strict=True):
        for gap in range(row + 1, row + len(chain.branches) + 1):
            if gap < levels[chain.nodes[-1]]:
                busy[gap][0].add(column)
    bars = []
    for node, gap in levels.items():
        own = [
            c for chain, c in zip(chains, columns, strict=True) if node in (chain.nodes[0], chain.nodes[-1])
        ]
        left, right = min(own), max(own)
        needed = set(range(left, right + 1))
        track = 0
        while track < len(busy[gap]) and busy[gap][track] & needed:
            track += 1
        if track == len(busy[gap]):
            busy[gap].append(set())
        busy[gap][track] |= needed
        bars.append(Bar(node, gap, track, left, right))
    return tuple(bars)
