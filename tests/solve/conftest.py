"""Random networks for the tests of both engines."""

from collections.abc import Callable

import numpy as np
import pytest

from gaugesim.solve.network import GROUND, Network, Path


def make_network(
    seed: int,
    nodes: int = 10,
    more: int = 14,
    decades: tuple[float, float] = (-2, 4),
    sources: int = 2,
    opens: int = 0,
    shorts: int = 0,
    driven: int = 0,
) -> Network:
    """A connected network: a random tree of resistors and some more, sources of volts and of amperes.

    `opens` resistors are infinite; `shorts` have no ohms, and never form a ring as they lie in the tree.
    """
    rng = np.random.default_rng(seed)
    names = [GROUND, *(f"node{i}" for i in range(nodes))]
    paths = [
        Path(f"tree{i}", names[i], names[rng.integers(0, i)], 10 ** rng.uniform(*decades))
        for i in range(1, nodes + 1)
    ]
    for k in range(more):
        a, b = rng.choice(nodes + 1, 2, replace=False)
        paths.append(Path(f"more{k}", names[a], names[b], 10 ** rng.uniform(*decades)))
    for k in range(sources):
        a, b = rng.choice(nodes + 1, 2, replace=False)
        paths.append(Path(f"source{k}", names[a], names[b], 10 ** rng.uniform(-2, 1), rng.uniform(-15, 15)))
    for k in range(driven):
        a, b = rng.choice(nodes + 1, 2, replace=False)
        paths.append(Path(f"current{k}", names[a], names[b], np.inf))
    network = Network.of(paths, {f"current{k}": rng.uniform(-1, 1) for k in range(driven)})
    ohms = network.ohms.copy()
    ohms[rng.choice(nodes, shorts, replace=False)] = 0.0
    resistors = np.flatnonzero((network.volts == 0) & np.isnan(network.amperes) & (ohms > 0))
    ohms[rng.choice(resistors, opens, replace=False)] = np.inf
    return Network(network.nodes, network.names, network.ends, ohms, network.volts, network.amperes)


@pytest.fixture(scope="session")
def random_network() -> Callable[..., Network]:
    return make_network
