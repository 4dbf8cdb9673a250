"""Hostile inputs, as many as one has time for.

    python tests/benchmarks/hostile.py [COUNT] [SEED]

Prints how many of each kind were tried, which broke the program, and the slowest; status 1 if any did.
"""

import sys
import tempfile
import time
import traceback
import warnings
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile_inputs import KINDS, attempt


def main(count: int, first: int) -> int:
    """Try so many inputs, beginning with a seed."""
    warnings.simplefilter("error")
    broke = 0
    with tempfile.TemporaryDirectory() as folder:
        for kind in KINDS:
            slowest = (0.0, first)
            for seed in range(first, first + count // len(KINDS)):
                start = time.perf_counter()
                try:
                    attempt(kind, seed, Path(folder))
                except Exception:
                    broke += 1
                    print(f"{kind} {seed} broke:\n{traceback.format_exc(limit=-3)}", flush=True)
                slowest = max(slowest, (time.perf_counter() - start, seed))
            print(
                f"{count // len(KINDS)} of {kind}, the slowest {slowest[0]:.2f} s ({slowest[1]})", flush=True
            )
    return 1 if broke else 0


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    raise SystemExit(main(*(given + [50_000, 0][len(given) :])))
