"""How good the planner is, and how quick, all from one run.

    python tests/benchmarks/planner.py family [INSTANCES]
    python tests/benchmarks/planner.py circuits
    python tests/benchmarks/planner.py cores [EACH] [CIRCUIT...]
    python tests/benchmarks/planner.py twenty [EACH] [CIRCUIT...]
    python tests/benchmarks/planner.py complaints [EACH] [CIRCUIT...]
    python tests/benchmarks/planner.py decisions [POSTERIORS]

``family``: random problems of 20 faults, 12 checks, 4 places, two set-ups, checks that cannot err and checks
that can; expected minutes over the optimum. Every rule is followed over every outcome, not sampled. Where
checks can err the optimum is that of plans which end with repairs; the planner is shown once under the same
restriction, and once free to check again after a repair, which may beat that optimum. There a state that is
reached in fewer than 3 of 1000 cases is finished by a simple rule.

``circuits``: the same for each shipped circuit and case, over a certified lower bound.

``cores``: for complaints drawn on each circuit, cut down until the optimum can be computed: the likeliest
repairs with all their faults, and the checks that tell most about them. The planner looks ahead there as it
does on the whole job, and plans nothing exactly. Beside that, over the optimum as well, the planner as it is
and two bounds, and the planner on the whole job over a bound.

``twenty``: the same complaints cut down as far as the random problems are: the twenty likeliest repairs with
all their faults and the ten or so checks that tell most about them, over the optimum of plans which end with
repairs. The planner looks no closer there than on the whole job.

``complaints``: the same for complaints drawn on each circuit, as they come, and once the planner's own checks
have left few suspects. There the bound looks at some of the first steps one by one.

``decisions``: time of one decision after the tables are there, over random posteriors of each circuit.
"""

import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from random_problems import SETUPS, random_problem

from gaugesim import case as cases
from gaugesim import circuit as circuits
from gaugesim.advice.jobs import Job, job
from gaugesim.diagnosis import diagnose
from gaugesim.evaluation.block import CaseBlock
from gaugesim.evaluation.plans import compare_reduced, drawn_case
from gaugesim.planning import (
    CHECK,
    Belief,
    Planner,
    Problem,
    expected_minutes,
    lower_bound,
    next_action,
    start,
)
from gaugesim.planning.comparison import RULES, Comparison, compare
from gaugesim.planning.decide import FEW_FAULTS, NEARLY_ALL
from gaugesim.planning.policies import LeastMinutesNext
from gaugesim.planning.problem import after_check, after_repair
from gaugesim.planning.reduced_problem import reduced

CASES = Path(__file__).parents[2] / "netlists/cases"
# states reached less often are finished by a simple rule
ERRING_LEAST, CIRCUIT_LEAST, COMPLAINT_LEAST = 0.003, 0.003, 0.001
# how much of a posterior random checks have settled
MOST_CHECKS_SEEN = 4
# of drawn complaints: their seed, and steps until few suspects are left
SEED, MOST_STEPS = 77, 15
# of those that are cut down: another seed, what is finished by a simple rule on the whole job, and columns
REDUCED_SEED, WHOLE_LEAST = 78, 0.01
# of those that are cut down as far as the random problems are
TWENTY, TWENTY_ENTRIES = 20, 4e6
REDUCED_COLUMNS = ["mean", "worst", "avoidable", "worst", "as it is", "worst", "bound", "whole"]
# as many of each circuit, if it is not said
COMPLAINTS = 20


def jobs() -> Iterator[tuple[str, Job]]:
    """Every shipped case, and every gauge of every shipped circuit with nothing seen."""
    for path in sorted(CASES.glob("*.toml")):
        yield path.stem, job(diagnose(cases.read(path)))
    for name in circuits.available():
        for gauge in circuits.find(name).sheet.gauges:
            case = cases.parse({"circuit": name, "gauge": gauge}, Path(name))
            yield f"{name} {gauge}", job(diagnose(case))


def family(instances: int) -> None:
    """Print mean and worst ratio of the planner and the mean of the rules."""
    _head("checks, set-ups")
    for erring in (False, True):
        for setups in SETUPS:
            problems = [random_problem(seed, setups, erring=erring) for seed in range(instances)]
            least = ERRING_LEAST if erring else 0.0
            found = [compare(problem, None, least, repairs_last=erring) for problem in problems]
            _row(f"{'can err' if erring else 'cannot err'}, {setups}", found)
            if erring:
                free = [
                    compare(problem, None, least, best=(entry.least, True))
                    for problem, entry in zip(problems, found, strict=True)
                ]
                _row("  free to check again", free)


