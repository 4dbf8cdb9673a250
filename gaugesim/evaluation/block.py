"""One block of generated cases: drawn, asked, weighed and scored; any number of them can run side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal
from zlib import crc32

import numpy as np

from gaugesim.advice.remedy import repair_of
from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.diagnosis.pairs import likely_pairs
from gaugesim.evaluation.ailments import draw_unlisted
from gaugesim.evaluation.answers import draw_answers
from gaugesim.evaluation.equations import Tally, tally
from gaugesim.evaluation.fleet import Fleet
from gaugesim.evaluation.interview import Interview, draw_interview
from gaugesim.evaluation.resemblance import told_from_listed
from gaugesim.evaluation.scores import Scores, Truth, score
from gaugesim.evaluation.worlds import WORLDS, World, disturb, draw_ailments
from gaugesim.evidence.bayes import NONE_PRIOR, posterior
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.none_of_these import log_none
from gaugesim.evidence.observable import Answer, Observable, Observation
from gaugesim.evidence.weigh import log_likelihoods
from gaugesim.sheet import GAUGE_KINDS, roles
from gaugesim.solve.network import Integers

# vehicles that are drawn for each case with an unlisted fault: few show what no listed fault shows, and these
# are taken first
TRIED = 10
# Seeds with which widths and priors were tuned never meet those of a report
Purpose = Literal["report", "tuning"]
_PURPOSES = {"report": 1, "tuning": 2}


@dataclass(frozen=True)
class CaseBlock:
    """A block of generated cases: the same block gives the same cases wherever it runs."""

    circuit: Circuit
    world: str
    cases: int
    seed: int
    number: int
    purpose: Purpose = "report"

    @property
    def key(self) -> tuple[int, ...]:
        """Seed of everything that is drawn in the block."""
        names = (self.circuit.id, self.world)
        return (_PURPOSES[self.purpose], self.seed, self.number, *(crc32(name.encode()) for name in names))


@dataclass(frozen=True)
class Generated:
    """Cases and what the program makes of them.

    Attributes
    ----------
    observables : tuple of Observable
        About the cells.
    answers : tuple of ndarray, each of shape (cases,)
    faults : ndarray of int, shape (cases, 2)
        The truth: numbers of the faults, -1 for none.
    unlike : int
        The first so many are vehicles that no listed fault could be much like, if faults are unlisted.
    tried : int
        From so many vehicles with unlisted faults these were taken.
    """

    cells: Cells
    observables: tuple[Observable, ...]
    answers: tuple[Answer, ...]
    faults: Integers
    unlike: int
    tried: int
    interview: Interview


@dataclass(frozen=True)
class BlockResult:
    """What a block comes to.

    Attributes
    ----------
    counted : Tally
        Of posteriors given that one of the listed faults is there.
    unlike, tried : int
        How many vehicles with unlisted faults were distinguishable, of how many.
    """

    scores: Scores
    counted: Tally
    unlike: int
    tried: int


def generate(block: CaseBlock) -> Generated:
    """Draw a block of cases."""
    world = WORLDS[block.world]
    random = np.random.default_rng(block.key)
    cells = Cells(block.circuit)
    tried = TRIED * block.cases if world.kind == "unlisted" else 0
    odd = draw_unlisted(block.circuit, tried, random)
    ailments, faults = draw_ailments(world, cells, block.cases, random)
    interview = draw_interview(block.circuit, random, world.checks, world.numbers)
    about_cells = interview.observables(cells)
    apart = np.zeros(tried, dtype=bool)
    if tried:
        typical = interview.observables(Fleet(block.circuit, odd.ailments(), block.key, 0.0))
        apart = told_from_listed(about_cells, typical, tried)
        ailments = odd.take(np.argsort(~apart, kind="stable")[: block.cases]).ailments()
    fleet = Fleet(block.circuit, ailments, block.key, world.wide, world.bent, world.restless)
    about_fleet = interview.observables(fleet)
    drawn = draw_answers(fleet, about_fleet, random, world.lasting)
    answers = disturb(world, about_fleet, drawn, random)
    return Generated(cells, about_cells, answers, faults, int(apart.sum()), tried, interview)


def posteriors(cases: Generated) -> tuple[Floats, Floats]:
    """What the program makes of generated cases.

    Returns
    -------
    fault : ndarray, shape (faults, cases)
    none : ndarray, shape (cases,)
        Together they sum to 1.
    """
    cells = cases.cells
    with np.errstate(divide="ignore"):
        log = np.log((1 - NONE_PRIOR) * cells.weight)[:, None]
    log = log + log_likelihoods(cells, cases.observables, cases.answers)
    log_outside = np.log(NONE_PRIOR) + log_none(cells, cases.observables, cases.answers)
    top = np.maximum(log.max(axis=0), log_outside)
    cell, none = np.exp(log - top), np.exp(log_outside - top)
    # cells of a fault stand together, the sound circuit's first
    starts = np.searchsorted(cells.fault, np.arange(len(cells.faults)))
    fault = np.add.reduceat(cell, starts, axis=0)
    total = fault.sum(axis=0) + none
    return fault / total, none / total


def posteriors_with_pairs(cases: Generated) -> tuple[Floats, Floats]:
    """What the program makes of each case by itself, with the pairs of faults that may explain it.

    Returns
    -------
    fault : ndarray, shape (faults, cases)
        The probability of a pair goes to its two faults in equal parts.
    none : ndarray, shape (cases,)
        Together they sum to 1.
    """
    number = {entry.id: i for i, entry in enumerate(cases.cells.faults)}
    count = len(cases.answers[0])
    fault, none = np.zeros((len(number), count)), np.empty(count)
    for k in range(count):
        answers = [answer[k].item() for answer in cases.answers]
        first = posterior(cases.cells, _observed(cases.observables, answers))
        cells = Cells(cases.cells.circuit, pairs=likely_pairs(first), sharing=cases.cells)
        updated = posterior(cells, _observed(cases.interview.observables(cells), answers))
        for entry, probability in zip(cells.faults, updated.fault, strict=True):
            for single in entry.singles:
                fault[number[single.id], k] += probability / len(entry.singles)
        none[k] = updated.none_of_these
    return fault, none


def _observed(observables: Sequence[Observable], answers: Sequence[int | float]) -> list[Observation]:
    return [
        Observation(observable, answer, "") for observable, answer in zip(observables, answers, strict=True)
    ]


def measure(block: CaseBlock) -> BlockResult:
    """Draw a block of cases and score what the program makes of them."""
    cases = generate(block)
    world = WORLDS[block.world]
    fault, none = (posteriors_with_pairs if world.kind == "two" else posteriors)(cases)
    cells = cases.cells
    truth = Truth(cases.faults, _strata(world, cells, cases), block.number)
    prior = (1 - NONE_PRIOR) * cells.prior
    scores = score(fault, none, prior, NONE_PRIOR, truth, repair_numbers(cells))
    listed = fault / np.maximum(fault.sum(axis=0), 1e-300)
    counted = tally(listed, np.maximum(cases.faults[:, 0], 0))
    return BlockResult(scores, counted, cases.unlike, cases.tried)


# kinds of faults by which scores are told apart, so that no kind hides behind the others
DISTINGUISHABLE = "distinguishable"
STRATA = (
    "open",
    "high",
    "intermittent",
    "leak or chafe",
    "inside the gauge",
    "sender",
    "process",
    "other",
    DISTINGUISHABLE,
    "like a listed fault",
)
_BY_MODE = {
    "open": "open",
    "high": "high",
    "intermittent": "intermittent",
    "to_ground": "leak or chafe",
    "to_feed": "leak or chafe",
    "to_battery": "leak or chafe",
    "leak": "leak or chafe",
}


def _strata(world: World, cells: Cells, cases: Generated) -> Integers:
    """Number of each case's stratum; of unlisted faults whether they are distinguishable."""
    if world.kind == "unlisted":
        apart, alike = STRATA.index(DISTINGUISHABLE), STRATA.index("like a listed fault")
        return np.where(np.arange(len(cases.faults)) < cases.unlike, apart, alike)
    of_fault = []
    for entry in cells.faults:
        fault = entry.singles[0]
        if fault.part.kind in GAUGE_KINDS:
            name = "inside the gauge"
        elif fault.part.kind == "process":
            name = "process"
        elif fault.part.id.endswith(roles().sender):
            name = "sender"
        else:
            name = _BY_MODE.get(fault.mode.id, "other")
        of_fault.append(STRATA.index(name))
    return np.array(of_fault)[cases.faults[:, 0]]


def repair_numbers(cells: Cells) -> Integers:
    """Number of the repair that mends each fault.

    Returns
    -------
    ndarray of int, shape (faults,)
    """
    circuit = cells.circuit
    names = [repair_of(circuit, entry, circuit.gauge(None).id).name for entry in cells.faults]
    number = {name: i for i, name in enumerate(dict.fromkeys(names))}
    return np.array([number[name] for name in names])
