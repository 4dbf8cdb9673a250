"""The page's own reckoning, in Python: what each tap does to the suspects, and which check it offers next.

The first checks are those of the plan. Where it ends, or is left for another check, the page offers what
tells most for its minutes: a browser can work that out at once.

The page does the same in the browser, number for number; tests compare the two,
and this with Bayes' rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from gaugesim.advice.check_advice import ANYTHING
from gaugesim.planning.problem import BELIEVED
from gaugesim.report.first_steps import Planned
from gaugesim.report.tables import PageData

# what tells less is no check to offer [bit]
NOTHING = 1e-6
# worth within this share of each other is the same worth
EQUAL = 1e-9
# no check takes less [minute]
LEAST_MINUTES = 0.1
# any reading may be a slip, as in `gaugesim.evidence.likelihood`
SLIP = 0.03


@dataclass(frozen=True)
class Number:
    """A check that was answered with a number [position, V or ohm]."""

    check: int
    value: float


@dataclass(frozen=True)
class Mended:
    """A repair, and whether it was the cure."""

    repair: int
    cured: bool


# a check and the number of its outcome, or one of these
Tap = tuple[int, int] | Number | Mended


@dataclass(frozen=True)
class Standing:
    """Where a job stands after some taps.

    Attributes
    ----------
    probability : tuple of float
        Of each suspect, "none of these" last.
    opened : frozenset of int
        Places that are open.
    done : tuple of int
        Checks that have been made.
    minutes : float
        Spent so far.
    next_check : int
        The check to offer, -1 if none tells anything more, or the complaint is cured.
    mend : str
        What the plan would mend at once instead, in words; else empty.
    """

    probability: tuple[float, ...]
    opened: frozenset[int]
    done: tuple[int, ...]
    minutes: float
    next_check: int
    mend: str = ""


def standing(data: PageData, taps: Sequence[Tap] = ()) -> Standing:
    """Follow a sequence of taps.

    Examples
    --------
    >>> from gaugesim.report.first_steps import Planned
    >>> from gaugesim.report.tables import PageCheck, PageData, PageOutcome, PagePlace, PageSuspect
    >>> suspects = [PageSuspect(name, name, "", "", "", p) for name, p in (("sender", 0.9), ("none", 0.1))]
    >>> table = ((0.9, 0.5), (0.1, 0.5))
    >>> outcomes = (PageOutcome("low", ""), PageOutcome("high", ""))
    >>> check = PageCheck("unplug", "unplug", "", "", 2.0, (0,), (), outcomes, table)
    >>> places = (PagePlace("hatch", 5.0, False),)
    >>> data = PageData("", (), tuple(suspects), (check,), Planned(0, ""), places, (), (), 0, "")
    >>> now = standing(data, [(0, 1)])
    >>> [round(p, 3) for p in now.probability], now.minutes, now.next_check
    ([0.643, 0.357], 7.0, -1)
    """
    probability = _normal([suspect.probability for suspect in data.suspects])
    opened = {k for k, place in enumerate(data.places) if place.open}
    minutes = 0.0
    done = []
    cured = data.cured is not None
    for tap in taps:
        if isinstance(tap, Mended):
            repair = data.repairs[tap.repair]
            took, places = repair.minutes, repair.places
            row = (1.0,) * len(probability) if tap.cured else repair.unchanged
            cured = tap.cured
        else:
            check = tap.check if isinstance(tap, Number) else tap[0]
            took, places = data.checks[check].minutes, data.checks[check].places
            row = number_row(data, tap) if isinstance(tap, Number) else data.checks[check].likelihood[tap[1]]
            done.append(check)
        minutes += took + _opening(data, places, opened)
        opened |= set(places)
        probability = _normal([p * q for p, q in zip(probability, row, strict=True)])
    plan = at(data.plan, answers(data, taps))
    offered = -1 if cured else plan.check if plan else _next(data, probability, opened, done)
    mend = plan.mend if plan and not cured else ""
    return Standing(tuple(probability), frozenset(opened), tuple(done), minutes, offered, mend)


def answers(data: PageData, taps: Iterable[Tap]) -> list[tuple[int, int]]:
    """Taps as the plan knows them: numbers in their words, a repair as a step that no plan has.

    Check and outcome.
    """
    found = []
    for tap in taps:
        if isinstance(tap, Mended):
            found.append((-1, tap.repair))
        elif isinstance(tap, Number):
            number = data.checks[tap.check].number
            assert number is not None
            found.append((tap.check, sum(tap.value > limit for limit in number.limits)))
        else:
            found.append(tap)
    return found


def number_row(data: PageData, tap: Number) -> tuple[float, ...]:
    """How likely a number is under each suspect, "none of these" last.

    Densities, in the inverse of what the number is told in.
    """
    number = data.checks[tap.check].number
    assert number is not None
    value = math.log(tap.value + number.floor) if number.floor else tap.value
    row, sound = [0.0] * len(data.suspects), 0.0
    for cell, middle, spread in zip(data.cells, number.middle, number.spread, strict=True):
        if middle is None:
            density = 1.0 / number.span
        else:
            off = (value - middle) / spread
            density = math.exp(-0.5 * off * off) / (spread * math.sqrt(2.0 * math.pi))
        if cell.suspect < 0:
            sound = density
        else:
            row[cell.suspect] += cell.weight * (cell.acts * density + (1.0 - cell.acts) * sound)
    row = [(1.0 - SLIP) * density + SLIP / number.span for density in row]
    known = _normal([suspect.probability for suspect in data.suspects[:-1]])
    average = sum(p * density for p, density in zip(known, row, strict=False))
    row[-1] = (1.0 - ANYTHING) * average + ANYTHING / number.span
    return tuple(row)


def cost(data: PageData, check: int, opened: set[int] | frozenset[int]) -> float:
    """Minutes of a check with the set-up of places that are not open."""
    told = data.checks[check]
    return told.minutes + _opening(data, told.places, opened)


def _opening(data: PageData, places: Iterable[int], opened: set[int] | frozenset[int]) -> float:
    return sum(data.places[k].minutes for k in places if k not in opened)


def bits(data: PageData, check: int, probability: Sequence[float]) -> float:
    """Information that a check is expected to give about which of the modelled faults it is [bit].

    Parameters
    ----------
    probability : sequence of float
        Of each suspect, "none of these" last [1].
    """
    # which of the modelled faults it is; nothing can be planned for "none of these"
    modelled = _normal(probability[:-1])
    total = 0.0
    for row in data.checks[check].likelihood:
        chance = sum(p * q for p, q in zip(modelled, row[:-1], strict=True))
        if chance <= 0:
            continue
        total += sum(
            p * q * math.log2(q / chance) for p, q in zip(modelled, row[:-1], strict=True) if p > 0 and q > 0
        )
    return total


def would_burn(data: PageData, check: int, probability: Sequence[float]) -> bool:
    """Whether a check is not offered, because something that is believed would make it burn."""
    modelled = _normal(probability[:-1])
    return sum(p * q for p, q in zip(modelled, data.checks[check].burns, strict=False)) > BELIEVED


def _next(data: PageData, probability: Sequence[float], opened: set[int], done: Sequence[int]) -> int:
    best, most = -1, 0.0
    for check in range(len(data.checks)):
        if check in done or would_burn(data, check, probability):
            continue
        told = bits(data, check, probability)
        worth = told / max(cost(data, check, opened), LEAST_MINUTES)
        # the first of equals; what differs in the last digits only counts as equal
        if told > NOTHING and worth > most * (1 + EQUAL):
            best, most = check, worth
    return best


def _normal(values: Sequence[float]) -> list[float]:
    total = sum(values)
    return [value / total for value in values] if total > 0 else list(values)


def at(plan: Planned, taps: list[tuple[int, int]]) -> Planned | None:
    """Where a plan stands after some taps.

    None where the job has left the plan, or come to the end of what is planned.

    Parameters
    ----------
    taps : list of (int, int)
        Check and outcome.

    Examples
    --------
    >>> plan = Planned(7, "", (), ((1, Planned(-1, "tighten the nut")),))
    >>> at(plan, [(7, 1)]).mend, at(plan, [(7, 0)]), at(plan, [(3, 1)])
    ('tighten the nut', None, None)
    """
    now: Planned | None = plan
    for check, outcome in taps:
        if now is None or check != now.check:
            return None
        now = dict(now.then).get(outcome)
    return now