def _head(what: str) -> None:
    print(f"{what:30}{'mean':>8}{'worst':>8}{'avoidable':>11}{'worst':>8}", end="")
    print("".join(f"{name:>24}" for name in RULES))


def _row(name: str, found: list[Comparison]) -> None:
    ratio = np.array([entry.ratio for entry in found])
    avoidable = np.array([entry.avoidable_ratio for entry in found])
    print(
        f"{name:30}{ratio.mean():8.4f}{ratio.max():8.4f}{avoidable.mean():11.4f}{avoidable.max():8.4f}",
        end="",
    )
    for rule in RULES:
        print(f"{np.mean([getattr(entry, rule) / entry.least for entry in found]):24.3f}", end="")
    print(flush=True)


def on_circuits() -> None:
    """Print the same for every shipped case and circuit."""
    print(
        f"{'case or circuit':34}{'planner':>8}{'least':>8}{'proven':>8}{'ratio':>8}{'avoidable':>11}", end=""
    )
    print("".join(f"{name:>24}" for name in RULES))
    for name, work in jobs():
        found = compare(work.problem, None, CIRCUIT_LEAST)
        proven = "yes" if found.proven else "bound"
        print(f"{name:34}{found.planner:8.1f}{found.least:8.1f}{proven:>8}{found.ratio:8.3f}", end="")
        print(f"{found.avoidable_ratio:11.3f}", end="")
        print("".join(f"{getattr(found, rule):24.1f}" for rule in RULES), flush=True)


def on_complaints(each: int, names: list[str]) -> None:
    """Print the same for complaints that are drawn, as they come and with few suspects left."""
    print(f"{'complaint':34}{'suspects':>9}{'planner':>8}{'least':>8}{'ratio':>8}{'avoidable':>11}", end="")
    print("".join(f"{name:>24}" for name in RULES))
    ratios: dict[str, list[float]] = {"as it comes": [], "few suspects": []}
    for name in names or circuits.available():
        circuit = circuits.find(name)
        for number in range(each):
            told = drawn_case(CaseBlock(circuit, "model", 1, SEED, number))
            problem = job(diagnose(told, [circuit])).problem
            states = [start(problem), few_suspects(problem, np.random.default_rng(number))]
            for kind, state in zip(ratios, states, strict=True):
                if state is None:
                    continue
                found = compare(problem, state, COMPLAINT_LEAST, best=(1.0, False))
                least = lower_bound(problem, state)
                found = replace(found, least=least)
                ratios[kind].append(found.ratio)
                print(f"{f'{name} {number} {kind}':34}{suspects(state):9}{found.planner:8.1f}", end="")
                print(f"{least:8.1f}{found.ratio:8.3f}{found.avoidable_ratio:11.3f}", end="")
                print("".join(f"{getattr(found, rule):24.1f}" for rule in RULES), flush=True)
    for kind, found_ratios in ratios.items():
        if found_ratios:
            print(f"{kind}: mean {np.mean(found_ratios):.4f}, worst {max(found_ratios):.4f}")


def on_cores(each: int, names: list[str]) -> None:
    """Print the planner, the rules and the bounds over the optimum, for cores of complaints."""
    print(f"{'circuit, complaints':30}" + "".join(f"{name:>11}" for name in REDUCED_COLUMNS), end="")
    print("".join(f"{name:>24}" for name in RULES))
    every: list[list[float]] = []
    for name, problems in drawn(each, names):
        rows = [core_row(problem) for problem in problems]
        every += rows
        core_line(f"{name}, {each}", rows)
    core_line(f"all, {len(every)}", every)


def drawn(each: int, names: list[str]) -> Iterator[tuple[str, list[Problem]]]:
    """The jobs of drawn complaints, circuit by circuit."""
    for name in names or circuits.available():
        circuit = circuits.find(name)
        tasks = [CaseBlock(circuit, "model", 1, REDUCED_SEED, number) for number in range(each)]
        yield name, [job(diagnose(drawn_case(task), [circuit])).problem for task in tasks]


def on_twenty(each: int, names: list[str]) -> None:
    """Print the planner and the rules over the optimum, for twenty repairs of each complaint."""
    _head("circuit, complaints")
    every: list[Comparison] = []
    for name, problems in drawn(each, names):
        found = [compare_reduced(problem, TWENTY, TWENTY_ENTRIES, repairs_last=True) for problem in problems]
        every += found
        _row(f"{name}, {each}", found)
    _row(f"all, {len(every)}", every)


