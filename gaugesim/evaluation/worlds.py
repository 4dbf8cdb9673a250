"""Worlds in which cases are generated: the one that inference believes in, and those that differ from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.evaluation.ailments import listed_ailments
from gaugesim.evaluation.fleet import Ailment
from gaugesim.evidence.cells import Cells, pair_prior
from gaugesim.evidence.observable import Answer, Observable
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.solve.network import Integers

# tolerances are so many times what the sheet says
WIDE = 2.0
# the meter reads so much too high, as a share
BIAS = 0.04
# each fault's prior is off by this factor, one way or the other
PRIORS_OFF = 3.0
# every answer is made up so often: hearsay, another vehicle's trouble, the wrong terminal
LOOSE = 0.2
# a fault is no worse than this share of its kind: a contact only beginning to corrode
SLIGHT = 0.3
# the gauge of another make: its scale is longer or shorter by so much, and lies off by so much, as standard
# deviations
BENT = 0.12
# cases that are asked the same observables: many are quicker, few tell more
BLOCK, FEW_ALIKE = 200, 20


@dataclass(frozen=True)
class World:
    """How cases are generated.

    Attributes
    ----------
    wide : float
        Tolerances against those of the sheet [1].
    bias : float
        Of the meter, as a share [1].
    wrong : int
        Answers of each case that are made up [1].
    made_up : float
        How often any answer is made up [1].
    priors_off : float
        Factor by which each fault's prior is off [1].
    slight : float
        The worst that a fault may be, as a share of its kind [1].
    bent : float
        Standard deviation of the length of each gauge's scale, and of where it lies [1].
    restless : bool
        Whether a needle that nothing drives lies elsewhere in every state.
    silent : bool
        Whether the owner says nothing of whatever else is wrong.
    lasting : bool
        Whether what should come and go is there nearly always.
    kind : str
        ``listed`` faults, ``two`` of them, or an ``unlisted`` one.
    checks : (int, int)
        Least and most checks that are made [1].
    numbers : float
        Chance that a check is read as a number where it can be [1].
    share : float
        Cases, against those of the other worlds: fewer where each is judged by itself [1].
    block : int
        Cases that are asked the same observables [1].
    """

    id: str
    words: str
    wide: float = 1.0
    bias: float = 0.0
    wrong: int = 0
    made_up: float = 0.0
    priors_off: float = 1.0
    slight: float = 1.0
    bent: float = 0.0
    restless: bool = False
    silent: bool = False
    lasting: bool = False
    kind: str = "listed"
    checks: tuple[int, int] = (2, 5)
    numbers: float = 0.6
    share: float = 1.0
    block: int = BLOCK


MODEL = World("model", "the world that the program believes in")
STRESS = (
    World("tolerances_doubled", "every tolerance twice what the sheet says", wide=WIDE),
    World("wrong_reading", "one answer made up", wrong=1),
    World("biased_meter", f"the meter reads {BIAS:.0%} too much", bias=BIAS),
    World("priors_off", "every prior wrong by a factor of 3, up or down", priors_off=PRIORS_OFF),
    World("loose_talk", f"any answer is made up with {LOOSE:.0%}", made_up=LOOSE),
    World("slight_faults", f"faults are the slightest {SLIGHT:.0%} of their kind", slight=SLIGHT),
    World("another_make", "scales are longer, shorter or shifted by an eighth", bent=BENT),
    World("restless_needles", "a needle that nothing drives lies elsewhere in every state", restless=True),
    World("silent_owner", "the owner does not say what else is wrong", silent=True),
    World("lasting_contacts", "what should come and go is there nearly always", lasting=True),
    World("two_faults", "two faults at once", kind="two", share=0.25, block=FEW_ALIKE),
    World(
        "unlisted_fault",
        "a fault that the sheet does not list",
        kind="unlisted",
        checks=(12, 14),
        numbers=1.0,
    ),
    World("listed_fault", "a listed fault, checked as thoroughly", checks=(12, 14), numbers=1.0),
)
WORLDS = {world.id: world for world in (MODEL, *STRESS)}


def draw_ailments(
    world: World, cells: Cells, cases: int, random: np.random.Generator
) -> tuple[list[Ailment], Integers]:
    """Draw which listed faults each vehicle has, if any.

    Returns
    -------
    list of Ailment
    faults : ndarray of int, shape (cases, 2)
        Numbers of the listed faults that each has, -1 for none.
    """
    circuit = cells.circuit
    truth = np.full((cases, 2), -1)
    if world.kind == "unlisted":
        return [], truth
    chance = cells.prior
    if world.priors_off != 1.0:
        chance = chance * world.priors_off ** random.choice([-1.0, 1.0], len(chance))
        chance = chance / chance.sum()
    if world.kind == "two":
        pairs, chosen = _pairs(circuit, cells, random, cases)
        truth[:] = chosen
        return listed_ailments(
            circuit, pairs, np.arange(cases), random.random((cases, 2)), np.ones(cases)
        ), truth
    truth[:, 0] = random.choice(len(chance), cases, p=chance)
    severities, times = world.slight * random.random((cases, 2)), random.random(cases)
    return listed_ailments(circuit, cells.faults, truth[:, 0], severities, times), truth


def _pairs(
    circuit: Circuit, cells: Cells, random: np.random.Generator, cases: int
) -> tuple[list[Pair], Integers]:
    """Two faults in different parts for each vehicle, a common cause as likely as the sheet says."""
    faults = [fault for fault in cells.faults if isinstance(fault, Fault)]
    total = sum(fault.weight for fault in faults)
    # many candidates by their own priors, then thinned by what a common cause adds
    tried = random.choice(len(faults), (40 * cases, 2), p=cells.prior)
    tried = tried[[faults[i].part.id != faults[j].part.id for i, j in tried]]
    alone = np.array([2.0 * faults[i].weight * faults[j].weight / total**2 for i, j in tried])
    whole = np.array([pair_prior(circuit, Pair(faults[i], faults[j]), total) for i, j in tried])
    factor = whole / alone
    chosen = tried[random.choice(len(tried), cases, p=factor / factor.sum())]
    return [Pair(faults[i], faults[j]) for i, j in chosen], chosen


def disturb(
    world: World,
    observables: tuple[Observable, ...],
    answers: tuple[Answer, ...],
    random: np.random.Generator,
) -> tuple[Answer, ...]:
    """What a world does to the answers: a biased meter, answers made up, nothing said of the rest.

    Parameters
    ----------
    answers : tuple of ndarray, each of shape (cases,)
    """
    result: list[Answer] = [answer.copy() for answer in answers]
    for k, observable in enumerate(observables):
        if observable.unit == "volts":
            result[k] = np.asarray(result[k] * (1.0 + world.bias), dtype=float)
        elif observable.unit == "log ohms":
            result[k] = np.asarray(result[k] + np.log1p(world.bias), dtype=float)
    for k, observable in enumerate(observables):
        if observable.statement.implied:
            # nothing said is the first class of what nobody was asked about
            result[k] = np.zeros_like(result[k]) if world.silent else result[k]
        elif world.made_up:
            made_up = np.flatnonzero(random.random(len(result[k])) < world.made_up)
            result[k][made_up] = _anything(observable, len(made_up), random)
    for _ in range(world.wrong):
        which = random.integers(len(result), size=len(result[0]))
        for k, observable in enumerate(observables):
            made_up = np.flatnonzero(which == k)
            result[k][made_up] = _anything(observable, len(made_up), random)
    return tuple(result)


def _anything(observable: Observable, count: int, random: np.random.Generator) -> Floats | Integers:
    if observable.is_number:
        return observable.lowest + random.random(count) / observable.broad
    return random.integers(len(observable.classes), size=count)
