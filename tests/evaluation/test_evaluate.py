"""The whole measurement: the program's own posteriors, worlds that differ from its model, any executor."""

import json
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import replace
from functools import reduce
from io import StringIO
from multiprocessing import get_context
from operator import add

import numpy as np
import pytest
from distributed import Client, LocalCluster

from gaugesim.circuit import Circuit, find
from gaugesim.cli import main
from gaugesim.cli.evaluate import as_text
from gaugesim.errors import CaseError
from gaugesim.evaluation import Evaluation, PlanSummary, evaluate
from gaugesim.evaluation.block import CaseBlock, generate, measure, posteriors, posteriors_with_pairs
from gaugesim.evaluation.equations import identities, tally
from gaugesim.evaluation.plans import drawn_case, plan_cost
from gaugesim.evaluation.scores import Scores
from gaugesim.evaluation.worlds import MODEL, STRESS
from gaugesim.planning.comparison import RULES

NAME = "temp_two_coil"
# an honest posterior fails this in one of 16,000 runs, and the seeds are fixed
FAR = 4.0

Judged = tuple[np.ndarray, np.ndarray]


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return find(NAME)


@pytest.fixture(scope="module")
def blocks(circuit: Circuit) -> list[Judged]:
    """Faults' probabilities and the truths of eight blocks."""
    generated = [generate(CaseBlock(circuit, "model", 150, 11, i)) for i in range(8)]
    return [(posteriors(block)[0], block.faults[:, 0]) for block in generated]


def test_the_identities_hold(blocks: list[Judged]) -> None:
    z = identities([reduce(add, [tally(fault / fault.sum(axis=0), truth) for fault, truth in blocks])])
    assert all(abs(value) < FAR for value in z.values()), z


def test_a_posterior_is_one(circuit: Circuit) -> None:
    fault, none = posteriors(generate(CaseBlock(circuit, "model", 20, 11, 0)))
    np.testing.assert_allclose(fault.sum(axis=0) + none, 1.0, rtol=1e-9)


def test_pairs_take_of_what_two_faults_explain(circuit: Circuit) -> None:
    """Of single faults alone and with pairs: a distribution either way, the truth likelier with them."""
    each, gains = np.arange(12), []
    for number in range(4, 8):
        generated = generate(CaseBlock(circuit, "two_faults", 12, 11, number))
        chance = []
        for judged in (posteriors, posteriors_with_pairs):
            fault, none = judged(generated)
            np.testing.assert_allclose(fault.sum(axis=0) + none, 1.0, rtol=1e-9)
            chance.append(fault[generated.faults.T, each].sum(axis=0))
        gains.append(np.log(chance[1] / chance[0]))
    gain = np.concatenate(gains)
    assert gain.mean() > 0.1
    # much likelier where neither fault explains it alone
    assert gain.max() > 1
    # what one fault explains is hardly touched
    assert gain.min() > -0.3


@pytest.mark.parametrize(
    "world", [world.id for world in STRESS if world.checks == MODEL.checks and world.kind == MODEL.kind]
)
def test_looking_beats_the_prior_in_every_world(circuit: Circuit, world: str) -> None:
    scores = Scores.summed(measure(CaseBlock(circuit, world, 100, 11, i)).scores for i in range(2))
    gain = scores.prior_log_score - scores.log_score
    assert gain.mean() > 3 * gain.std() / np.sqrt(len(gain))


@pytest.fixture(scope="module")
def told() -> list[tuple[int, int]]:
    """How far the evaluation below says that it has come."""
    return []


@pytest.fixture(scope="module")
def alone(circuit: Circuit, told: list[tuple[int, int]]) -> Evaluation:
    return small(circuit, None, lambda *done: told.append(done))


def small(
    circuit: Circuit, executor: Executor | None, progress: Callable[[int, int], None] | None = None
) -> Evaluation:
    return evaluate([circuit], cases=220, seed=3, executor=executor, stress=0, plans=0, progress=progress)


def test_a_pool_of_processes_gives_the_same_numbers(circuit: Circuit, alone: Evaluation) -> None:
    # whatever else was worked out on the circuit stays here: it may be of any kind
    circuit.recall("a task", {}, lambda: lambda: None)
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        assert small(circuit, pool) == alone


def test_a_dask_cluster_gives_the_same_numbers(circuit: Circuit, alone: Evaluation) -> None:
    with (
        LocalCluster(n_workers=1, threads_per_worker=2, processes=False, dashboard_address=":0") as cluster,
        Client(cluster) as client,
    ):
        assert small(circuit, client.get_executor(pure=False)) == alone


WORDS = ("evaluate", NAME, "--cases", "10", "--plans", "1", "--json")


