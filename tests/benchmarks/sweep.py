"""Cost of a scenario in a sweep against ngspice, against writing to memory, and its growth, from one run.

    python tests/benchmarks/sweep.py [RUNS]

Medians of processor time, since a busy machine stretches the clock. Pairs are those of the largest shipped
cluster with one voltmeter check: needles and reading. ngspice is loaded once, alters two resistances and
settles; only the wanted voltages are read, through the library call.
"""

import statistics
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "sweep"))

from ladder import line, line_scenarios

from gaugesim.circuit import Circuit, available, find
from gaugesim.reading import Situation, situation
from gaugesim.reading.correction import Correction
from gaugesim.reading.situation import Decided
from gaugesim.scenario.check import METER, NO_CHECK, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults
from gaugesim.scenario.stack import Scenarios
from gaugesim.solve.change import Factored
from gaugesim.solve.matrix import assemble_sparsely
from gaugesim.solve.network import OPEN_OHMS, SHORT_OHMS, Floats, Network
from gaugesim.solve.sparse import factor_sparsely
from gaugesim.solve.spice.engine import using_engine
from gaugesim.sweep import SEVERITIES, PairSweep, pairs, sweep
from gaugesim.sweep.quick import BLOCK

NODES = 5000
FEW, SHORT_SWEEP, LONG_SWEEP = 300, 9, 1000


@dataclass(frozen=True)
class LineCost:
    """Seconds to solve a line, by the package and by bare factors; for a sweep once and in all; its rows."""

    rows: int
    anew: float
    bare: float
    once: float
    swept: float


def median(work: Callable[[], object], runs: int) -> float:
    """Seconds of the processor that some work takes; once more before that, unmeasured."""
    work()
    seconds = []
    for _ in range(runs):
        start = time.process_time()
        work()
        seconds.append(time.process_time() - start)
    return statistics.median(seconds)


def used_up(rows: Iterable[object]) -> None:
    for _ in rows:
        pass


def quick_pairs(swept: PairSweep) -> int:
    """How many pairs of scenarios go the short way."""
    return sum(len(rows.first) for rows in swept.quick.blocks())


def largest() -> Circuit:
    """The shipped cluster with the most faults."""
    clusters = [find(name) for name in available() if name.startswith("cluster")]
    return max(clusters, key=lambda circuit: len(all_faults(circuit)))


def writing(swept: PairSweep, count: int, kept: bool, runs: int) -> float:
    """Seconds to put as many numbers as the outputs are into memory, in blocks as the sweep has them."""
    outputs = len(swept.place.gauges) + 1
    block = np.random.default_rng(1).random((outputs, BLOCK))

    def write() -> None:
        memory = []
        for start in range(0, count, BLOCK):
            some = np.empty((outputs, min(BLOCK, count - start)))
            some[...] = block[:, : some.shape[1]]
            memory = [*memory, some] if kept else [some]

    return median(write, runs)


def spice_deck(network: Network) -> tuple[str, list[str]]:
    """A network as plain resistors and sources, and a resistor for each branch."""
    nodes = [*(f"n{k}" for k in range(len(network.nodes))), "0"]
    lines, names = ["* pairs"], []
    for k, (ohms, volts) in enumerate(zip(network.ohms, network.volts, strict=True)):
        a, b = (nodes[end] for end in network.ends[k])
        if volts:
            lines.append(f"v{k} {a} m{k} {float(volts)!r}")
            a = f"m{k}"
        value = OPEN_OHMS if np.isinf(ohms) else max(float(ohms), SHORT_OHMS)
        lines.append(f"r{k} {a} {b} {value!r}")
        names.append(f"r{k}")
    return "\n".join([*lines, ".op", ".end", ""]), names


def wanted_nodes(place: Situation) -> list[str]:
    """Nodes from whose voltages all needles and the reading follow."""
    ends = {int(end) for k in place.outputs for end in place.network.ends[k]}
    return [f"n{end}" for end in sorted(ends - {len(place.network.nodes)})]


