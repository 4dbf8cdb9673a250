"""What learners of every kind lose, and their marks, on every shipped circuit, from one run.

    python tests/benchmarks/learners.py [LEVEL [SEEDS [FIRST_SEED [CIRCUIT...]]]]
    python tests/benchmarks/learners.py order [LEVELS [SEEDS [FIRST_SEED [CIRCUIT...]]]]

The first prints the minutes that the decisions of a learner are expected to lose, the mean over the seeds; at
the end over all circuits, with the standard error. Then the mean score of each seed, which is to be much the
same for all. The second prints the mean score of each circuit and level, and marks those where the learners
do not come out in the order an instructor would give; LEVELS are figures, such as 135. A task takes five to
ten seconds of processor time, so give one circuit at a time.
"""

import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from lessons.learners import INSTRUCTORS_ORDER, LEARNERS, courses

from gaugesim.circuit import available, find
from gaugesim.lessons.debriefing import debrief
from gaugesim.lessons.task import LEVELS, set_task


def main() -> None:
    words = sys.argv[1:]
    if words[:1] == ["order"]:
        count, first = (int(words[k]) if len(words) > k else otherwise for k, otherwise in ((2, 9), (3, 100)))
        levels = [int(each) for each in words[1]] if len(words) > 1 else LEVELS
        order(levels, range(first, first + count), words[4:] or list(available()))
    else:
        regrets(words)


def order(levels: Sequence[int], seeds: range, circuits: list[str]) -> None:
    """Mean scores of every circuit and level, in the order an instructor would give.

    One task says little: what a learner has more than the next differs from task to task by as much as it is
    on average. With nine tasks its mean is three standard errors, so that chance decides in one circuit and
    level of several hundred.
    """
    print(f"mean score, seeds {seeds.start} to {seeds.stop - 1}")
    print(f"{'':30}" + "".join(f"{name:>16}" for name in INSTRUCTORS_ORDER))
    wrong, steps = 0, []
    for level in levels:
        for name in circuits:
            told = np.array([row(name, seed, level, INSTRUCTORS_ORDER) for seed in seeds])[..., 1]
            means = told.mean(axis=0)
            steps.append(-np.diff(told, axis=1))
            upset = bool(np.any(np.diff(means) >= 0))
            wrong += upset
            line = "".join(f"{value:16.1f}" for value in means)
            print(f"level {level} {name:22}{line}{'  not in order' if upset else ''}", flush=True)
    print(f"{wrong} of {len(steps)} not in order")
    every = np.concatenate(steps)
    error = every.std(axis=0, ddof=1) / np.sqrt(len(every))
    for first, then, mean, wide in zip(
        INSTRUCTORS_ORDER[:-1], INSTRUCTORS_ORDER[1:], every.mean(axis=0), error, strict=True
    ):
        print(f"{first} over {then}: {mean:.1f} +-{wide:.1f}, {len(every)} tasks")


def regrets(words: list[str]) -> None:
    """Minutes that each learner loses on every circuit, with one level."""
    usual = enumerate((2, 3, 100))
    level, count, first = (int(words[k]) if len(words) > k else otherwise for k, otherwise in usual)
    seeds = range(first, first + count)
    print(f"level {level}, seeds {seeds.start} to {seeds.stop - 1}")
    print(f"{'minutes lost':24}" + "".join(f"{name:>25}" for name in LEARNERS))
    lost, scores = [], []
    for name in words[3:] or available():
        told = np.array([row(name, seed, level, tuple(LEARNERS)) for seed in seeds])
        lost.append(told[..., 0])
        scores.append(told[..., 1])
        print(f"{name:24}" + "".join(f"{value:25.1f}" for value in lost[-1].mean(axis=0)), flush=True)
    tasks = np.concatenate(lost)
    error = tasks.std(axis=0, ddof=1) / np.sqrt(len(tasks))
    means = zip(tasks.mean(axis=0), error, strict=True)
    print(f"{'all':24}" + "".join(f"{value:17.1f} +-{wide:5.1f}" for value, wide in means))
    for seed, means in zip(seeds, np.mean(scores, axis=0), strict=True):
        print(f"{f'score, seed {seed}':24}" + "".join(f"{value:25.1f}" for value in means))


def row(name: str, seed: int, level: int, learners: tuple[str, ...]) -> list[tuple[float, float]]:
    """Regret [min] and score of learners with one task."""
    circuit = find(name)
    task = set_task(circuit, circuit.gauge().id, seed, level)
    result = []
    for learner in learners:
        *_, course = courses(task, LEARNERS[learner])
        told = debrief(course)
        result.append((told.regret_minutes, told.score))
    return result


if __name__ == "__main__":
    main()
