"""The proof of calibration: identities and stress worlds on every shipped circuit, from one run.

    python tests/benchmarks/calibration.py [CASES [STRESS_CASES [WORKERS [CIRCUIT...]]]]

First line of a circuit: how often the likeliest fault is right, the calibration error beside what 95 of 100
perfectly calibrated posteriors stay below, how often "none of these" leads falsely with the limits of that
(95 of 100), and the identities in standard errors, each of which must lie within 3. Then each world that
differs from what the program believes: by how much the log score beats the prior's, the same in the worst
kind of fault and how many standard errors that is; of faults that no sheet lists, how often "none of these"
leads where they can be told from listed ones. With the seeds of a report, which nothing was tuned on.
"""

import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from gaugesim.circuit import available, find
from gaugesim.evaluation import Summary, evaluate
from gaugesim.evaluation.summary import Counted

HEAD = (
    f"{'circuit':24}{'top1':>6}{'ece':>8}{'floor':>8}{'false alarms':>20}  "
    "identities, each within 3     minutes"
)


def main() -> None:
    words = sys.argv[1:]
    usual = enumerate((20_000, 2000, 2))
    cases, stress, workers = (int(words[k]) if len(words) > k else otherwise for k, otherwise in usual)
    print(f"{cases} cases each, {stress} in each world of stress")
    print(HEAD)
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
        for name in words[3:] or available():
            start = time.perf_counter()
            found = evaluate([find(name)], cases, executor=pool, stress=stress / cases, plans=0)
            model, minutes = found.model, (time.perf_counter() - start) / 60
            z = "".join(f"{value:+7.2f}" for value in found.identities.values())
            shares = f"{model.top1:6.3f}{model.ece:8.4f}{model.ece_floor_high:8.4f}"
            alarms = share(model.none_leads)
            print(f"{name:24}{shares}{alarms:>20}  {z}  {minutes:8.1f}", flush=True)
            for world, summary in found.stress.items():
                print("\n".join(stress_lines(world, summary)), flush=True)


def share(counted: Counted) -> str:
    """A share and its limits."""
    return f"{counted.share:.3f} ({counted.limits[0]:.3f}-{counted.limits[1]:.3f})"


def stress_lines(world: str, summary: Summary) -> Iterator[str]:
    """What one world comes to."""
    if summary.distinguishable is not None:
        known = summary.none_leads_distinguishable
        led = "" if known is None else f": none leads {share(known)} of {known.cases}"
        yield f"  {world:22}{100 * summary.distinguishable:5.1f} % distinguishable{led}"
        return
    worst = min(summary.strata.items(), key=lambda item: item[1].gain, default=None)
    told = ""
    if worst is not None:
        name, gain = worst
        told = f"; least {gain.gain:+.2f} ({gain.gain / gain.error:+.1f} errors, {gain.cases}): {name}"
    better = summary.prior_log_score - summary.log_score
    alarms = share(summary.none_leads)
    yield f"  {world:22}{better:+5.2f} nat over the prior{told}; none leads {alarms}"


if __name__ == "__main__":
    main()