def ngspice(place: Situation, runs: int) -> tuple[float, float, float]:
    """Seconds for a pair by alter and op, and for a point of a short and of a long sweep of one resistor."""
    text, names = spice_deck(place.network)
    branch = [k for k in range(len(names)) if place.network.names[k] != METER]
    generator = np.random.default_rng(2)
    chosen = [generator.choice(branch, 2, replace=False) for _ in range(FEW)]
    wanted = wanted_nodes(place)
    with using_engine() as engine:
        engine.load(text)

        def operating_points() -> None:
            for one, other in chosen:
                engine.command(f"alter {names[one]} = 47")
                engine.command(f"alter {names[other]} = 0.33")
                engine.operating_point(wanted)

        def points(count: int) -> Callable[[], None]:
            def work() -> None:
                engine.clear()
                engine.command(f"dc {names[branch[3]]} 1 100 {99 / (count - 1)!r}")
                for node in wanted:
                    engine.vector(node)

            return work

        pair = median(operating_points, runs) / FEW
        return pair, *(median(points(n), runs) / n for n in (SHORT_SWEEP, LONG_SWEEP))


def line_faults(network: Network, severities: int, runs: int) -> LineCost:
    """What all single faults of a line cost, and a solution of it, by turns: a busy machine slows all."""
    from scipy.sparse.linalg import splu

    rows = line_scenarios(network, severities)
    one = replace(
        rows, source=rows.source[:1], severity=rows.severity[:1], column=rows.column[:1], ohms=rows.ohms[:1]
    )
    matrix, right, _ = assemble_sparsely(network)
    coil = [network.branch("coil")]

    def faults(some: Scenarios, solved: Factored) -> Floats:
        # as `gaugesim sweep` does it
        return Correction(solved, coil, some, Decided(frozenset(), False)).currents()

    ready: list[Factored] = []
    works: list[Callable[[], object]] = [
        lambda: ready.append(factor_sparsely(network)),
        lambda: splu(matrix).solve(right),
        # all that does not depend on how many faults and severities there are: with one row of them
        lambda: faults(one, ready.pop()),
        lambda: ready.append(factor_sparsely(network)),
        lambda: faults(rows, ready.pop()),
    ]
    seconds = np.empty((runs + 1, len(works)))
    for run in range(runs + 1):
        for k, work in enumerate(works):
            start = time.process_time()
            work()
            seconds[run, k] = time.process_time() - start
    anew, bare, once, again, swept = np.median(seconds[1:], axis=0)
    return LineCost(len(rows), (anew + again) / 2, bare, once, swept)


