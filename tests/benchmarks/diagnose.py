"""Cold `gaugesim diagnose` on each shipped case against the start of numpy and scipy.linalg, from one run.

    python tests/benchmarks/diagnose.py [RUNS]

Medians of whole processes, their processor time and the clock; the two are taken in turns, so that a busy
machine slows both. Both find their modules compiled, as those of an installed program are.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
YARDSTICK = [sys.executable, "-c", "import numpy, scipy.linalg"]


def timed(command: list[str], environment: dict[str, str]) -> tuple[float, float]:
    """Processor time and clock of one process [s]."""
    before, start = os.times(), time.perf_counter()
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL, env=environment)
    clock, after = time.perf_counter() - start, os.times()
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    return spent, clock


def main() -> None:
    """Print the table, with compiled modules in a folder of their own."""
    with tempfile.TemporaryDirectory() as folder:
        table(
            int(sys.argv[1]) if len(sys.argv) > 1 else 7,
            {
                name: value
                for name, value in {**os.environ, "PYTHONPYCACHEPREFIX": folder}.items()
                if name != "PYTHONDONTWRITEBYTECODE"
            },
        )


def table(runs: int, environment: dict[str, str]) -> None:
    """Time every case so many times."""
    print(f"{'case':24} {'processor s':>12} {'clock s':>9} {'ratio':>7} {'clock ratio':>12}")
    for case in sorted((ROOT / "netlists/cases").glob("*.toml")):
        command = [sys.executable, "-m", "gaugesim", "diagnose", str(case)]
        for each in (command, YARDSTICK):
            timed(each, environment)  # the first start compiles
        pairs = [(timed(command, environment), timed(YARDSTICK, environment)) for _ in range(runs)]
        mine, start = (
            [statistics.median(pair[which][k] for pair in pairs) for k in (0, 1)] for which in (0, 1)
        )
        ratios = mine[0] / start[0], mine[1] / start[1]
        print(f"{case.stem:24} {mine[0]:12.2f} {mine[1]:9.2f} {ratios[0]:7.2f} {ratios[1]:12.2f}")


if __name__ == "__main__":
    main()
