"""Large networks: a line of 5,000 nodes swept by the command, and sparse against dense solutions."""

import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from sweeps.ladder import (
    BATTERY_OHMS,
    COIL_OHMS,
    HIGH_AMPERES,
    LAMP_OHMS,
    LOW_AMPERES,
    VOLTS,
    WIRE_OHMS,
    line,
    line_scenarios,
    write_ladder,
)

from gaugesim.arrays import Floats
from gaugesim.circuit import find
from gaugesim.cli import main
from gaugesim.netlist import Element
from gaugesim.reading import Situation
from gaugesim.reading.correction import Correction
from gaugesim.reading.situations import Decided
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import all_faults, change
from gaugesim.solve import nodal
from gaugesim.solve.change import invert
from gaugesim.solve.network import Network
from gaugesim.solve.network import Path as Branch
from gaugesim.solve.sparse import SparselyFactored, factor_sparsely
from gaugesim.sweeps import graded, pairs, sweep

NODES = 5000
CLOSE = 1e-9
# as good as none beside the wires, and one can divide by it
DEAD_SHORT = 1e-30


def far_volts(wires: Floats, lamps: Floats) -> float:
    """Volts at the far end: the line's resistance folded up from there, then divided from the battery on.

    Parameters
    ----------
    wires, lamps : ndarray, shapes (posts - 1,) and (posts,)
        [ohm]; inf for one that is open.
    """
    siemens = 1 / lamps[-1] + 1 / COIL_OHMS
    shares = []
    for wire, lamp in zip(wires[::-1], lamps[-2::-1], strict=True):
        shares.append(1 / (1 + wire * siemens) if np.isfinite(wire) else 0.0)
        siemens = 1 / lamp + siemens * shares[-1]
    return float(VOLTS / (1 + BATTERY_OHMS * siemens) * np.prod(shares))