def report_pairs(runs: int) -> None:
    circuit = largest()
    check = next(name for name in check_ids(circuit) if name.startswith("sender_lead_volts"))
    place = situation(circuit, None, find_check(circuit, check))
    swept = pairs(place)
    count = quick_pairs(swept)
    short = median(lambda: used_up(swept.quick.blocks()), runs)
    whole = median(lambda: used_up(swept.blocks()), max(3, runs // 3))
    first = median(lambda: used_up(pairs(situation(circuit, None, place.check)).quick.blocks()), runs)
    print(f"{circuit.id}, {check}: {len(place.network.nodes)} nodes, {len(place.network.names)} branches")
    print(
        f"{len(swept.faults)} faults, {len(swept)} pairs with their severities, {count} of them the short way"
    )
    pair = whole / len(swept)
    print(f"a pair, short way            {short / count * 1e9:10.1f} ns")
    print(f"the same, all set-up counted {first / count * 1e9:10.1f} ns")
    print(f"a pair, all pairs            {pair * 1e9:10.1f} ns; all of them {whole:.3f} s")
    for words, kept in (("all of it kept", True), ("block by block", False)):
        taken = median(
            lambda k=kept: used_up(list(swept.quick.blocks()) if k else swept.quick.blocks()), runs
        )
        written = writing(swept, count, kept, runs)
        print(
            f"{words:15} {taken / count * 1e9:6.1f} ns a pair, merely writing its outputs "
            f"{written / count * 1e9:6.1f} ns: {taken / written:6.1f} x (target 5)"
        )
    for words, seconds, target in zip(
        ("alter and op", f".dc, {SHORT_SWEEP} points", f".dc, {LONG_SWEEP} points"),
        ngspice(place, runs),
        (1000, 100, 100),
        strict=True,
    ):
        ratio = seconds / pair
        print(
            f"ngspice, {words:22} {seconds * 1e6:8.2f} us:        a pair is {ratio:9.0f} x cheaper "
            f"(target {target})"
        )


def report_line(runs: int) -> None:
    print("\nline with a lamp at every post: every branch open or poor, every node dead or poorly to ground")
    print("all of it: from the network to the needle's current; at hand: without its own solution")
    print(
        f"{'nodes':>6} {'faults':>7} {'rows':>7} {'solve anew':>11} {'bare':>8} {'once':>8} {'all rows':>9} "
        f"{'a row, all of it':>17} {'ratio':>7} {'bare':>6} {'at hand':>8}"
    )
    for nodes in (1000, 2000, NODES, 4 * NODES):
        network = line(nodes)
        for severities in (0, SEVERITIES):
            cost = line_faults(network, severities, max(5, runs))
            each = (cost.anew + cost.swept) / cost.rows
            print(
                f"{nodes:6} {cost.rows // (severities + 1):7} {cost.rows:7} {cost.anew * 1e3:8.1f} ms "
                f"{cost.bare * 1e3:5.1f} ms {cost.once * 1e3:5.1f} ms {cost.swept * 1e3:6.1f} ms "
                f"{each * 1e9:14.0f} ns {cost.anew / each:7.0f} {cost.bare / each:6.0f} "
                f"{cost.anew / cost.swept * cost.rows:8.0f}"
            )


def report_growth(runs: int) -> None:
    print("\ngrowth: a pair the short way, needles only")
    for name in ("temp_two_coil", "boat_two_station", "cluster_air_core", "boat_panel"):
        swept = pairs(situation(find(name)))
        seconds, count = median(lambda s=swept: used_up(s.quick.blocks()), runs), quick_pairs(swept)
        nodes, gauges = len(swept.place.network.nodes), len(swept.place.gauges)
        print(f"  {name:18} {nodes:3} nodes {gauges} needles {count:8} pairs {seconds / count * 1e9:8.1f} ns")
    circuit = find("cluster_air_core")
    faults = all_faults(circuit)
    for some in (45, 90, len(faults)):
        swept = pairs(situation(circuit), faults[:some])
        seconds, count = median(lambda s=swept: used_up(s.quick.blocks()), runs), quick_pairs(swept)
        print(f"  {some:4} faults                      {count:8} pairs {seconds / count * 1e9:8.1f} ns")
    for severities in (2, 5, 10, 20):
        swept = pairs(situation(circuit), count=severities)
        seconds, count = (
            median(lambda s=swept: used_up(s.quick.blocks()), max(3, runs // 3)),
            quick_pairs(swept),
        )
        print(f"  {severities:4} severities                  {count:8} pairs {seconds / count * 1e9:8.1f} ns")
    print("growth: all single faults, cold")
    checks = [
        NO_CHECK,
        *(find_check(circuit, name) for name in check_ids(circuit) if name.startswith("volts")),
    ]
    for some in (1, 4, len(checks)):

        def cold(number: int = some) -> None:
            for check in checks[:number]:
                sweep(situation(circuit, None, check))

        rows = len(sweep(situation(circuit)).scenarios)
        seconds = median(cold, max(3, runs // 3))
        print(f"  {some:4} checks {some * rows:29} rows  {seconds / some / rows * 1e9:8.1f} ns")


def main() -> None:
    """Print the figures."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    report_pairs(runs)
    report_line(runs)
    report_growth(runs)


if __name__ == "__main__":
    main()
