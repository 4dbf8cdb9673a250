"""A task: a vehicle with a hidden fault whose complaint is as hard to work out as its level asks."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TypeVar

import numpy as np

from gaugesim.advice.jobs import Job
from gaugesim.advice.suspects import Suspects
from gaugesim.circuit import Circuit
from gaugesim.consultation import Consultation
from gaugesim.conversation.casefile import case_of
from gaugesim.diagnosis import Diagnosis, fault_name
from gaugesim.errors import CaseError, UnsolvableError
from gaugesim.lessons.chance import refuse_seed
from gaugesim.lessons.complaints import complaint, nothing_noticed
from gaugesim.lessons.draws import draw_vehicle
from gaugesim.lessons.vehicle import FaultyVehicle
from gaugesim.planning.decide import next_action
from gaugesim.planning.problem import NO_PLACE, Problem

LEVELS = (1, 2, 3, 4, 5)
# how many different complaints are compared, and how many draws are looked at in all
COMPARED, LOOKED_AT = 8, 120
# what one bit of ambiguity counts as against one minute when no draw fits its level
MINUTES_PER_BIT = 8.0
_Kept = TypeVar("_Kept")


@dataclass(frozen=True)
class Difficulty:
    """How hard a complaint is to work out.

    Attributes
    ----------
    bits : float
        Ambiguity: entropy of which repair is needed, after the complaint alone [bit].
    suspects : int
        Repairs in question: the likeliest that hold 95 % of the probability.
    expected_minutes : float
        From the complaint to the proven repair, by the best plan that was found [min].
    search_minutes : float
        The same without the right repair and opening its place, which nobody is spared [min].
    """

    bits: float
    suspects: int
    expected_minutes: float
    search_minutes: float


@dataclass(frozen=True)
class Range:
    """What a level asks for."""

    bits: tuple[float, float]
    minutes: tuple[float, float]

    def distance(self, difficulty: Difficulty) -> float:
        """How far a complaint is from what is asked for [min], 0 if it fits."""
        minutes = _outside(difficulty.search_minutes, *self.minutes)
        return MINUTES_PER_BIT * _outside(difficulty.bits, *self.bits) + minutes

    def may_fit(self, bits: float) -> bool:
        """Whether a complaint of such an ambiguity can be what is asked for."""
        return _outside(bits, *self.bits) == 0.0


def _outside(value: float, low: float, high: float) -> float:
    return max(low - value, value - high, 0.0)


# assumed: cut so that every shipped circuit has complaints for most levels
RANGES = {
    1: Range((0.8, 3.2), (4.0, 20.0)),
    2: Range((2.6, 3.5), (16.0, 30.0)),
    3: Range((3.3, 4.4), (26.0, 50.0)),
    4: Range((1.2, 3.2), (8.0, 33.0)),
    5: Range((2.6, 4.4), (24.0, 50.0)),
}


@dataclass(frozen=True, eq=False)
class Task:
    """A task.

    Attributes
    ----------
    draw : int
        Which of the seed's draws is the first that fits the level.
    vehicle : FaultyVehicle
        With the hidden fault.
    class_key : str
        Of the class whose task it is; empty for everybody's.
    """

    seed: int
    level: int
    draw: int
    vehicle: FaultyVehicle
    text: str
    difficulty: Difficulty
    class_key: str = ""

    @cached_property
    def consultation(self) -> Consultation:
        """What a good diagnostician knows after the complaint."""
        return _consultation(self.circuit, self.gauge, self.text)

    @property
    def work(self) -> Job:
        """The same as a planning problem."""
        return self.consultation.job

    @property
    def circuit(self) -> Circuit:
        """The circuit."""
        return self.vehicle.circuit

    @property
    def gauge(self) -> str:
        """The gauge complained of."""
        return self.vehicle.gauge

    @property
    def told(self) -> tuple[str, ...]:
        """The complaint in words, a line for each thing that was seen."""
        seen = self.work.diagnosis.posteriors[0].observations
        return tuple(f"{entry.subject}: {entry.seen}".replace("_", " ") for entry in seen)

    @property
    def fault(self) -> str:
        """The hidden fault, as the ranking would call it."""
        return fault_name(self.circuit, self.vehicle.fault, self.gauge)


def task_of(
    circuit: Circuit, gauge: str, seed: int, level: int, draw: int, class_key: str = ""
) -> Task | None:
    """The task of one draw. None if its fault does not show, or cannot be worked out from the complaint."""
    noticed = _noticed(circuit, gauge, seed, level, draw, class_key)
    return noticed.task if noticed and noticed.in_question else None


def first_draw(
    circuit: Circuit, gauge: str, seed: int, level: int, class_key: str = ""
) -> tuple[Task | None, bool]:
    """The task of a seed if its first draw fits the level already: then nothing else has to be compared."""
    asked, noticed = RANGES[level], _noticed(circuit, gauge, seed, level, 0, class_key)
    if noticed is None:
        return None, True
    if not noticed.in_question:
        return None, asked.may_fit(noticed.bits)
    fits = asked.may_fit(noticed.bits) and asked.distance(noticed.task.difficulty) == 0.0
    return (noticed.task if fits else None), fits


@dataclass(frozen=True, eq=False)
class _Noticed:
    """A draw whose owner notices something.

    Attributes
    ----------
    bits : float
        Of its ambiguity, which is known before its plan.
    """

    seed: int
    level: int
    draw: int
    vehicle: FaultyVehicle
    text: str
    bits: float
    in_question: bool
    class_key: str

    @property
    def task(self) -> Task:
        """The task; its plan takes as long as all that was worked out before."""
        vehicle, text = self.vehicle, self.text
        difficulty = vehicle.circuit.recall(
            ("difficulty", text),
            {},
            lambda: difficulty_of(_consultation(vehicle.circuit, vehicle.gauge, text).job),
        )
        return Task(self.seed, self.level, self.draw, vehicle, text, difficulty, self.class_key)


def _noticed(
    circuit: Circuit, gauge: str, seed: int, level: int, draw: int, class_key: str
) -> _Noticed | None:
    """A draw, if its fault shows."""
    vehicle = draw_vehicle(circuit, gauge, seed, level, draw, class_key)
    text = complaint(vehicle)
    if text is None:
        return None
    # many vehicles have the same complaint
    faults, bits = circuit.recall(
        ("in question", text), {}, lambda: _in_question(_consultation(circuit, gauge, text).diagnosis)
    )
    in_question = fault_name(circuit, vehicle.fault, gauge) in faults
    return _Noticed(seed, level, draw, vehicle, text, bits, in_question, class_key)


def _in_question(diagnosis: Diagnosis) -> tuple[frozenset[str], float]:
    """Faults that a complaint leaves in question, and its ambiguity."""
    suspects = Suspects(diagnosis.posteriors[0], diagnosis)
    repairs = [entry.repair for entry in suspects.hypotheses]
    names = dict.fromkeys(repairs)
    chance = np.bincount([[*names].index(repair) for repair in repairs], suspects.weight)
    return frozenset(entry.fault for entry in suspects.hypotheses), _entropy(chance)


def _consultation(circuit: Circuit, gauge: str, text: str) -> Consultation:
    """What a complaint leaves open; what its needles show under each fault is the same for all complaints."""

    def consultation() -> Consultation:
        any_one = keep_last(circuit, "any complaint", gauge, lambda: _any_complaint(circuit, gauge))
        return any_one.with_case(case_of(text, Path("complaint.toml")))

    return keep_last(circuit, "work", text, consultation)


def keep_last(circuit: Circuit, what: str, key: Hashable, make: Callable[[], _Kept]) -> _Kept:
    """Work something out on a circuit, and keep only the last of its kind: a task takes tens of megabytes."""
    kept: dict[Hashable, _Kept] = circuit.recall(("last", what), {}, dict)
    if key not in kept:
        made = make()
        kept.clear()
        kept[key] = made
    return kept[key]


def _any_complaint(circuit: Circuit, gauge: str) -> Consultation:
    first = Consultation(case_of(nothing_noticed(circuit, gauge), Path("complaint.toml")), (circuit,))
    return replace(first, before=first.diagnosis)


def difficulty_of(work: Job) -> Difficulty:
    """Measure how hard a complaint is to work out."""
    chance = np.bincount(work.problem.repair_of, work.weight, work.problem.repairs)
    chance = chance / chance.sum()
    enough = int(np.searchsorted(np.cumsum(np.sort(chance)[::-1]), 0.95 - 1e-12)) + 1
    expected = next_action(work.problem).expected_minutes
    unavoidable = float(work.weight @ repair_with_place(work.problem)[work.problem.repair_of])
    return Difficulty(
        bits=_entropy(chance),
        suspects=min(enough, int(np.count_nonzero(chance))),
        expected_minutes=expected,
        search_minutes=max(expected - unavoidable, 0.0),
    )


def _entropy(chance: np.ndarray) -> float:
    share = chance[chance > 0] / chance.sum()
    return float(-(share * np.log2(share)).sum())


def repair_with_place(problem: Problem) -> np.ndarray:
    """Minutes of each repair with opening its place, if that is not open from the start.

    Returns
    -------
    ndarray, shape (repairs,)
        [min]
    """
    closed = problem.setup_minutes.copy()
    closed[sorted(problem.opened)] = 0.0
    place = problem.repair_places
    return np.asarray(problem.repair_minutes + np.where(place == NO_PLACE, 0.0, closed[place]))


def set_task(circuit: Circuit, gauge: str, seed: int, level: int, class_key: str = "") -> Task:
    """Hide a fault. The first draw that fits the level, or of so many the one that is nearest to it.

    Parameters
    ----------
    class_key : str
        Of the class that it is set to, see `chance.class_key`; empty for everybody.

    Raises
    ------
    CaseError
        For a level that there is not.
    UnsolvableError
        If the circuit has no fault that shows on this gauge.
    """
    if level not in LEVELS:
        raise CaseError(f"level {level} does not exist", "--level", "give 1 to 5")
    refuse_seed(seed)
    return keep_last(
        circuit,
        "task",
        (gauge, seed, level, class_key),
        lambda: _first_fitting(circuit, gauge, seed, level, class_key),
    )


def _first_fitting(circuit: Circuit, gauge: str, seed: int, level: int, class_key: str) -> Task:
    """Complaints are planned only where their ambiguity fits, unless none does."""
    asked = RANGES[level]
    possible: list[_Noticed] = []
    for draw in range(LOOKED_AT):
        noticed = _noticed(circuit, gauge, seed, level, draw, class_key)
        if noticed is None or not noticed.in_question:
            continue
        if asked.may_fit(noticed.bits) and asked.distance(noticed.task.difficulty) == 0.0:
            return noticed.task
        possible.append(noticed)
        if len({each.text for each in possible}) == COMPARED:
            break
    if not possible:
        raise UnsolvableError(
            f"no fault of {circuit.id} shows on the {circuit.gauge(gauge).called} gauge"
            " and can be worked out",
            remedy="take another gauge or circuit",
        )
    return min((noticed.task for noticed in possible), key=lambda task: asked.distance(task.difficulty))