@pytest.fixture(scope="module")
def printed() -> tuple[str, str]:
    """What the command says for a program, and beside it."""
    with redirect_stdout(StringIO()) as said, redirect_stderr(StringIO()) as beside:
        assert main([*WORDS, "--workers", "1"]) == 0
    return said.getvalue(), beside.getvalue()


def test_the_command_hands_its_work_to_a_cluster(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """That a cluster's executor gives the same numbers is tested above."""

    def asked(*arguments: object, progress: object) -> None:
        executors = [one for one in arguments if isinstance(one, Executor)]
        raise CaseError(f"{executors[0].submit(abs, -3).result()} comes back", "", "")

    monkeypatch.setattr("gaugesim.cli.evaluate.evaluate", asked)
    with LocalCluster(n_workers=1, processes=False, dashboard_address=":0") as cluster:
        assert main([*WORDS, "--scheduler", cluster.scheduler_address]) == 2
    assert "3 comes back" in capsys.readouterr().err


def test_another_seed_or_purpose_draws_other_cases(circuit: Circuit) -> None:
    tasks = [
        CaseBlock(circuit, "model", 30, 1, 0),
        CaseBlock(circuit, "model", 30, 2, 0),
        CaseBlock(circuit, "model", 30, 1, 1),
        CaseBlock(circuit, "model", 30, 1, 0, "tuning"),
        CaseBlock(circuit, "priors_off", 30, 1, 0),
    ]
    drawn = [tuple(generate(task).faults[:, 0].tolist()) for task in tasks]
    assert len(set(drawn)) == len(tasks)
    assert tuple(generate(tasks[0]).faults[:, 0].tolist()) == drawn[0]


def test_progress_is_told(alone: Evaluation, told: list[tuple[int, int]]) -> None:
    assert len(told) > 2
    assert told == [(count, len(told) - 1) for count in range(len(told))]


@pytest.mark.parametrize(
    ("options", "problem"),
    [({"cases": 0}, "0 cases say nothing"), ({"seed": -1}, "seed -1 is below 0")],
)
def test_what_cannot_be_measured_is_refused(circuit: Circuit, options: dict[str, int], problem: str) -> None:
    with pytest.raises(CaseError, match=problem):
        evaluate([circuit], **options)
    with pytest.raises(CaseError, match="no circuit was named"):
        evaluate([])


def test_no_plan_beats_the_optimum(circuit: Circuit) -> None:
    for number in range(1):
        cost = plan_cost(CaseBlock(circuit, "model", 1, 4, number))
        for found in (cost.reduced, cost.whole):
            for minutes in (found.planner, *(getattr(found, rule) for rule in RULES)):
                assert found.least <= minutes * (1 + 1e-9)
        assert cost.reduced.proven
        assert cost.whole.planner < cost.whole.swap_parts


def test_a_generated_complaint_is_a_case_as_a_person_writes_it(circuit: Circuit) -> None:
    cases = [drawn_case(CaseBlock(circuit, "model", 1, 4, number)) for number in range(6)]
    assert all(case.circuits == (NAME,) and case.entries for case in cases)
    assert len({case.entries for case in cases}) > 1


def test_the_command_for_a_program(printed: tuple[str, str]) -> None:
    told = json.loads(printed[0])
    for key in ("cases", "top1", "top3", "group_top1", "log_score", "ece", "identities", "plan", "stress"):
        assert key in told
    assert told["cases"] == 10
    assert set(told["plan"]) >= {"mean_minutes", "optimum_minutes", "ratio", "worst_ratio", "rule_ratios"}
    assert set(told["stress"]) == {world.id for world in STRESS}
    assert told["circuits"][NAME]["identities"].keys() == told["identities"].keys()
    assert "blocks" in printed[1]


def test_a_person_reads_it_in_80_columns(alone: Evaluation) -> None:
    rules, times = dict.fromkeys(RULES, 100.0), dict.fromkeys(RULES, 1.5)
    plan = PlanSummary(3, 50.0, 49.0, 80.0, 40.0, rules, 1.03, 1.04, times)
    text = as_text(replace(alone, stress={world.id: alone.model for world in STRESS}, plan=plan))
    assert "    80.0   1.020  this plan; 1.030 at worst" in text
    assert sum("100.0   1.500" in line for line in text) == len(RULES)
    assert any("the likeliest fault was the right one" in line for line in text)
    assert max(map(len, text)) <= 80


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (["evaluate", "temp_two_coi"], "temp_two_coil"),
        (["evaluate", NAME, "--workers", "0"], "--workers 0"),
        (["evaluate", NAME, "--workers", "2", "--scheduler", "tcp://127.0.0.1:1"], "do not go together"),
        (["evaluate", NAME, "--cases", "0"], "0 cases"),
        (["evaluate", NAME, "--scheduler", "nowhere"], "--scheduler nowhere"),
    ],
)
def test_bad_input_is_one_line(words: list[str], problem: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert problem in captured.err
    assert captured.err.count("\n") == 1
