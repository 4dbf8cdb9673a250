"""The ranking on real complaints with known endings: ``python tests/benchmarks/complaints.py``.

Prints a line for all cases, for each kind of evidence, movement and tier, then rivals, and how often each
kind of part was the fault beside its share in the sheets; ``--worst N`` adds those it is least sure of,
``--folds`` how the one figure that was taken from these cases does on cases that it was not taken from.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from real_cases import rivals
from real_cases.scoring import Answer, Score, endings, fits, ranked, score, summary

from gaugesim.circuit import available, find
from gaugesim.evidence import likelihood
from gaugesim.scenario.fault import all_faults

# how often memory may slip: what is tried in five folds
SLIPS, FOLDS = (0.03, 0.05, 0.08, 0.12), 5


def line(title: str, scores: Sequence[Score]) -> str:
    """Counts and means of some scores."""
    one = summary(scores)
    return (
        f"{title:28s} n {one['cases']:3.0f}  first {one['first']:3.0f}  in three {one['in_three']:3.0f}  "
        f"log2 {one['bits']:6.2f}  below 1 % {one['below_one_percent']:2.0f}"
    )


def answered(ask: Callable[[str], Answer], names: Iterable[str]) -> list[Score]:
    """Scores of every case by one way of answering, on all processors."""
    names = list(names)
    with ProcessPoolExecutor() as pool:
        answers = list(pool.map(ask, names, chunksize=4))
    return [score(endings()[name], answer) for name, answer in zip(names, answers, strict=True)]


def parts() -> Iterable[str]:
    """How often each kind of part was the fault, beside its share on the shipped circuits that have one."""
    told: dict[str, float] = defaultdict(float)
    share: dict[str, list[float]] = defaultdict(list)
    for name in available():
        faults = all_faults(find(name))
        whole = sum(fault.weight for fault in faults)
        by_kind: dict[str, float] = defaultdict(float)
        for fault in faults:
            by_kind[fault.part.kind] += fault.weight / whole
        for kind, part in by_kind.items():
            share[kind].append(part)
    for ending in endings().values():
        kinds = {
            fault.part.kind
            for name in available()
            for fault in all_faults(find(name))
            if fits(fault.id, ending.accept)
        }
        for kind in kinds:
            told[kind] += 1 / len(kinds)
    for kind in sorted(share, key=lambda one: -told[one]):
        mean = sum(share[kind]) / len(share[kind])
        yield f"{kind:20s} stories {told[kind] / len(endings()):5.1%}  sheets {mean:5.1%} where there is one"


def with_slip(slip: float, name: str) -> Answer:
    """What the program ranks if what an owner remembers is a slip so often."""
    likelihood.SLIP_OF_MEMORY = slip
    return ranked(name)


def folds() -> Iterable[str]:
    """How often memory slips, from four fifths of the cases: what that gains on these and on the rest."""
    bits = {slip: [one.bits for one in answered(partial(with_slip, slip), endings())] for slip in SLIPS}
    chosen, inside, outside = [], 0.0, 0.0
    count = len(endings())
    for fold in range(FOLDS):
        held = set(range(fold, count, FOLDS))
        told = {slip: [bit for i, bit in enumerate(row) if i not in held] for slip, row in bits.items()}
        best = max(SLIPS, key=lambda slip: sum(told[slip]))
        chosen.append(best)
        inside += sum(told[best]) / len(told[best]) / FOLDS
        outside += sum(bits[best][i] for i in held) / count
    yield "slips of memory " + ", ".join(f"{slip:g}: {sum(row) / count:.3f}" for slip, row in bits.items())
    yield f"chosen in {FOLDS} folds {chosen}: {inside:.3f} on the cases chosen by, {outside:.3f} held out"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--worst", type=int, default=0)
    parser.add_argument("--folds", action="store_true")
    arguments = parser.parse_args()
    scores = answered(ranked, endings())
    print(line("all", scores))
    for key in ("evidence", "movement", "tier"):
        for value in sorted({getattr(one.ending, key) for one in scores}):
            print(line(f"{key} {value}", [one for one in scores if getattr(one.ending, key) == value]))
    print(line("rival: shares alone", answered(rivals.shares, endings())))
    print(line("rival: symptom chart", answered(rivals.chart, endings())))
    print(*parts(), sep="\n")
    if arguments.folds:
        print(*folds(), sep="\n")
    for one in sorted(scores, key=lambda one: one.probability)[: arguments.worst]:
        print(f"{one.ending.id:46s} {one.probability:.3f} rank {one.rank} first {one.top}")


if __name__ == "__main__":
    main()
