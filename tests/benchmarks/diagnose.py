"""How long `gaugesim diagnose` takes: cold on cases, and in a conversation after each answer, from one run.

    python tests/benchmarks/diagnose.py [RUNS]

Cold, on each shipped case and on cases of our own with two of the largest circuits as candidates and pairs of
faults in question: medians of whole processes, their processor time and the clock, against the start of numpy
and scipy.linalg; the two are taken in turns, so that a busy machine slows both. Both find their modules
compiled, as those of an installed program are.

In a conversation, on each shipped circuit and on two candidates: processor time from an answer, drawn from
what may be answered, to the next question, ranking and advice worked out.
"""

import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from gaugesim.circuit import available, find
from gaugesim.conversation import Talk, begin, step, withdraw
from gaugesim.errors import GaugesimError

ROOT = Path(__file__).parents[2]
YARDSTICK = [sys.executable, "-c", "import numpy, scipy.linalg"]
# what is told of two candidate clusters: the candidates, and each entry in the fewest words
TWO_CLUSTERS = {
    "needles_low_feed_read": """
circuit = ["cluster_air_core", "boat_panel"]
gauge = "temperature"
seen = [
  { state = "running_warm", needle = "reads_low" },
  { state = "running_warm", gauge = "fuel", needle = "reads_low" },
  { state = "running_warm", gauge = "oil_pressure", needle = "normal" },
]
measured = [
  { check = "volts_at:stud_feed", state = "key_on_cold", volts = 11.2 },
  { check = "ground_sender_lead", state = "key_on_cold", needle = "three_quarters" },
  { check = "sender_lead_volts", state = "key_on_cold", volts = 9.4 },
]
""",
    "fuel_needle_dead": """
circuit = "cluster_bimetal_*"
gauge = "fuel"
seen = [
  { state = "running_warm", needle = "dead" },
  { state = "running_warm", gauge = "temperature", needle = "normal" },
]
measured = [
  { check = "sender_ohms", ohms = 31 },
  { check = "volts_at:stud_feed", volts = "pulsing" },
  { check = "lamp_on_sender_lead", lamp = "out" },
]
""",
    "oil_needle_jumps": """
circuit = ["cluster_air_core", "cluster_bimetal_5v"]
gauge = "oil_pressure"
seen = [
  { state = "running_warm", needle = "pegged_high", moves = "jumps", often = "sometimes" },
  { state = "running_warm", gauge = "temperature", needle = 0.55 },
  { between = ["lights_off", "lights_on"], gauge = "fuel", needle = "rises" },
]
measured = [
  { check = "unplug_sender", state = "running_warm", needle = "pegged_low" },
  { check = "wiggle:sender_connector", moves = "jumps" },
]
""",
}
# answers in a conversation, and from which seeds they are drawn
ANSWERS, SEEDS = 9, (1, 2, 3)


def timed(command: list[str], environment: dict[str, str]) -> tuple[float, float]:
    """Processor time and clock of one process [s]."""
    before, start = os.times(), time.perf_counter()
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL, env=environment)
    clock, after = time.perf_counter() - start, os.times()
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    return spent, clock


def main() -> None:
    """Print the tables, with compiled modules in a folder of their own."""
    with tempfile.TemporaryDirectory() as folder:
        cases = sorted((ROOT / "netlists/cases").glob("*.toml"))
        for name, text in TWO_CLUSTERS.items():
            cases.append(Path(folder) / f"{name}.toml")
            cases[-1].write_text(text)
        table(
            cases,
            int(sys.argv[1]) if len(sys.argv) > 1 else 7,
            {
                name: value
                for name, value in {**os.environ, "PYTHONPYCACHEPREFIX": folder}.items()
                if name != "PYTHONDONTWRITEBYTECODE"
            },
        )
    print(f"\n{'conversation':36} {'median s':>9} {'longest s':>10}   after an answer, processor time")
    for names in [*([name] for name in available()), ["cluster_air_core", "boat_panel"]]:
        spent = [one for seed in SEEDS for one in conversation(names, seed)]
        print(f"{' or '.join(names):36} {statistics.median(spent):9.2f} {max(spent):10.2f}")


def table(cases: list[Path], runs: int, environment: dict[str, str]) -> None:
    """Time every case so many times."""
    print(f"{'case':24} {'processor s':>12} {'clock s':>9} {'ratio':>7} {'clock ratio':>12}")
    for case in cases:
        command = [sys.executable, "-m", "gaugesim", "diagnose", str(case)]
        for each in (command, YARDSTICK):
            timed(each, environment)  # the first start compiles
        pairs = [(timed(command, environment), timed(YARDSTICK, environment)) for _ in range(runs)]
        mine, start = (
            [statistics.median(pair[which][k] for pair in pairs) for k in (0, 1)] for which in (0, 1)
        )
        ratios = mine[0] / start[0], mine[1] / start[1]
        print(f"{case.stem:24} {mine[0]:12.2f} {mine[1]:9.2f} {ratios[0]:7.2f} {ratios[1]:12.2f}")


def conversation(names: list[str], seed: int) -> list[float]:
    """Processor time from each answer to the next question [s], once there is anything to rank by."""
    choose = random.Random(seed)
    state = begin(Path("case.toml"), [find(name) for name in names])
    spent = []
    for _ in range(ANSWERS):
        start = time.process_time()
        try:
            work_out(state)
        except GaugesimError as error:
            state, _ = withdraw(state, error)
            continue
        if state.ranked:
            spent.append(time.process_time() - start)
        choices = state.question.choices
        state, _ = step(state, str(choose.randint(1, len(choices))) if choices else "2")
    return spent


def work_out(state: Talk) -> None:
    """All that the terminal shows before the next prompt."""
    _ = state.question
    if state.ranked:
        job = state.consultation
        _ = job.diagnosis, job.proof, job.mend, state.advised


if __name__ == "__main__":
    main()
