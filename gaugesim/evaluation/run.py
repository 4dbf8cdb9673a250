"""Generate cases on circuits, let the program judge them, and say how good that was."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from typing import TypeVar

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.evaluation.block import BlockResult, CaseBlock, Purpose, measure
from gaugesim.evaluation.equations import Tally, identities
from gaugesim.evaluation.plans import PlanCost, plan_cost
from gaugesim.evaluation.scores import Scores
from gaugesim.evaluation.summary import PlanSummary, Summary, summarise, summarise_plans
from gaugesim.evaluation.worlds import MODEL, STRESS, WORLDS

_Result = TypeVar("_Result", BlockResult, PlanCost)
# cases in each world that differs from the model, against those in the model's own
STRESS_SHARE = 0.1
# tasks that wait in line for each one that is out, so that no worker is idle and memory stays small
WAITING = 64
# days on one machine
MOST_CASES = 1_000_000

# called with what is done and what there is
Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Evaluation:
    """How good the ranking and the plan are.

    Attributes
    ----------
    model : Summary
        In the world that the program believes in.
    identities : dict
        See `identities`; of all circuits together.
    circuits : dict
        From circuit to the same two of it alone.
    stress : dict
        From world to `Summary`.
    plan : PlanSummary or None
        None if no plans were asked for.
    """

    seed: int
    model: Summary
    identities: Mapping[str, float]
    circuits: Mapping[str, tuple[Summary, Mapping[str, float]]]
    stress: Mapping[str, Summary]
    plan: PlanSummary | None


def evaluate(
    circuits: Sequence[Circuit],
    cases: int = 2000,
    seed: int = 1,
    executor: Executor | None = None,
    progress: Progress | None = None,
    stress: float = STRESS_SHARE,
    plans: int = 8,
    purpose: Purpose = "report",
) -> Evaluation:
    """Measure ranking and plan on generated cases.

    Each case is drawn by a separate path: a fault, its severity and every tolerance, the whole network solved
    anew, what is asked, how people speak, how meters err. Blocks of cases have seeds of their own, so the
    numbers are the same for any executor and any number of workers.

    Parameters
    ----------
    cases : int
        On each circuit, in the world that the program believes in [1].
    seed : int
        A whole number from 0.
    executor : concurrent.futures.Executor, optional
        Any: a pool of processes or that of a cluster. Left out, it is done here, one block after the other.
    progress : callable, optional
        Called with the number of blocks that are done, and of all.
    stress : float, optional
        Cases in each world that differs from the model, against those in the model's own [1]; 0 for none.
    plans : int, optional
        Complaints on each circuit for which the plan is costed [1].
    purpose : str, optional
        ``tuning`` draws other cases than ``report``: what was tuned on some is not reported on the same.

    Raises
    ------
    CaseError
        For no circuit, or a number of cases below 1.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> some = evaluate([find("temp_two_coil")], cases=50, stress=0, plans=0)
    >>> some.model.cases, some.model.log_score < some.model.prior_log_score
    (50, True)
    """
    if not circuits:
        raise CaseError("no circuit was named", "", "name at least one")
    if cases < 1:
        raise CaseError(f"{cases} cases say nothing", "", "ask for at least 1, better 2000")
    if seed < 0:
        raise CaseError(f"seed {seed} is below 0", "", "give a whole number from 0")
    if cases > MOST_CASES or not 0 <= plans <= MOST_CASES:
        raise CaseError(
            f"{cases} cases and {plans} plans are no task for any computer",
            "",
            f"{MOST_CASES} of each at most",
        )
    worlds = [(MODEL.id, cases)]
    if stress:
        worlds += [(world.id, max(1, round(stress * world.share * cases))) for world in STRESS]
    tasks = [
        CaseBlock(circuit, world, size, seed, number, purpose)
        for circuit in circuits
        for world, count in worlds
        for number, size in enumerate(_blocks(count, WORLDS[world].block))
    ]
    planned = [
        CaseBlock(circuit, MODEL.id, 1, seed, i, purpose) for circuit in circuits for i in range(plans)
    ]
    whole = len(tasks) + len(planned)

    def report(done: int) -> None:
        if progress is not None:
            progress(done, whole)

    report(0)
    measured = _all(measure, tasks, executor, report)
    costs = _all(plan_cost, planned, executor, lambda done: report(len(tasks) + done))
    by_world: dict[tuple[str, str], list[BlockResult]] = {}
    for task, result in zip(tasks, measured, strict=True):
        by_world.setdefault((task.circuit.id, task.world), []).append(result)
    own = {circuit.id: by_world[circuit.id, MODEL.id] for circuit in circuits}
    return Evaluation(
        seed,
        _summary([each for results in own.values() for each in results]),
        identities([_tally(results) for results in own.values()]),
        {name: (_summary(results), identities([_tally(results)])) for name, results in own.items()},
        {
            world: _summary([each for circuit in circuits for each in by_world[circuit.id, world]])
            for world, _ in worlds[1:]
        },
        summarise_plans(costs) if costs else None,
    )


def _blocks(cases: int, most: int) -> Iterator[int]:
    """Sizes of the blocks into which cases are cut."""
    for start in range(0, cases, most):
        yield min(most, cases - start)


def _summary(results: Sequence[BlockResult]) -> Summary:
    unlike, tried = sum(each.unlike for each in results), sum(each.tried for each in results)
    return summarise(Scores.summed(each.scores for each in results), unlike, tried)


def _tally(results: Sequence[BlockResult]) -> Tally:
    total = results[0].counted
    for each in results[1:]:
        total = total + each.counted
    return total


def _all(
    work: Callable[[CaseBlock], _Result],
    tasks: Sequence[CaseBlock],
    executor: Executor | None,
    report: Callable[[int], None],
) -> list[_Result]:
    """Results in the order of the tasks, whoever does them in whatever order."""
    results: dict[int, _Result] = {}
    if executor is None:
        for i, task in enumerate(tasks):
            results[i] = work(task)
            report(len(results))
        return [results[i] for i in range(len(tasks))]
    running: dict[Future[_Result], int] = {}
    line = iter(enumerate(tasks))
    while len(results) < len(tasks):
        while len(running) < WAITING and (following := next(line, None)) is not None:
            running[executor.submit(work, following[1])] = following[0]
        for future in wait(running, return_when=FIRST_COMPLETED).done:
            results[running.pop(future)] = future.result()
        report(len(results))
    return [results[i] for i in range(len(tasks))]
