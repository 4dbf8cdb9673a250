"""The proof of calibration: the exact identities at 20,000 cases on every shipped circuit, from one run.

    python tests/benchmarks/calibration.py [CASES [WORKERS [CIRCUIT...]]]

For each circuit how often the likeliest fault is right, the calibration error beside what 95 of 100 perfectly
calibrated posteriors stay below, and the identities in standard errors, each of which must lie within 3. A
line is printed as soon as its circuit is done. With the seeds of a report, which nothing was tuned on.
"""

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from gaugesim.circuit import available, find
from gaugesim.evaluate import evaluate

HEAD = f"{'circuit':26}{'top1':>6}{'ece':>8}{'floor':>8}{'alarms':>8}  identities, each within 3     minutes"


def main() -> None:
    words = sys.argv[1:]
    cases, workers = (
        int(words[k]) if len(words) > k else otherwise for k, otherwise in ((0, 20_000), (1, 2))
    )
    names = words[2:] or available()
    print(f"{cases} cases each")
    print(HEAD)
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
        for name in names:
            start = time.perf_counter()
            found = evaluate([find(name)], cases, executor=pool, stress=False, plans=0)
            model, minutes = found.model, (time.perf_counter() - start) / 60
            z = "".join(f"{value:+7.2f}" for value in found.identities.values())
            shares = f"{model.top1:6.3f}{model.ece:8.4f}{model.ece_floor_high:8.4f}{model.none_leads:8.3f}"
            print(f"{name:26}{shares}  {z}  {minutes:8.1f}", flush=True)


if __name__ == "__main__":
    main()
