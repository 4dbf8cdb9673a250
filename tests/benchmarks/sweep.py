"""Cost of a pair of faults in a sweep against ngspice, and its growth, from one run.

    python tests/benchmarks/sweep.py [RUNS]

Medians of processor time, since a busy machine stretches the clock. Pairs are all those of the largest
circuits: needles alone, with a voltmeter, with a test lamp, with an ohmmeter. ngspice is loaded once, alters
two resistances and settles; only the wanted voltages are read, through the library call.
"""

import statistics
import sys
import time
from collections.abc import Callable, Iterable

import numpy as np

from gaugesim.circuit import find
from gaugesim.reading import Situation
from gaugesim.scenario.check import METER, NO_CHECK, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults
from gaugesim.solve.network import OPEN_OHMS, SHORT_OHMS, Network
from gaugesim.solve.spice.ngspice import using_engine
from gaugesim.sweeps import pairs, sweep

FEW, SHORT_SWEEP, LONG_SWEEP = 300, 9, 1000
LARGEST = ("cluster_bimetal_5v", "cluster_air_core", "boat_panel")
KINDS = ("", "sender_lead_volts", "lamp_at", "ohms_across")


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


def wanted_nodes(situation: Situation) -> list[str]:
    """Nodes from whose voltages all needles and the reading follow."""
    ends = {int(end) for k in situation.outputs for end in situation.network.ends[k]}
    return [f"n{end}" for end in sorted(ends - {len(situation.network.nodes)})]


def ngspice(situation: Situation, runs: int) -> tuple[float, float, float]:
    """Seconds for a pair by alter and op, and for a point of a short and of a long sweep of one resistor."""
    text, names = spice_deck(situation.network)
    branch = [k for k in range(len(names)) if situation.network.names[k] != METER]
    generator = np.random.default_rng(2)
    chosen = [generator.choice(branch, 2, replace=False) for _ in range(FEW)]
    wanted = wanted_nodes(situation)
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


def places(name: str) -> list[Situation]:
    """A circuit with one check of each kind."""
    circuit = find(name)
    known = check_ids(circuit)
    first = [next(check for check in known if check.startswith(kind)) if kind else "" for kind in KINDS]
    return [Situation.of(circuit, None, find_check(circuit, check) if check else NO_CHECK) for check in first]


def report_pairs(runs: int) -> None:
    print("all pairs: again, and with all set-up counted; ngspice by alter and op, and points of a .dc sweep")
    for name in LARGEST:
        for place in places(name):
            swept = pairs(place)
            count = len(swept)
            again = median(lambda s=swept: used_up(s.blocks()), runs) / count
            first = median(lambda p=place: used_up(pairs(p).blocks()), runs) / count
            print(f"{name} {place.check.id or 'needles'}, {count} pairs:", end=" ")
            print(f"{again * 1e9:.0f} ns, with set-up {first * 1e9:.0f} ns", end="; ")
            if place.has_lamp:
                print("a lamp takes ngspice three operating points")
                continue
            altered, short, long = ngspice(place, max(3, runs // 3))
            print(f"ngspice {altered * 1e6:.1f} us, {altered / again:.0f} x;", end=" ")
            print(f".dc {SHORT_SWEEP} points {short / again:.0f} x, {LONG_SWEEP} points {long / again:.0f} x")


def report_growth(runs: int) -> None:
    print("growth: all pairs, needles only")
    circuit = find("cluster_air_core")
    faults = all_faults(circuit)
    for some in (45, 90, len(faults)):
        swept = pairs(Situation.of(circuit), faults[:some])
        seconds, count = median(lambda s=swept: used_up(s.blocks()), runs), len(swept)
        print(f"  {some:4} faults      {count:8} pairs {seconds / count * 1e9:8.1f} ns")
    for severities in (2, 5, 10, 20):
        swept = pairs(Situation.of(circuit), count=severities)
        seconds, count = median(lambda s=swept: used_up(s.blocks()), max(3, runs // 3)), len(swept)
        print(f"  {severities:4} severities  {count:8} pairs {seconds / count * 1e9:8.1f} ns")
    print("growth: all single faults, cold")
    checks = [
        NO_CHECK,
        *(find_check(circuit, name) for name in check_ids(circuit) if name.startswith("volts")),
    ]
    for some in (1, 4, len(checks)):

        def cold(number: int = some) -> None:
            for check in checks[:number]:
                sweep(Situation.of(circuit, None, check))

        rows = len(sweep(Situation.of(circuit)).scenarios)
        seconds = median(cold, max(3, runs // 3))
        print(f"  {some:4} checks {some * rows:13} rows  {seconds / some / rows * 1e9:8.1f} ns")


def main() -> None:
    """Print the figures."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    report_pairs(runs)
    report_growth(runs)


if __name__ == "__main__":
    main()