def test_the_command_sweeps_a_line_of_5000_nodes(
    repository: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    circuit = write_ladder(repository, tmp_path, NODES, every=50)
    assert len(find(str(circuit)).netlist.nodes) == NODES
    assert main(["sweep", str(circuit), "--check", "volts_at:far_end", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["rows"]
    assert len(rows) > 1000
    wires, lamps = np.full(NODES - 2, WIRE_OHMS), np.full(NODES - 1, LAMP_OHMS)
    # the meter hangs on the last post
    lamps[-1] = 1 / (1 / LAMP_OHMS + 1 / 10e6)
    for row in [*rows[::53], *[row for row in rows if row["fault"].endswith("=open")][::11]]:
        part, _, mode = row["fault"].partition("=")
        kind, _, post = part.partition("_")
        changed = {"wire": wires.copy(), "lamp": lamps.copy()}
        before = changed[kind][int(post)]
        severity = row["severity"] or 0.0
        after = {"open": np.inf, "intermittent": np.inf, "high": before + severity, "short": severity}
        after |= dict.fromkeys(("drift_up", "drift_down"), before * severity)
        changed[kind][int(post)] = after[mode] or DEAD_SHORT
        volts = far_volts(changed["wire"], changed["lamp"])
        assert row["reading"] == pytest.approx(volts, abs=CLOSE * VOLTS), row
        stand = (volts / COIL_OHMS - LOW_AMPERES) / (HIGH_AMPERES - LOW_AMPERES)
        assert row["needles"]["voltmeter"] == pytest.approx(min(max(stand, -0.12), 1.12), abs=CLOSE), row


def test_the_command_reads_a_line_of_5000_nodes(
    repository: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    circuit = write_ladder(repository, tmp_path, NODES, every=50)
    assert main(["read", str(circuit), "--fault", "wire_1000=0.7", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    wires, lamps = np.full(NODES - 2, WIRE_OHMS), np.full(NODES - 1, LAMP_OHMS)
    wires[1000] = 0.7
    volts = far_volts(wires, lamps)
    assert answer["nodes"][f"post{NODES - 2}"] == pytest.approx(volts, abs=CLOSE * VOLTS)
    needle = answer["needles"]["voltmeter"]
    stand = (volts / COIL_OHMS - LOW_AMPERES) / (HIGH_AMPERES - LOW_AMPERES)
    assert needle["position"] == pytest.approx(stand, abs=CLOSE)
    assert needle["low"] < stand - 0.01
    assert needle["high"] > stand + 0.01


def test_faults_of_a_line_of_5000_nodes_are_as_solved_anew() -> None:
    network = line(NODES)
    rows = line_scenarios(network, 5)
    coil = network.branch("coil")
    # the battery straight on a dead short has no solution
    dead = 6 * (len(network.names) + network.node("plus"))
    solvable = np.delete(np.arange(len(rows)), dead)
    # the battery and its post, the line's far end, and some between
    chosen = [*range(12), *range(len(rows) - 6, len(rows)), *range(dead + 1, dead + 12)]
    chosen += np.random.default_rng(1).choice(solvable, 50, replace=False).tolist()
    rows = rows.take(np.array(chosen))
    correction = Correction(factor_sparsely(network), [coil], rows, Decided(frozenset(), False))
    currents = correction.currents()[:, 0]
    for row in range(len(rows)):
        k, ohms = int(rows.column[row, 0]), float(rows.ohms[row, 0])
        if k < len(network.names):
            changed = network.with_ohms({network.names[k]: ohms})
        else:
            node, ground = rows.paths[k - len(network.names)]
            changed = network.with_paths([Branch("fault", node, ground, ohms)])
        wanted = nodal.solve(changed).currents[coil]
        assert currents[row] == pytest.approx(wanted, abs=CLOSE * VOLTS / COIL_OHMS), row


def test_pairs_on_a_line_of_5000_nodes(repository: Path, tmp_path: Path) -> None:
    circuit = find(str(write_ladder(repository, tmp_path, NODES, every=500)))
    swept = pairs(Situation.of(circuit), count=2)
    rows = swept.scenarios
    seen = 0
    for block in swept.blocks():
        for at in range(0, len(block.first), 37):
            wires, lamps = np.full(NODES - 2, WIRE_OHMS), np.full(NODES - 1, LAMP_OHMS)
            for row in (block.first[at], block.second[at]):
                for c, ohms in zip(rows.column[row], rows.ohms[row], strict=True):
                    if c < 0:
                        continue
                    name = rows.branches[c]
                    kind, _, post = name.removeprefix("r").partition("_")
                    {"wire": wires, "lamp": lamps}[kind][int(post)] = ohms or DEAD_SHORT
            stand = (far_volts(wires, lamps) / COIL_OHMS - LOW_AMPERES) / (HIGH_AMPERES - LOW_AMPERES)
            wanted = min(max(stand, -0.12), 1.12)
            assert block.response.positions["voltmeter"][at] == pytest.approx(wanted, abs=CLOSE)
            seen += 1
    assert seen > 100


class Watched(tuple[Element, ...]):
    """Elements that count how often somebody goes through them."""

    walks = 0

    def __iter__(self) -> Iterator[Element]:
        Watched.walks += 1
        return super().__iter__()


def test_a_fault_costs_no_walk_through_the_netlist(repository: Path, tmp_path: Path) -> None:
    circuit = find(str(write_ladder(repository, tmp_path, 300, every=10)))
    circuit = replace(circuit, netlist=replace(circuit.netlist, elements=Watched(circuit.netlist.elements)))
    situation = Situation.of(circuit)
    first, *others = all_faults(circuit)
    change(circuit, first, graded(first), situation.parameters)
    before = Watched.walks
    assert before > 0
    for fault in others:
        change(circuit, fault, graded(fault), situation.parameters)
    assert Watched.walks == before
    # nor a copy of all its values
    assert circuit.values(situation.parameters) is circuit.values(situation.parameters)


def test_pairs_of_too_many_faults_are_refused(
    repository: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # the package's own name for it is the function
    monkeypatch.setattr(sys.modules["gaugesim.sweeps.all_pairs"], "MOST_FAULTS", 50)
    circuit = write_ladder(repository, tmp_path, 300, every=10)
    assert main(["sweep", str(circuit), "--pairs", "--json"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert len(captured.err.splitlines()) == 1
    assert "faults; pairs are worked out of 50 at most; look at them one at a time" in captured.err


def mesh(seed: int, size: int, high: int) -> Network:
    """A meshed network with opens, dead shorts, a source of current and a part that nothing grounds."""
    generator = np.random.default_rng(seed)

    def name(row: int, column: int) -> str:
        return f"n{row}_{column}" if (row, column) != (0, 0) else "0"

    branches = [
        Branch("battery", "plus", "0", 0.0, 12.0),
        Branch("post", "plus", name(high - 1, size - 1), 0.01),
    ]
    for row in range(high):
        for column in range(size):
            here = name(row, column)
            for other in ((row, column + 1), (row + 1, column)):
                if other[0] < high and other[1] < size:
                    ohms = 10 ** generator.uniform(-3, 4)
                    ohms = {0: np.inf, 1: 0.0}.get(int(generator.integers(12)), ohms)
                    branches.append(Branch(f"r{row}_{column}_{other[0]}", here, name(*other), ohms))
            branches.append(Branch(f"g{row}_{column}", here, "0", 10 ** generator.uniform(3, 6)))
    branches += [Branch("loose", "a", "b", 5.0), Branch("feed", "a", "b", np.inf)]
    shorts: list[Branch] = []
    joined = {"0": "0"}

    def root(node: str) -> str:
        while joined.setdefault(node, node) != node:
            node = joined[node]
        return node

    for branch in branches:
        # a ring of dead shorts has no single solution
        if branch.ohms == 0:
            a, b = root(branch.node_a), root(branch.node_b)
            if a == b:
                continue
            joined[a] = b
        shorts.append(branch)
    return Network.of([*shorts, Branch("source", name(0, 1), name(1, 0), np.inf)], {"source": 0.3})


@pytest.mark.parametrize(("seed", "size", "high"), [(1, 40, 2), (2, 12, 6), (3, 9, 9), (4, 2, 2)])
def test_the_sparse_solution_is_the_dense_one(seed: int, size: int, high: int) -> None:
    network = mesh(seed, size, high)
    sparse, dense = factor_sparsely(network), invert(network)
    ground = len(network.nodes)
    assert np.any(dense.island != ground)
    assert sparse.island.tolist() == dense.island.tolist()
    np.testing.assert_allclose(sparse.x, dense.x, rtol=1e-9, atol=1e-9)
    passive = [k for k, amperes in enumerate(network.amperes) if np.isnan(amperes)]
    nodes = range(len(network.nodes) + 1)
    paths = [(node, ground) for node in nodes] + [(ground, node) for node in nodes]
    paths += [(node, (node * 7 + 1) % ground) for node in range(ground)]
    columns = dense.columns(passive, paths)
    count = len(columns.ohms)
    alone = np.arange(count)[:, None]
    found, wanted = (each.coupling(columns, alone)[:, 0, 0] for each in (sparse, dense))
    np.testing.assert_allclose(found, wanted, rtol=1e-9, atol=1e-12 * np.abs(wanted).max())
    index = np.random.default_rng(seed).integers(count, size=(50, 3))
    index[:20] = index[:20, :1]
    found, wanted = (each.coupling(columns, index) for each in (sparse, dense))
    np.testing.assert_allclose(found, wanted, rtol=1e-9, atol=1e-9)
    q, p = (columns.q_index, columns.q_sign), (columns.p_index, columns.p_sign)
    few = columns.q_index[::9], columns.q_sign[::9]
    np.testing.assert_allclose(sparse.transfer(few, p), dense.transfer(few, p), rtol=1e-9, atol=1e-9)
    few = columns.p_index[::9], columns.p_sign[::9]
    np.testing.assert_allclose(sparse.transfer(q, few), dense.transfer(q, few), rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("name", ["boat_panel", "cluster_bimetal_10v", "temp_bridge"])
def test_a_shipped_circuit_gives_the_same_when_taken_for_a_large_one(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    circuit = find(name)
    gauge = next(iter(circuit.sheet.gauges))
    of_it = f":{gauge}" if len(circuit.sheet.gauges) > 1 else ""
    for check in ("", f"sender_lead_volts{of_it}", f"lamp_on_sender_lead{of_it}", f"sender_ohms{of_it}"):
        applied = find_check(circuit, check) if check else NO_CHECK
        dense = sweep(Situation.of(circuit, "lights_on", applied), count=2)
        with monkeypatch.context() as patch:
            patch.setattr(nodal, "MANY", 10)
            situation = Situation.of(circuit, "lights_on", applied)
            assert isinstance(situation.factored[0], SparselyFactored)
            sparse = sweep(situation, count=2)
        for found, wanted in zip(
            sparse.response.positions.values(), dense.response.positions.values(), strict=True
        ):
            np.testing.assert_allclose(found, wanted, rtol=0, atol=CLOSE)
        if dense.response.reading is not None:
            np.testing.assert_allclose(sparse.response.reading, dense.response.reading, rtol=1e-8, atol=CLOSE)
