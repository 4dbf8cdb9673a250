"""Cells of the schematic: everything has one, and nothing shares one."""

from collections import Counter
from itertools import combinations

import numpy as np
import pytest

from gaugesim.circuit import Circuit
from gaugesim.draw.layout import Layout, arrange
from gaugesim.solve import nodal
from gaugesim.solve.network import Network, Path


def arranged(circuit: Circuit) -> tuple[Network, Layout]:
    network = circuit.network(circuit.values(circuit.parameters()))
    return network, arrange(network, np.nan_to_num(nodal.solve(network).voltages))


def any_network(seed: int) -> tuple[Network, list[float]]:
    """Parts between nodes at random: parallel ones, loose ends, pieces that hang together by nothing."""
    random = np.random.default_rng(seed)
    nodes = ["0", *(f"n{i}" for i in range(random.integers(1, 9)))]
    count = random.integers(1, 16)
    pairs = [random.choice(nodes, 2, replace=False) for _ in range(count)]
    network = Network.of([Path(f"r{i}", str(a), str(b), 1.0) for i, (a, b) in enumerate(pairs)])
    return network, [*random.integers(0, 4, len(network.nodes)).astype(float), 0.0]


def assert_sound(network: Network, layout: Layout) -> None:
    placed = [k for chain in layout.chains for k in chain.branches]
    assert sorted(placed) == list(range(len(network.names)))
    for chain in layout.chains:
        for i, (k, downward) in enumerate(zip(chain.branches, chain.downward, strict=True)):
            ends = [int(node) for node in network.ends[k]]
            assert (ends if downward else ends[::-1]) == [chain.nodes[i], chain.nodes[i + 1]]
    gap_of = {bar.node: bar.gap for bar in layout.bars}
    assert len(gap_of) == len(layout.bars)
    cells = Counter()
    inner = set()
    for chain, column, row in zip(layout.chains, layout.columns, layout.rows, strict=True):
        assert row == gap_of[chain.nodes[0]]
        assert row + len(chain.branches) <= gap_of[chain.nodes[-1]]
        cells.update((column, each) for each in range(row, gap_of[chain.nodes[-1]]))
        inner |= {(gap, 0, column) for gap in range(row + 1, row + len(chain.branches))}
    assert max(cells.values()) == 1
    lines = Counter((bar.gap, bar.track, c) for bar in layout.bars for c in range(bar.left, bar.right + 1))
    assert max(lines.values()) == 1
    assert not inner & set(lines)
    for bar in layout.bars:
        assert bar.track < layout.tracks[bar.gap]
    for (one, first), (two, second) in combinations(zip(layout.columns, layout.chains, strict=True), 2):
        if one == two:  # neighbours in a column are joined where they meet, or do not meet
            above, below = sorted((first, second), key=lambda chain: gap_of[chain.nodes[0]])
            met = gap_of[above.nodes[-1]] == gap_of[below.nodes[0]]
            assert not met or above.nodes[-1] == below.nodes[0]


def test_every_circuit_has_cells_of_its_own(any_circuit: Circuit) -> None:
    assert_sound(*arranged(any_circuit))


@pytest.mark.parametrize("seed", range(60))
def test_any_network_has_cells_of_its_own(seed: int) -> None:
    network, potential = any_network(seed)
    assert_sound(network, arrange(network, potential))


def test_few_lines_cross(any_circuit: Circuit) -> None:
    # three gauges that share feed, ground and engine cannot be drawn without a crossing: K(3,3) is not planar
    _, layout = arranged(any_circuit)
    gap_of = {bar.node: bar.gap for bar in layout.bars}
    crossings = sum(
        bar.left < column < bar.right
        and bar.node not in (chain.nodes[0], chain.nodes[-1])
        and gap_of[chain.nodes[0]] < bar.gap < gap_of[chain.nodes[-1]]
        for bar in layout.bars
        for chain, column in zip(layout.chains, layout.columns, strict=True)
    )
    assert crossings <= 3


def test_feed_is_above_ground(any_circuit: Circuit) -> None:
    network, layout = arranged(any_circuit)
    gap_of = {bar.node: bar.gap for bar in layout.bars}
    assert gap_of[network.node("battery_positive")] == 0
    assert gap_of[len(network.nodes)] == layout.height


def test_a_chain_ends_where_others_are_not_drawn() -> None:
    network = Network.of([Path("r1", "a", "b", 1.0), Path("r2", "b", "0", 1.0)])
    assert len(arrange(network, [2.0, 1.0, 0.0]).chains) == 1
    assert len(arrange(network, [2.0, 1.0, 0.0], frozenset({1})).chains) == 2


def test_the_layout_is_always_the_same(any_circuit: Circuit) -> None:
    from gaugesim.draw import layout

    first = arranged(any_circuit)[1]
    layout._arrange.cache_clear()
    assert arranged(any_circuit)[1] == first
