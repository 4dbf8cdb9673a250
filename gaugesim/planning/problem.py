"""What a planner knows: how likely each fault is, what each check would show, and what everything costs.

It says nothing of circuits: faults, checks, places and repairs are numbers. There is one fault. A repair of
the right part ends the job, a repair of another part leaves the fault, and which of the two it was is seen at
once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gaugesim.arrays import Floats

Integers = NDArray[np.intp]
Booleans = NDArray[np.bool_]

CHECK = "check"
REPAIR = "repair"
NO_PLACE = -1
# a step is not proposed if it does harm with more than this probability: assumed
BELIEVED = 0.02
# Rows of outcome probabilities are sums of many terms.
_SUM_TOLERANCE = 1e-9


@dataclass(frozen=True, order=True)
class Step:
    """One thing to do.

    Attributes
    ----------
    kind : str
        `CHECK` or `REPAIR`.
    """

    kind: str
    number: int


@dataclass(frozen=True, eq=False)
class Problem:
    """Faults, checks, places and repairs.

    Attributes
    ----------
    weight : ndarray, shape (faults,)
        Probability of each fault [1]; any common factor does no harm.
    outcomes : tuple of ndarray, each of shape (faults, outcomes of that check)
        Probability of each outcome of a check under each fault [1]; rows of 0 and 1 are a check that cannot
        err. Checks err independently; one done again shows the same again.
    check_minutes : ndarray, shape (checks,)
        Time that each takes once its places are open [min].
    setup_minutes : ndarray, shape (places,)
        Time to open each place [min], paid once.
    repair_minutes : ndarray, shape (repairs,)
        Time of each repair and of seeing whether it helped [min], once its place is open.
    repair_places : ndarray of int, shape (repairs,)
        The place that each repair needs open, `NO_PLACE` if none.
    repair_of : ndarray of int, shape (faults,)
        The repair that mends each fault; left out, fault number i has repair number i.
    price : ndarray, shape (repairs,)
        Price of the parts of each repair, in any currency; left out, nothing.
    price_per_minute : float
        What a minute of work is worth in that currency; infinite where prices do not matter.
    harm : mapping
        From a step to the probability under each fault, shape (faults,), that it does harm [1]; steps that
        never do are left out.

    Raises
    ------
    ValueError
        If a shape, a number or a row does not fit the rest.

    Examples
    --------
    Two suspects, the sender and the panel connector. A jumper at the sender tells them apart.

    >>> problem = Problem(
    ...     weight=[0.7, 0.3],
    ...     outcomes=[[[1, 0], [0, 1]]],
    ...     check_minutes=[4],
    ...     check_places=[[0]],
    ...     setup_minutes=[2, 20],
    ...     repair_minutes=[15, 10],
    ...     repair_places=[0, 1],
    ... )
    >>> problem.faults, problem.checks, problem.repairs
    (2, 1, 2)
    """

    weight: Floats
    outcomes: tuple[Floats, ...]
    check_minutes: Floats
    check_places: tuple[tuple[int, ...], ...]
    setup_minutes: Floats
    repair_minutes: Floats
    repair_places: Integers
    repair_of: Integers = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    opened: frozenset[int] = frozenset()
    price: Floats = field(default_factory=lambda: np.zeros(0))
    price_per_minute: float = np.inf
    harm: Mapping[Step, Floats] = field(default_factory=dict)

    def __post_init__(self) -> None:
        weight = _numbers("weight", self.weight)
        repair_minutes = _numbers("repair_minutes", self.repair_minutes)
        repair_of = self.repair_of if len(self.repair_of) else np.arange(len(weight))
        price = self.price if len(self.price) else np.zeros(len(repair_minutes))
        settled = {
            "weight": weight,
            "outcomes": tuple(_rows(f"outcomes[{i}]", rows) for i, rows in enumerate(self.outcomes)),
            "check_minutes": _numbers("check_minutes", self.check_minutes),
            "check_places": tuple(tuple(sorted({int(k) for k in ks})) for ks in self.check_places),
            "setup_minutes": _numbers("setup_minutes", self.setup_minutes),
            "repair_minutes": repair_minutes,
            "repair_places": _whole("repair_places", self.repair_places),
            "repair_of": _whole("repair_of", repair_of),
            "opened": frozenset(int(k) for k in self.opened),
            "price": _numbers("price", price),
        }
        for name, value in settled.items():
            object.__setattr__(self, name, value)
        self._refuse_what_does_not_fit()

    def _refuse_what_does_not_fit(self) -> None:
        lengths = {
            "check_minutes": (self.check_minutes, self.checks, "outcomes"),
            "check_places": (self.check_places, self.checks, "outcomes"),
            "repair_places": (self.repair_places, self.repairs, "repair_minutes"),
            "repair_of": (self.repair_of, self.faults, "weight"),
            "price": (self.price, self.repairs, "repair_minutes"),
        }
        for name, (values, length, other) in lengths.items():
            if len(values) != length:
                raise ValueError(f"{name} must be as long as {other}, {length}, but has {len(values)}")
        for i, rows in enumerate(self.outcomes):
            if len(rows) != self.faults:
                raise ValueError(f"outcomes[{i}] must have one row for each of {self.faults} faults")
        if not self.weight.sum() > 0:
            raise ValueError("weight must not be zero for every fault")
        for name in ("check_minutes", "repair_minutes"):
            if np.any(getattr(self, name) <= 0):
                raise ValueError(f"{name} must be above zero")
        if not self.price_per_minute > 0:
            raise ValueError(f"price_per_minute must be above zero, but {self.price_per_minute:g} was given")
        places = range(self.places)
        for name, used in (
            ("check_places", {k for ks in self.check_places for k in ks}),
            ("repair_places", set(self.repair_places.tolist()) - {NO_PLACE}),
            ("opened", self.opened),
        ):
            if used - set(places):
                raise ValueError(f"{name} must name places below {self.places}, but has {max(used)}")
        if len(self.repair_of) and not 0 <= self.repair_of.min() <= self.repair_of.max() < self.repairs:
            raise ValueError(f"repair_of must name repairs below {self.repairs}")

    @property
    def faults(self) -> int:
        """Number of faults."""
        return len(self.weight)

    @property
    def checks(self) -> int:
        """Number of checks."""
        return len(self.outcomes)

    @property
    def repairs(self) -> int:
        """Number of repairs."""
        return len(self.repair_minutes)

    @property
    def places(self) -> int:
        """Number of places."""
        return len(self.setup_minutes)

    @property
    def repair_cost(self) -> Floats:
        """Time of each repair and the price of its parts as time, shape (repairs,) [min]."""
        return self.repair_minutes + self.price / self.price_per_minute


@dataclass(frozen=True, eq=False)
class Belief:
    """How far a job has come.

    Attributes
    ----------
    weight : ndarray, shape (faults,)
        Probability of each fault and of all that was seen, up to a common factor [1].
    """

    weight: Floats
    opened: frozenset[int]
    remaining: frozenset[int]


def start(problem: Problem) -> Belief:
    """The state in which nothing has been done."""
    return Belief(problem.weight, problem.opened, frozenset(range(problem.checks)))


def step_minutes(problem: Problem, state: Belief, step: Step) -> float:
    """What a step costs now, with the places that must be opened for it and the price of parts.

    Time [min].
    """
    closed = needed_places(problem, step) - state.opened
    own = problem.check_minutes if step.kind == CHECK else problem.repair_cost
    return float(own[step.number] + problem.setup_minutes[sorted(closed)].sum())


def needed_places(problem: Problem, step: Step) -> frozenset[int]:
    """The places that must be open for a step."""
    if step.kind == CHECK:
        return frozenset(problem.check_places[step.number])
    return frozenset({int(problem.repair_places[step.number])} - {NO_PLACE})


def harms(problem: Problem, state: Belief, step: Step) -> bool:
    """Whether a step is likelier to do harm than may be risked."""
    chance = problem.harm.get(step)
    return chance is not None and bool(chance @ state.weight > BELIEVED * state.weight.sum())


def after_check(problem: Problem, state: Belief, check: int, outcome: int) -> Belief:
    """The state after a check has shown one of its outcomes.

    Returns
    -------
    Belief
        Its weights sum to those of `state` times the probability of the outcome.
    """
    return Belief(
        state.weight * problem.outcomes[check][:, outcome],
        state.opened | needed_places(problem, Step(CHECK, check)),
        state.remaining - {check},
    )


def after_repair(problem: Problem, state: Belief, repair: int) -> Belief:
    """The state after a repair that has not helped.

    Returns
    -------
    Belief
        Its weights sum to those of `state` times the probability that the repair does not help.
    """
    return replace(
        state,
        weight=np.where(problem.repair_of == repair, 0.0, state.weight),
        opened=state.opened | needed_places(problem, Step(REPAIR, repair)),
    )


def _numbers(name: str, values: ArrayLike) -> Floats:
    array = np.array(values, dtype=np.float64)
    if array.ndim != 1 or not np.all(np.isfinite(array) & (array >= 0)):
        raise ValueError(f"{name} must be a row of finite numbers, zero or more")
    array.setflags(write=False)
    return array


def _whole(name: str, values: ArrayLike) -> Integers:
    array = np.array(values)
    if array.ndim != 1 or (array.size and array.dtype.kind not in "iu"):
        raise ValueError(f"{name} must be a row of whole numbers")
    array = array.astype(np.intp)
    array.setflags(write=False)
    return array


def _rows(name: str, values: ArrayLike | Sequence[Sequence[float]]) -> Floats:
    array = np.array(values, dtype=np.float64)
    if array.ndim != 2 or not np.all(array >= 0) or np.any(abs(array.sum(axis=1) - 1) > _SUM_TOLERANCE):
        raise ValueError(f"{name} must have rows of probabilities that sum to 1")
    array.setflags(write=False)
    return array
