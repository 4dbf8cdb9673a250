"""Both engines on the whole product: every circuit x state x check x fault x severity.

    python tests/benchmarks/engines.py [CIRCUIT ...]

Prints how far they are apart at worst, and where. The tests look at a part of it (tests/invariants/engines.py
says which); the whole takes the better part of an hour.
"""

from __future__ import annotations

import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from invariants.engines import examine

from gaugesim.circuit import available


def main(names: list[str]) -> None:
    for name in names or available():
        start = perf_counter()
        ledger, networks = examine(name, whole=True)
        asked = ledger.counts["duty"]
        print(
            f"{name}: {asked} answers from {networks} networks in {perf_counter() - start:.0f} s", flush=True
        )
        for kind, (value, where) in ledger.worst.items():
            print(f"  {kind:20} {value:8.1e}  {where}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
