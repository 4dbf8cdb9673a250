"""The embedded engine: closed forms, laws of networks, changes against solving anew, refusals."""

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from gaugesim.arrays import Floats
from gaugesim.errors import UnknownNameError, UnsolvableError
from gaugesim.solve.network import OPEN_OHMS, SHORT_OHMS, Network, Path, explain_unsolvable, islands
from gaugesim.solve.nodal import Factored, Solution, corrections, factor, solve

Make = Callable[..., Network]
BATTERY = Path("battery", "feed", "0", 0.0, 12.0)


# --- closed forms -----------------------------------------------------------------------------------------


def test_a_divider() -> None:
    solution = solve(Network.of([BATTERY, Path("top", "feed", "out", 1e3), Path("bottom", "out", "0", 3e3)]))
    assert solution.voltage("out") == pytest.approx(9, rel=1e-14)
    assert solution.voltage("feed", "out") == pytest.approx(3, rel=1e-14)
    assert solution.current("top") == pytest.approx(3e-3, rel=1e-14)
    # a source that delivers carries its current backwards, from its second node to its first
    assert solution.current("battery") == pytest.approx(-3e-3, rel=1e-14)


@pytest.mark.parametrize("ratio", [1.0, 0.5, 1e-3])
def test_a_bridge(ratio: float) -> None:
    # Wheatstone: no current through the meter when the arms are in proportion
    arms = [
        Path("r1", "feed", "left", 100.0), Path("r2", "left", "0", 100.0 * ratio),
        Path("r3", "feed", "right", 220.0), Path("r4", "right", "0", 220.0 * ratio),
    ]  # fmt: skip
    solution = solve(Network.of([BATTERY, *arms, Path("meter", "left", "right", 50.0)]))
    assert solution.current("meter") == pytest.approx(0, abs=1e-15)
    unbalanced = solve(
        Network.of([BATTERY, *arms, Path("meter", "left", "right", 50.0)]).with_ohms({"r4": 300.0})
    )
    left, right = 12 * ratio / (1 + ratio), 12 * 300 / 520
    inner = 100 * 100 * ratio / (100 + 100 * ratio) + 220 * 300 / 520  # Thevenin
    assert unbalanced.current("meter") == pytest.approx((left - right) / (inner + 50), rel=1e-12)


def test_a_current_source() -> None:
    network = Network.of([Path("drive", "0", "a", np.inf), Path("load", "a", "0", 47.0)], {"drive": 0.25})
    solution = solve(network)
    assert solution.voltage("a") == pytest.approx(0.25 * 47, rel=1e-14)
    assert (solution.current("drive"), solution.current("load")) == pytest.approx((0.25, 0.25), rel=1e-14)


def test_opens_and_shorts_are_exact() -> None:
    network = Network.of(
        [BATTERY, Path("fuse", "feed", "a", 0.01), Path("wire", "a", "b", 0.1), Path("lamp", "b", "0", 6.0)]
    )
    opened = solve(network.with_ohms({"fuse": np.inf}))
    assert opened.currents.tolist() == [0, 0, 0, 0]
    assert opened.voltage("b") == 0
    shorted = solve(network.with_ohms({"fuse": 0.0, "wire": 0.0}))
    assert shorted.current("lamp") == 2.0
    assert shorted.voltage("feed", "b") == 0
    # so is an open source
    assert solve(network.with_ohms({"battery": np.inf})).currents.tolist() == [0, 0, 0, 0]


def test_finite_stand_ins() -> None:
    network = Network.of(
        [
            BATTERY,
            Path("short", "feed", "a", 0.0),
            Path("open", "a", "0", np.inf),
            Path("drive", "a", "0", np.inf),
        ],
        {"drive": 0.1},
    )
    assert network.finite().ohms.tolist() == [0, SHORT_OHMS, OPEN_OHMS, OPEN_OHMS]
    exact, finite = solve(network), solve(network.finite())
    assert finite.voltage("a") == pytest.approx(exact.voltage("a"), abs=2e-6)


# --- laws -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(30))
def test_kirchhoff_and_power(random_network: Make, seed: int) -> None:
    # an open might leave a current source without a way
    network = random_network(seed, opens=seed % 4, shorts=seed % 3, driven=0 if seed % 4 else 2)
    solution = solve(network)
    into = np.zeros(len(network.nodes) + 1)
    np.add.at(into, network.ends[:, 0], -solution.currents)
    np.add.at(into, network.ends[:, 1], solution.currents)
    scale = np.abs(solution.currents).max()
    assert np.abs(into).max() < 1e-11 * scale
    across = solution.voltages[network.ends[:, 0]] - solution.voltages[network.ends[:, 1]]
    resistive = np.isfinite(network.ohms) & np.isnan(network.amperes) & ~np.isnan(across)
    dropped = network.volts[resistive] + network.ohms[resistive] * solution.currents[resistive]
    assert np.abs(across[resistive] - dropped).max() < 1e-10 * np.nanmax(np.abs(solution.voltages))
    flowing = solution.currents != 0
    power = across[flowing] * solution.currents[flowing]
    assert np.abs(power.sum()) < 1e-11 * np.abs(power).sum()


