"""How well a ranking names the faults of real complaints, the cases of this folder."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path

from gaugesim.case import read
from gaugesim.diagnosis import diagnose

FOLDER = Path(__file__).parent
# no probability counts as less
LEAST = 1e-6


@dataclass(frozen=True)
class Ending:
    """What a complaint turned out to be; the attributes are the keys of ``endings.toml``."""

    id: str
    truth: str
    accept: tuple[str, ...]
    also: tuple[str, ...]
    tier: str
    evidence: str
    movement: str
    source: str


@dataclass(frozen=True)
class Answer:
    """What a ranking says: faults and their probabilities, likeliest first, and those not told apart."""

    gauge: str
    faults: tuple[str, ...]
    probabilities: tuple[float, ...]
    groups: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class Score:
    """How an answer stands to the ending.

    Attributes
    ----------
    ending : Ending
    top : str
        The likeliest fault.
    rank : int or None
        Of the first fault that is accepted, or could not be told from it.
    probability : float
        Of all of these together.
    inseparable : bool
        Whether an accepted fault is among those that are not told from the first.
    """

    ending: Ending
    top: str
    rank: int | None
    probability: float
    inseparable: bool

    @property
    def first(self) -> bool:
        """Whether the truth comes first, or inseparable from the first."""
        return self.rank == 1 or self.inseparable

    @property
    def bits(self) -> float:
        """Logarithm to base 2 of the probability of the truth."""
        return math.log2(max(self.probability, LEAST))


@cache
def endings() -> Mapping[str, Ending]:
    """Every case's ending, by the name of its file."""
    found = tomllib.loads((FOLDER / "endings.toml").read_text())
    return {
        name: Ending(name, accept=tuple(row.pop("accept")), also=tuple(row.pop("also")), **row)
        for name, row in found.items()
    }


def case_path(name: str) -> Path:
    """The file of a case."""
    return FOLDER / "cases" / f"{name}.toml"


def ranked(name: str) -> Answer:
    """What the program ranks for a case."""
    found = diagnose(read(case_path(name)))
    return Answer(
        found.gauge,
        tuple(row.fault for row in found.ranking),
        tuple(row.probability for row in found.ranking),
        found.groups,
    )


def fits(fault: str, patterns: Iterable[str]) -> bool:
    """Whether a fault, or either half of a pair, is meant by a pattern."""
    return any(fnmatchcase(half.split("@")[0], pattern) for half in fault.split("+") for pattern in patterns)


def _own(patterns: Sequence[str], gauge: str) -> list[str]:
    """Patterns also without the name of the gauge complained of, which the ranking leaves out."""
    heads = [head for head in ("oil", "fuel", "temp", "voltmeter") if gauge.startswith(head)]
    short = [
        re.sub(
            rf"^{head}(_sender(?==)|\*|_)", lambda match: "sender" if "sender" in match[1] else "", pattern
        )
        for head in heads
        for pattern in patterns
        if pattern.startswith(head)
    ]
    return [*patterns, *short]


def score(ending: Ending, answer: Answer) -> Score:
    """Compare a ranking with the known ending."""
    accepted = _own(ending.accept, answer.gauge)
    both = [*accepted, *_own(ending.also, answer.gauge)]
    rank = next((i + 1 for i, fault in enumerate(answer.faults) if fits(fault, both)), None)
    top = answer.faults[0] if answer.faults else ""
    group = next((group for group in answer.groups if top in group), (top,))
    chance = sum(p for fault, p in zip(answer.faults, answer.probabilities, strict=True) if fits(fault, both))
    return Score(ending, top, rank, min(1.0, chance), any(fits(fault, accepted) for fault in group))


def summary(scores: Sequence[Score]) -> dict[str, float]:
    """Counts and means of some scores."""
    return {
        "cases": len(scores),
        "first": sum(one.first for one in scores),
        "in_three": sum((one.rank or 99) <= 3 for one in scores),
        "bits": sum(one.bits for one in scores) / max(len(scores), 1),
        "below_one_percent": sum(one.probability < 0.01 for one in scores),
    }


def scores(answer: Callable[[str], Answer] = ranked, names: Iterable[str] | None = None) -> list[Score]:
    """Score every case, or some of them, by a way of answering."""
    known = endings()
    return [score(known[name], answer(name)) for name in (known if names is None else names)]
