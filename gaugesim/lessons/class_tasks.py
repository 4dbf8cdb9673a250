"""Which tasks a class gets: different ones as far as there are, the same for the same seed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from itertools import chain, repeat
from typing import Generic, TypeVar

from gaugesim.circuit import Circuit
from gaugesim.diagnosis import fault_name
from gaugesim.errors import CaseError
from gaugesim.lessons.chance import generator
from gaugesim.lessons.complaints import likely_complaints
from gaugesim.lessons.draws import UPPER_LEVEL, draw_vehicle
from gaugesim.lessons.task import Task, first_draw, set_task

# a class is no larger than this
MOST_SHEETS = 60
# seeds of a class's tasks have so many figures, so that they can be typed
SEEDS = 1_000_000
# seeds whose first draws are looked at, so many at once; and seeds for each task of which all draws are
BLOCK, BLOCKS, FOR_EACH = 100, 6, 4
# so many are tried at once: the more, the less any process waits for another
LEAST_AT_ONCE, MOST_AT_ONCE = 2, 12
_Sheet = TypeVar("_Sheet")
Key = tuple[str, ...]


@dataclass(frozen=True)
class Candidate:
    """A seed that may give a task.

    Attributes
    ----------
    rule : str
        What no two tasks may have in common: the ``fault``, fault and complaint (``told``), or the ``seed``.
    fault, told : str
        The fault of its first draw and what its owner is likely to tell; empty if all its draws count.
    """

    seed: int
    rule: str
    fault: str = ""
    told: str = ""

    def keys(self, fault: str, complaint: str) -> dict[str, Key]:
        """By rule, what no other task may have if this is its fault and its complaint."""
        return {"fault": (fault,), "told": (fault, complaint), "seed": (str(self.seed),)}

    def is_taken(self, taken: Collection[Key]) -> bool:
        """Whether its seed is taken, or what is known of it already."""
        keys = self.keys(self.fault, self.told)
        return keys["seed"] in taken or (self.fault != "" and keys[self.rule] in taken)


@dataclass(frozen=True)
class Tried(Generic[_Sheet]):
    """What came of a candidate.

    Attributes
    ----------
    sheet : object or None
        What was made of its task; None if it has none, or one whose key is taken.
    hopeful : bool
        Whether another fault with the same complaint may fit the level.
    """

    fault: str = ""
    told: str = ""
    sheet: _Sheet | None = None
    hopeful: bool = True


# tries a candidate, given the keys that are taken
Attempt = Callable[[Candidate, frozenset[Key]], Tried[_Sheet]]


@dataclass(frozen=True)
class Class:
    """Whom tasks are for.

    Attributes
    ----------
    key : str
        See `chance.class_key`; empty for everybody.
    """

    circuit: Circuit
    gauge: str
    seed: int
    level: int
    count: int
    key: str = ""

    def task(self, candidate: Candidate) -> tuple[Task | None, bool]:
        """The task of a candidate, see `first_draw`."""
        of = self.circuit, self.gauge, candidate.seed, self.level, self.key
        return first_draw(*of) if candidate.fault else (set_task(*of), True)

    def candidates(self) -> Iterator[Candidate]:
        """Seeds in the order in which they are tried, several times over, each time by a laxer rule."""
        # two faults at once are seldom worked out at the first draw
        if self.level < UPPER_LEVEL:
            drawn = []
            for candidate in self._first_draws():
                drawn.append(candidate)
                yield candidate
            yield from (replace(candidate, rule="told") for candidate in drawn)
        for rule in ("fault", "told", "seed"):
            yield from (Candidate(seed, rule) for seed in self._seeds(0, FOR_EACH * self.count))

    def _first_draws(self) -> Iterator[Candidate]:
        for first in range(0, BLOCKS * BLOCK, BLOCK):
            seeds = [*self._seeds(first, first + BLOCK)]
            vehicles = [draw_vehicle(self.circuit, self.gauge, n, self.level, 0, self.key) for n in seeds]
            for seed, vehicle, text in zip(seeds, vehicles, likely_complaints(vehicles), strict=True):
                if text is not None:
                    yield Candidate(seed, "fault", fault_name(self.circuit, vehicle.fault, self.gauge), text)

    def _seeds(self, first: int, last: int) -> Iterator[int]:
        for number in range(first, last):
            luck = generator("sheet", self.circuit.id, self.gauge, self.seed, self.level, number)
            yield int(luck.integers(SEEDS))


def choose_tasks(
    wanted: Class, attempt: Attempt[_Sheet], executor: Executor | None = None
) -> Iterator[_Sheet]:
    """Choose tasks, and make something of each.

    Parameters
    ----------
    executor : concurrent.futures.Executor, optional
        Any that does so, as a pool of processes; what is chosen is the same.

    Raises
    ------
    CaseError
        If that many make no sense.
    """
    if not 1 <= wanted.count <= MOST_SHEETS:
        raise CaseError(f"{wanted.count} is no number of sheets", "--sheet", f"give 1 to {MOST_SHEETS}")
    taken: set[Key] = set()
    hopeless: set[str] = set()
    queue, left = wanted.candidates(), wanted.count
    while left:
        wave, queue = _wave(queue, taken, hopeless, max(min(left, MOST_AT_ONCE), LEAST_AT_ONCE))
        if not wave:
            return
        each = repeat(frozenset(taken), len(wave))
        results = executor.map(attempt, wave, each) if executor else map(attempt, wave, each)
        for candidate, tried in zip(wave, results, strict=True):
            if candidate.told and not tried.hopeful:
                hopeless.add(candidate.told)
            keys = candidate.keys(tried.fault, tried.told)
            new = not {keys["seed"], keys[candidate.rule]} & taken
            if left and tried.sheet is not None and new:
                taken |= {*keys.values()}
                left -= 1
                yield tried.sheet


def _wave(
    queue: Iterator[Candidate], taken: Collection[Key], hopeless: Collection[str], most: int
) -> tuple[list[Candidate], Iterator[Candidate]]:
    """The next that are worth trying, of different faults and complaints, as one may decide on its like."""
    wave: list[Candidate] = []
    waiting: list[Candidate] = []
    marks: set[str] = set()
    for candidate in queue:
        if candidate.told in hopeless or candidate.is_taken(taken):
            continue
        own = {candidate.fault, candidate.told} - {""}
        (waiting if marks & own else wave).append(candidate)
        marks |= own
        if len(wave) == most:
            break
    return wave, chain(waiting, queue)