def test_a_batch_is_its_networks_one_by_one(random_network: Make) -> None:
    network = random_network(7, opens=1, shorts=1)
    rng = np.random.default_rng(7)
    ohms = np.tile(network.ohms, (40, 1))
    for row in ohms:
        row[rng.integers(0, len(row), 3)] = 10.0 ** rng.uniform(-3, 6)
        row[rng.integers(0, len(row), 2)] = np.inf
    volts = rng.uniform(-1, 1, ohms.shape) * (network.volts != 0)
    batch = solve(network, ohms, volts)
    assert batch.voltages.shape == (40, len(network.nodes) + 1)
    for i in range(40):
        single = solve(replace(network, ohms=ohms[i], volts=volts[i]))
        assert batch.voltages[i] == pytest.approx(single.voltages, rel=1e-12, abs=1e-14, nan_ok=True)
        assert batch.currents[i] == pytest.approx(single.currents, rel=1e-12, abs=1e-14)
    assert batch.voltage("node1").shape == batch.current("tree1").shape == (40,)


# --- nodes that are cut off -------------------------------------------------------------------------------


def test_a_node_that_is_cut_off_has_no_voltage() -> None:
    network = Network.of(
        [
            BATTERY,
            Path("lamp", "feed", "0", 6.0),
            Path("lead", "feed", "sender", np.inf),
            Path("ring", "x", "y", 1.0),
            Path("cell", "y", "x", 1.0, 1.5),
        ]
    )
    solution = solve(network)
    assert np.isnan([solution.voltage("sender"), solution.voltage("x"), solution.voltage("y")]).all()
    assert solution.voltage("feed") == 12
    # what stands between two nodes of an island is not told, as nothing says it against ground; currents are
    assert solution.current("ring") == pytest.approx(-0.75, rel=1e-14)


def test_islands_against_a_search() -> None:
    rng = np.random.default_rng(3)
    for _ in range(50):
        count, branches = 12, 16
        ends = rng.integers(0, count + 1, (branches, 2))
        conducting = rng.random((4, branches)) < 0.4
        labels = islands(ends, conducting, count)
        for row, mask in zip(labels, conducting, strict=True):
            for node in range(count + 1):
                reached, waiting = {node}, [node]
                while waiting:
                    at = waiting.pop()
                    for a, b in ends[mask]:
                        for here, there in ((a, b), (b, a)):
                            if here == at and there not in reached:
                                reached.add(there)
                                waiting.append(there)
                assert row[node] == max(reached)


# --- refusals ---------------------------------------------------------------------------------------------