def core_row(problem: Problem) -> list[float]:
    """Of the core of a job, as ratios: the planner, bounds and rules; of the whole job the planner's."""
    found, small = compare_reduced(problem), reduced(problem)
    as_it_is = expected_minutes(small, Planner(), None, ERRING_LEAST, LeastMinutesNext())
    bound = lower_bound(small) / found.least
    whole = expected_minutes(problem, Planner(), None, WHOLE_LEAST, LeastMinutesNext(6)) / lower_bound(
        problem
    )
    rules = [getattr(found, rule) / found.least for rule in RULES]
    return [found.ratio, found.avoidable_ratio, as_it_is / found.least, bound, whole, *rules]


def core_line(name: str, rows: list[list[float]]) -> None:
    """Print what rows come to: mean and worst, of bounds and rules the mean."""
    mean, worst = np.mean(rows, axis=0), np.max(rows, axis=0)
    ratios = [value for k in range(3) for value in (mean[k], worst[k])]
    print(f"{name:30}" + "".join(f"{value:11.4f}" for value in [*ratios, *mean[3:5]]), end="")
    print("".join(f"{value:24.3f}" for value in mean[5:]), flush=True)


def suspects(state: Belief) -> int:
    """How many faults hold nearly all of the probability."""
    weight = np.sort(state.weight)[::-1]
    return int((np.cumsum(weight) < NEARLY_ALL * weight.sum()).sum()) + 1


def few_suspects(problem: Problem, random: np.random.Generator) -> Belief | None:
    """Where the planner's steps lead until few suspects are left; None if that does not come about."""
    state = start(problem)
    fault = random.choice(problem.faults, p=problem.weight / problem.weight.sum())
    for _ in range(MOST_STEPS):
        if suspects(state) <= FEW_FAULTS:
            return state
        step = next_action(problem, state).step
        if step.kind == CHECK:
            state = after_check(problem, state, step.number, shown(problem, step.number, fault, random))
        elif problem.repair_of[fault] == step.number:
            return None
        else:
            state = after_repair(problem, state, step.number)
    return None


def shown(problem: Problem, check: int, fault: int, random: np.random.Generator) -> int:
    """What a check shows under a fault, drawn."""
    chance = problem.outcomes[check][fault]
    return int(random.choice(len(chance), p=chance / chance.sum()))


def random_state(problem: Problem, random: np.random.Generator) -> Belief:
    """A posterior that some random checks leave, their outcomes drawn from the problem itself."""
    state = start(problem)
    fault = random.choice(problem.faults, p=problem.weight / problem.weight.sum())
    for check in random.choice(problem.checks, random.integers(0, MOST_CHECKS_SEEN + 1), replace=False):
        state = after_check(problem, state, int(check), shown(problem, int(check), fault, random))
    return state


def decisions(posteriors: int) -> None:
    """Print how long a decision takes."""
    print(f"{'case or circuit':34}{'median ms':>10}{'99 % ms':>10}{'worst ms':>10}{'checks first':>14}")
    for name, work in jobs():
        random = np.random.default_rng(0)
        spent, checks = [], 0
        for state in [random_state(work.problem, random) for _ in range(posteriors)]:
            begin = time.process_time()
            action = next_action(work.problem, state)
            spent.append(1e3 * (time.process_time() - begin))
            checks += action.step.kind == CHECK
        low, high = np.percentile(spent, [50, 99])
        share = f"{100 * checks / posteriors:.0f} %"
        print(f"{name:34}{low:10.1f}{high:10.1f}{max(spent):10.1f}{share:>14}", flush=True)


def main() -> None:
    """Print what is asked for, everything if nothing is."""
    what = sys.argv[1] if len(sys.argv) > 1 else "all"
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 200
    if what in ("family", "all"):
        family(count)
    if what in ("circuits", "all"):
        on_circuits()
    if what in ("cores", "all"):
        on_cores(min(count, COMPLAINTS), sys.argv[3:])
    if what in ("twenty", "all"):
        on_twenty(min(count, COMPLAINTS), sys.argv[3:])
    if what in ("complaints", "all"):
        on_complaints(min(count, COMPLAINTS), sys.argv[3:])
    if what in ("decisions", "all"):
        decisions(count)


if __name__ == "__main__":
    main()
