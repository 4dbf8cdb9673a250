"""The identities where more is in question than single faults of one circuit: pairs, and which circuit."""

from collections.abc import Sequence
from functools import reduce
from operator import add

import numpy as np
import pytest

from gaugesim.arrays import Floats
from gaugesim.circuit import find
from gaugesim.errors import GaugesimError
from gaugesim.evaluation.ailments import listed_ailments
from gaugesim.evaluation.answers import draw_answers
from gaugesim.evaluation.equations import Tally, identities, tally
from gaugesim.evaluation.fleet import Fleet
from gaugesim.evaluation.interview import Interview, draw_interview
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.weigh import log_likelihoods
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.solve.network import Integers

CASES, BLOCKS = 80, 5
# an honest posterior fails this in one of 16,000 runs, and the seeds are fixed
FAR = 4.0


def cases_of(
    cells: Cells, chance: Floats, interview: Interview, seed: Sequence[int]
) -> tuple[Integers, list[np.ndarray]]:
    """Vehicles of one circuit, drawn one by one: what is wrong with each, and what it answers."""
    random = np.random.default_rng(seed)
    truth = random.choice(len(chance), CASES, p=chance)
    ailments = listed_ailments(
        cells.circuit, cells.faults, truth, random.random((CASES, 2)), random.random(CASES)
    )
    fleet = Fleet(cells.circuit, ailments, seed)
    return truth, list(draw_answers(fleet, interview.observables(fleet), random))


def log_faults(
    cells: Cells, chance: Floats, interview: Interview, answers: Sequence[np.ndarray]
) -> np.ndarray:
    """Logarithms of each fault's prior times its likelihood, (faults, cases), up to what all share."""
    log = log_likelihoods(cells, interview.observables(cells), answers)
    result = np.empty((len(cells.faults), CASES))
    for i in range(len(cells.faults)):
        rows = cells.fault == i
        within = cells.weight[rows] / cells.weight[rows].sum()
        result[i] = np.log(chance[i]) + np.logaddexp.reduce(np.log(within)[:, None] + log[rows], axis=0)
    return result


def counted(log: np.ndarray, truth: Integers) -> Tally:
    likelihood = np.exp(log - log.max(axis=0))
    return tally(likelihood / likelihood.sum(axis=0), truth)


def within(parts: Sequence[Tally]) -> None:
    z = identities([reduce(add, parts)])
    assert all(abs(value) < FAR for value in z.values()), z


def test_pairs_are_believed_in_as_often_as_they_are_there() -> None:
    """As many pairs as single faults, from one draw of the faults; each pair as likely as a single one."""
    circuit = find("temp_two_coil")
    singles = [fault for fault in Cells(circuit, slices=1).faults if isinstance(fault, Fault)]
    steady = [fault for fault in singles if fault.mode.id != "intermittent"]
    random = np.random.default_rng(3)
    drawn = [random.choice(len(steady), 2, replace=False).tolist() for _ in range(30)]
    pairs = [Pair(steady[i], steady[j]) for i, j in drawn if steady[i].part.id != steady[j].part.id]
    cells = Cells(circuit, pairs=pairs)
    weight = np.concatenate([np.full(len(singles), 1 / len(singles)), np.full(len(pairs), 1 / len(pairs))])
    chance = weight / weight.sum()
    parts = []
    for block in range(BLOCKS):
        interview = draw_interview(circuit, np.random.default_rng([7, block]))
        truth, answers = cases_of(cells, chance, interview, [8, block])
        parts.append(counted(log_faults(cells, chance, interview, answers), truth))
    within(parts)


def test_circuits_are_believed_in_as_often_as_they_are_there() -> None:
    """Two candidates, each as likely as the other, asked the same questions."""
    candidates = [Cells(find(name)) for name in ("temp_two_coil", "temp_three_coil")]
    count = len(candidates[0].faults)
    parts, seed = [], 0
    while len(parts) < BLOCKS:
        seed += 1
        interview = draw_interview(candidates[0].circuit, np.random.default_rng([9, seed]))
        try:
            interview.observables(candidates[1])
        except GaugesimError:
            # a check that only the first of them has
            continue
        logs, truths = [], []
        for i, cells in enumerate(candidates):
            truth, answers = cases_of(cells, cells.prior, interview, [10, seed, i])
            both = [log_faults(each, each.prior, interview, answers) for each in candidates]
            logs.append(np.concatenate(both))
            truths.append(truth + i * count)
        parts.append(counted(np.concatenate(logs, axis=1), np.concatenate(truths)))
    within(parts)


@pytest.mark.parametrize("power", [1.5])
def test_a_circuit_that_is_believed_in_too_much_is_found(power: float) -> None:
    """The same sums with a posterior that is too sure."""
    cells = Cells(find("temp_two_coil"))
    parts = []
    for block in range(3):
        interview = draw_interview(cells.circuit, np.random.default_rng([7, block]))
        truth, answers = cases_of(cells, cells.prior, interview, [8, block])
        parts.append(counted(power * log_faults(cells, cells.prior, interview, answers), truth))
    assert identities([reduce(add, parts)])["log_score"] > FAR