LAMP = Path("lamp", "feed", "0", 6.0)
RING = " form a ring without resistance; give one of them ohms"
UNDETERMINED = " form a ring without resistance, so its current is undetermined; give one of them ohms"
UNSOLVABLE: dict[str, tuple[list[Path], dict[str, float], str]] = {
    "fight": (
        [BATTERY, LAMP, Path("other", "feed", "0", 0.0, 6.0)], {},
        "sources fight: battery, other" + RING,
    ),
    "shorted": (
        [BATTERY, LAMP, Path("chafe", "0", "feed", 0.0)], {},
        "sources fight: battery, chafe" + RING,
    ),
    "long way round": (
        [LAMP, Path("fuse", "feed", "a", 0.0), BATTERY, Path("apart", "p", "0", 0.0),
         Path("wire", "a", "b", 0.0), Path("tail", "b", "c", 0.0), Path("chafe", "b", "0", 0.0)], {},
        "sources fight: fuse, battery, wire, chafe" + RING,
    ),
    "equal sources": (
        [BATTERY, LAMP, Path("other", "feed", "0", 0.0, 12.0)], {},
        "battery, other" + UNDETERMINED,
    ),
    "sources against each other": (
        [BATTERY, LAMP, Path("other", "0", "feed", 0.0, -12.0)], {},
        "battery, other" + UNDETERMINED,
    ),
    "double short": (
        [BATTERY, LAMP, Path("jumper", "feed", "a", 0.0), Path("jumper2", "a", "feed", 0.0)], {},
        "jumper, jumper2" + UNDETERMINED,
    ),
    "source on itself": (
        [BATTERY, LAMP, Path("cell", "a", "a", 0.0, 1.5)], {},
        "sources fight: cell" + RING,
    ),
    "nowhere": (
        [BATTERY, LAMP, Path("meter", "0", "a", np.inf)], {"meter": 1e-3},
        "the current of source meter has nowhere to go; close a circuit around it",
    ),
    "between islands": (
        [BATTERY, LAMP, Path("meter", "b", "a", np.inf), Path("r", "b", "c", 1.0)], {"meter": 1e-3},
        "the current of source meter has nowhere to go; close a circuit around it",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("paths", "currents", "reason"), UNSOLVABLE.values(), ids=UNSOLVABLE)
def test_why_there_is_no_solution(paths: list[Path], currents: dict[str, float], reason: str) -> None:
    network = Network.of(paths, currents)
    assert str(explain_unsolvable(network)) == reason
    for method in (solve, factor):
        with pytest.raises(UnsolvableError) as caught:
            method(network)
        assert str(caught.value) == reason


def test_the_row_that_has_no_solution_is_explained() -> None:
    network = Network.of([BATTERY, LAMP, Path("chafe", "feed", "0", np.inf)])
    ohms = np.tile(network.ohms, (5, 1))
    ohms[3, 2] = 0.0
    with pytest.raises(UnsolvableError, match="sources fight: battery, chafe form a ring"):
        solve(network, ohms)


def test_a_current_may_return_through_another_source() -> None:
    paths = [Path("out", "0", "a", np.inf), Path("back", "a", "0", np.inf), Path("idle", "0", "b", np.inf)]
    network = Network.of(paths, {"out": 0.5, "back": 0.5, "idle": 0.0})
    solution = solve(network)
    assert solution.currents.tolist() == [0.5, 0.5, 0]
    assert np.isnan(solution.voltage("a"))


@pytest.mark.parametrize("ohms", [-1.0, np.nan, -np.inf])
def test_a_resistance_is_a_number_and_not_negative(ohms: float) -> None:
    network = Network.of([BATTERY, LAMP]).with_ohms({"lamp": ohms})
    for method in (solve, factor):
        with pytest.raises(
            ValueError, match=r"lamp has -?(1\.0|nan|inf) ohm; a resistance is 0 or more, inf if open"
        ):
            method(network)


def test_a_solvable_network_has_nothing_to_explain() -> None:
    assert str(explain_unsolvable(Network.of([BATTERY, LAMP]))) == "the circuit has no single solution"


# --- changes against solving anew -------------------------------------------------------------------------


def changed(network: Network, branches: dict[int, float], paths: dict[tuple[int, int], float]) -> Solution:
    """The answer of solving anew."""
    ohms = network.ohms.copy()
    for branch, value in branches.items():
        ohms[branch] = value
    nodes = (*network.nodes, "0")
    added = [Path(f"added{i}", nodes[a], nodes[b], value) for i, ((a, b), value) in enumerate(paths.items())]
    return solve(replace(network, ohms=ohms).with_paths(added))


def corrected(
    base: Factored, branches: dict[int, float], paths: dict[tuple[int, int], float]
) -> tuple[Floats, Floats]:
    """All node voltages and branch currents, by corrections of the factored network."""
    columns = base.columns(list(branches), list(paths))
    index = np.arange(len(columns.ohms))
    amount = columns.amount(index, np.array([*branches.values(), *paths.values()]))
    columns, _, amount = base.freed(columns, index, amount)
    p, q = (columns.p_index, columns.p_sign), (columns.q_index, columns.q_sign)
    alpha = corrections(base.transfer(q, p)[None], base.pick(q)[None], amount[None])[0]
    outputs = base.rows([(i, base.size) for i in range(base.size)])
    x = base.pick(outputs) - base.transfer(outputs, p) @ alpha
    n = len(base.network.nodes)
    return x[:n], x[n:]


def assert_corrected(
    network: Network, branches: dict[int, float], paths: dict[tuple[int, int], float], tolerance: float = 1e-9
) -> None:
    anew = changed(network, branches, paths)
    voltages, currents = corrected(factor(network), branches, paths)
    known = ~np.isnan(anew.voltages[:-1])
    scale = np.abs(anew.voltages[:-1][known]).max(initial=1.0)
    assert np.abs(voltages - anew.voltages[:-1])[known].max(initial=0.0) < tolerance * scale
    scale = max(np.abs(anew.currents).max(), 1e-3)
    assert np.abs(currents - anew.currents[: len(network.names)]).max() < tolerance * scale


def random_changes(rng: np.random.Generator, network: Network, values: Sequence[float]) -> dict[int, float]:
    plain = np.flatnonzero((network.volts == 0) & np.isnan(network.amperes))
    chosen = rng.choice(plain, rng.integers(1, 4), replace=False)
    return {int(k): float(rng.choice(values)) for k in chosen}


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("ohms", [0.0, 1e-6, 5.0, 1e5, np.inf])
def test_a_branch_that_was_open_is_closed(random_network: Make, seed: int, ohms: float) -> None:
    network = random_network(seed, opens=2)
    was_open = np.flatnonzero(np.isinf(network.ohms))
    if ohms == 0:
        # a dead short is the limit of a small resistance
        network = replace(network, ohms=np.where(network.ohms < 1e-3, 1e-3, network.ohms))
    assert_corrected(network, {int(was_open[0]): ohms}, {}, 1e-8 if ohms < 1e-3 else 1e-9)
    if ohms > 0:
        assert_corrected(network, {int(k): ohms for k in was_open}, {}, 1e-8 if ohms < 1e-3 else 1e-9)


def test_a_branch_that_was_open_meets_its_source() -> None:
    network = Network.of(
        [BATTERY, LAMP, Path("aid", "feed2", "0", np.inf, 14.0), Path("lead", "feed", "feed2", 0.1)]
    )
    assert np.isinf(network.ohms[2])
    assert_corrected(network, {3: 5.0}, {})


@pytest.mark.parametrize("seed", range(100))
def test_changed_resistances_and_added_paths(random_network: Make, seed: int) -> None:
    network = random_network(seed, opens=seed % 2)
    rng = np.random.default_rng(1000 + seed)
    while True:
        branches = random_changes(rng, network, [0.0, 1e-3, 0.5, 40.0, 7e3, 1e6, OPEN_OHMS, np.inf])
        paths: dict[tuple[int, int], float] = {}
        for _ in range(rng.integers(0, 4)):
            a, b = sorted(rng.choice(len(network.nodes) + 1, 2, replace=False).tolist())
            paths[a, b] = float(rng.choice([0.0, 1e-2, 3.0, 500.0, 1e7, np.inf]))
        with contextlib.suppress(UnsolvableError):  # a ring of dead shorts: draw again
            changed(network, branches, paths)
            break
    assert_corrected(network, branches, paths)


REDUNDANT = [
    ({3: np.inf, 4: np.inf}, {}),  # two opens in series
    ({3: np.inf, 4: 5.0}, {}),  # more ohms in a dead end
    ({3: np.inf, 4: np.inf, 5: np.inf}, {}),
    ({}, {(0, 1): 0.0, (0, 2): 0.0}),
    ({3: np.inf}, {(2, 3): 1.0}),
    ({4: np.inf, 3: np.inf}, {(2, 4): 3.0}),  # the second of two opens bridged, the first not
]


@pytest.mark.parametrize(("branches", "paths"), REDUNDANT)
def test_redundant_changes(branches: dict[int, float], paths: dict[tuple[int, int], float]) -> None:
    chain = Network.of(
        [
            Path("battery", "a", "0", 0.02, 12.0), Path("load", "a", "0", 6.0), Path("fuse", "a", "b", 0.01),
            Path("wire", "b", "c", 0.1), Path("pin", "c", "d", 0.01), Path("lamp", "d", "0", 10.0),
            Path("meter", "d", "0", 1e7),
        ]
    )  # fmt: skip
    assert_corrected(chain, branches, paths)


def test_the_smallest_current_that_counts_is_that_of_finite_opens() -> None:
    chain = Network.of(
        [
            BATTERY,
            Path("open1", "feed", "a", OPEN_OHMS),
            Path("open2", "a", "b", OPEN_OHMS),
            Path("wire", "b", "c", 0.1),
            Path("open3", "c", "0", OPEN_OHMS),
        ]
    )
    voltages, _ = corrected(factor(chain), {3: np.inf}, {})
    assert voltages == pytest.approx([12, 12, 12, 0], rel=1e-6, abs=1e-6)
    voltages, _ = corrected(factor(chain.with_ohms({"wire": np.inf})), {3: SHORT_OHMS}, {})
    assert voltages == pytest.approx([12, 8, 4, 4], rel=1e-6)


@pytest.mark.parametrize("seed", range(60))
def test_a_node_is_cut_off_by_its_last_branch(random_network: Make, seed: int) -> None:
    # the last of the opens makes no difference, but for rounding that must not be taken for one
    network = random_network(seed, more=4, sources=1, decades=(-3, 6))
    touching = [np.flatnonzero((network.ends == node).any(axis=1)) for node in range(len(network.nodes))]
    few = [around for around in touching if 2 <= len(around) <= 4 and not network.volts[around].any()]
    assert few
    for around in few:
        assert_corrected(network, {int(k): np.inf for k in around}, {})


def test_corrections_by_hand() -> None:
    # two changes that do not touch each other: a = v / (1/d + K), each for itself
    coupling = np.array([[[2.0, 0.0], [0.0, 5.0]]])
    drive = np.array([[6.0, 10.0]])
    assert corrections(coupling, drive, np.array([[np.inf, np.inf]])).tolist() == [[3, 2]]
    assert corrections(coupling, drive, np.array([[1.0, 0.2]])).tolist() == [[2, 1]]
    assert corrections(coupling, drive, np.array([[0.0, -0.1]])).tolist() == [[0, -2]]
    # two that do
    coupled = np.array([[[2.0, 1.0], [1.0, 5.0]]])
    assert corrections(coupled, drive, np.array([[np.inf, np.inf]]))[0] == pytest.approx(
        np.linalg.solve(coupled[0], drive[0])
    )


@pytest.mark.parametrize("seed", range(40))
def test_what_is_cut_off_is_joined_again(random_network: Make, seed: int) -> None:
    # two pieces with a source each beside a network, and changes within, between and out of them
    rng = np.random.default_rng(4000 + seed)
    pieces = [
        Path(f"{piece}{name}", f"{piece}{a}", f"{piece}{b}", float(10.0 ** rng.uniform(-2, 3)), volts)
        for piece in "xy"
        for name, a, b, volts in (
            ("cell", 1, 2, 3.0),
            ("r1", 2, 3, 0.0),
            ("r2", 3, 1, 0.0),
            ("end", 3, 4, 0.0),
        )
    ]
    whole = random_network(seed, opens=seed % 3)
    names = [*whole.nodes, "0"]
    rest = [
        Path(name, names[a], names[b], float(ohms), float(volts))
        for name, (a, b), ohms, volts in zip(whole.names, whole.ends, whole.ohms, whole.volts, strict=True)
    ]
    network = Network.of([*rest, *pieces])
    ground = len(network.nodes)
    base = factor(network)
    assert {network.node("x1"), network.node("y1")}.isdisjoint(np.flatnonzero(base.island == ground))
    cut = np.flatnonzero(base.island != ground)
    for _ in range(10):
        paths: dict[tuple[int, int], float] = {}
        for _ in range(rng.integers(1, 4)):
            ends = int(rng.choice(cut)), int(rng.integers(ground + 1))
            if ends[0] != ends[1]:
                paths[ends] = float(rng.choice([0.5, 40.0, 1e4, 1e6, np.inf]))
        branches = random_changes(rng, network, [0.5, 40.0, 1e4, np.inf])
        assert_corrected(network, branches, paths, 1e-8)
        for alone in ({}, branches):
            assert_corrected(network, alone, dict([*paths.items()][:1]), 1e-8)


def test_an_open_at_both_ends_of_a_lead_and_a_path_to_it() -> None:
    # a lead parted at plug and sender, chafed through to the feed behind 2 ohm, on a meter
    network = Network.of(
        [
            BATTERY, Path("coil", "feed", "stud", 100.0), Path("plug", "stud", "lead", np.inf),
            Path("wire", "lead", "end", 0.1), Path("sender", "end", "0", np.inf),
        ]
    )  # fmt: skip
    feed, end = network.node("feed"), network.node("end")
    voltages, _ = corrected(factor(network), {}, {(end, feed): 2.0, (end, len(network.nodes)): 98.0})
    assert voltages[end] == pytest.approx(12 * 0.98, rel=1e-12)
    voltages, currents = corrected(factor(network), {2: 10.0}, {(end, len(network.nodes)): 9.9})
    assert voltages[end] == pytest.approx(12 * 9.9 / 120, rel=1e-12)
    assert currents[1] == pytest.approx(0.1, rel=1e-12)


def test_numbers_of_several_names() -> None:
    network = Network.of([Path("battery", "a", "0", 0.0, 12.0), Path("lamp", "b", "a", 6.0)])
    assert network.node_numbers(["b", "0", "a"]).tolist() == [network.node(name) for name in ("b", "0", "a")]
    assert network.branch_numbers(["lamp", "battery"]).tolist() == [1, 0]
    with pytest.raises(UnknownNameError, match="no node is called 'c'"):
        network.node_numbers(["a", "c"])
    with pytest.raises(UnknownNameError, match=r"no branch is called 'lmp'; did you mean lamp\?"):
        network.branch_numbers(["battery", "lmp"])
