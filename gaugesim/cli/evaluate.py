"""``gaugesim evaluate``: how good ranking and plan are, measured on generated cases."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import Any

from gaugesim.circuit import find
from gaugesim.cli.output import note, print_json, wrapped
from gaugesim.cli.parser import add_command
from gaugesim.cli.workers import processes
from gaugesim.errors import CaseError
from gaugesim.evaluation import Evaluation, PlanSummary, Summary
from gaugesim.evaluation.equations import WORDS
from gaugesim.evaluation.worlds import WORLDS
from gaugesim.front.evaluations import evaluate

RULE_WORDS = {
    "swap_parts": "swap parts, likeliest for their time first",
    "fixed_order": "always the same checks in the same order",
    "information_per_minute": "the check that tells most per minute",
}


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    parser = add_command(commands, "evaluate", run, "How good are ranking and plan, on generated cases?")
    parser.add_argument("circuits", metavar="CIRCUIT", nargs="+", help="ids, or paths of .cir files")
    parser.add_argument(
        "--cases", type=int, default=2000, metavar="N", help="on each circuit; %(default)s if left out"
    )
    parser.add_argument(
        "--seed",
        type=int,
        default=1,
        metavar="S",
        help="the same seed draws the same cases; %(default)s if left out",
    )
    parser.add_argument(
        "--plans",
        type=int,
        default=8,
        metavar="N",
        help="complaints whose plan is costed; %(default)s if left out",
    )
    parser.add_argument(
        "--workers", type=int, metavar="N", help="processes; as many as there are cores if left out"
    )
    parser.add_argument("--scheduler", metavar="ADDRESS", help="of a dask cluster that does the work")


def run(arguments: argparse.Namespace) -> int:
    """Measure."""
    circuits = [find(name, arguments.netlists) for name in arguments.circuits]
    with _executor(arguments.workers, arguments.scheduler) as executor:
        judged = evaluate(
            circuits, arguments.cases, arguments.seed, arguments.plans, executor, progress=_progress
        )
    if arguments.json:
        print_json(judged.to_dict())
    else:
        print("\n".join(as_text(judged.evaluation)))
    return 0


@contextmanager
def _executor(workers: int | None, scheduler: str | None) -> Iterator[Executor | None]:
    """Who does the work: this process, several, or a cluster."""
    if scheduler is not None:
        if workers is not None:
            raise CaseError("--workers and --scheduler do not go together", "", "give one of them")
        try:
            from distributed import Client
        except ImportError:
            raise CaseError(
                "--scheduler needs dask, which is not installed", "", "pip install gaugesim[cluster]"
            ) from None
        try:
            client = Client(scheduler, timeout="10s")
        except (OSError, ValueError) as error:
            raise CaseError(
                f"--scheduler {scheduler}: {error}", "", "give its address, tcp://HOST:PORT"
            ) from None
        with client:
            yield client.get_executor(pure=False)
        return
    count = os.cpu_count() or 1 if workers is None else workers
    if count < 1:
        raise CaseError(f"--workers {count} can do nothing", "", "give 1 or more")
    if count == 1:
        yield None
        return
    with processes(count, "--workers", "is there memory for so many? Try fewer") as pool:
        yield pool


def _progress(done: int, whole: int) -> None:
    """A line on standard error now and then."""
    if done == whole or done % max(1, whole // 10) == 0:
        note(f"{done} of {whole} blocks")


def as_text(evaluation: Evaluation) -> list[str]:
    """An evaluation for a person, in 80 columns."""
    lines = [f"{evaluation.model.cases} generated cases, seed {evaluation.seed}", ""]
    lines += _summary_lines(evaluation.model)
    lines += ["", "How honest is its certainty? Each must lie within 3 either way:"]
    lines += [f"  {z:+6.2f}  {WORDS[name]}" for name, z in evaluation.identities.items()]
    if len(evaluation.circuits) > 1:
        lines += ["", "Circuit by circuit: likeliest right, among the first three, worst of those above"]
        lines += [
            f"  {_percent(summary.top1)}  {_percent(summary.top3)}  {max(z.values(), key=abs):+6.2f}  {name}"
            for name, (summary, z) in evaluation.circuits.items()
        ]
    if evaluation.stress:
        lines += ["", "When the world is not as the program believes: likeliest right,"]
        lines += ["mended by the likeliest repair, better than not looking at all by a factor of"]
        lines += _world_line("as it believes, for comparison", evaluation.model)
        for name, summary in evaluation.stress.items():
            lines += _stress_lines(name, summary)
    if evaluation.plan is not None:
        lines += ["", *_plan_lines(evaluation.plan)]
    return lines


def _summary_lines(summary: Summary) -> list[str]:
    return [
        f"  {_percent(summary.top1)}  the likeliest fault was the right one",
        f"  {_percent(summary.group_top1)}  ... or one that the answers do not tell apart from it",
        f"  {_percent(summary.repair_top1)}  the likeliest repair mended it",
        f"  {_percent(summary.top3)}  the right one was among the first three",
        f'  {_percent(summary.none_leads.share)}  false alarms: "none of these" led',
        f"  {summary.log_score:5.2f}  surprise at the truth (0 best, {summary.prior_log_score:.2f} unseen)",
        f"  {summary.brier:5.2f}  squared distance from the truth (0 is best, 2 worst)",
        f"  {summary.ece:6.3f} mean distance of its certainty from how often it was right;",
        f"         chance alone makes {summary.ece_floor:.3f}, seldom more than {summary.ece_floor_high:.3f}",
    ]


def _stress_lines(name: str, summary: Summary) -> list[str]:
    words = WORLDS[name].words
    if name == "unlisted_fault":
        shown, led = summary.distinguishable, summary.none_leads_distinguishable
        if shown is None or led is None:
            return wrapped(f"{words}: none showed otherwise than a listed one may", " " * 28, " " * 28)
        low, high = (_percent(limit).strip().removesuffix(" %") for limit in led.limits)
        words += f"; {100 * shown:.1f} % of them showed like no listed one. "
        words += f'Of those "none of these" led in so many ({low} to {high} % may be true)'
        return wrapped(words, " " * 28, f"  {_percent(led.share)}".ljust(28))
    return _world_line(words, summary)


def _world_line(words: str, summary: Summary) -> list[str]:
    figures = (
        f"  {_percent(summary.top1)}   {_percent(summary.repair_top1)}  {summary.better_than_prior:6.1f}"
    )
    return wrapped(words, " " * 28, figures.ljust(28))


def _plan_lines(plan: PlanSummary) -> list[str]:
    lines = wrapped(
        f"Minutes to the proven repair, mean of {plan.complaints} complaints, and how many times those of "
        "the best plan of all once the job is cut down until that can be computed"
    )
    lines += [f"  {plan.whole_minutes:6.1f}  {plan.ratio:6.3f}  this plan; {plan.worst_ratio:.3f} at worst"]
    lines += [
        f"  {minutes:6.1f}  {plan.rule_ratios[name]:6.3f}  {RULE_WORDS[name]}"
        for name, minutes in plan.rules.items()
    ]
    lines += [f"  {plan.bound_minutes:6.1f}          no plan takes less than this"]
    besides = f"{plan.avoidable_ratio:.3f} times the best"
    return lines + wrapped(f"Without the right repair itself, which every plan needs: {besides}", "  ")


def _percent(share: float) -> str:
    return f"{100 * share:3.0f} %"
