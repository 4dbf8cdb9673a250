"""The page's own reckoning, in Python: what each tap does to the suspects, and which check it offers next.

The first checks are those of the plan. Where it ends, or is left for another check, the page offers what
tells most for its minutes: a browser can work that out at once.

The page does the same in the browser, number for number; a test compares the two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from gaugesim.report.planned import at
from gaugesim.report.tables import PageData

# what tells less is no check to offer [bit]
NOTHING = 1e-6
# worth within this share of each other is the same worth
EQUAL = 1e-9
# no check takes less [minute]
LEAST_MINUTES = 0.1


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
        The check to offer, -1 if none tells anything more.
    mend : str
        What the plan would mend at once instead, in words; else empty.
    """

    probability: tuple[float, ...]
    opened: frozenset[int]
    done: tuple[int, ...]
    minutes: float
    next_check: int
    mend: str = ""


def standing(data: PageData, taps: Sequence[tuple[int, int]] = ()) -> Standing:
    """Follow a sequence of taps.

    Parameters
    ----------
    taps : sequence of (int, int)
        Check and outcome.

    Examples
    --------
    >>> from gaugesim.report.planned import Planned
    >>> from gaugesim.report.tables import PageCheck, PageData, PageOutcome, PagePlace, PageSuspect
    >>> suspects = [PageSuspect(name, name, "", "", "", p) for name, p in (("sender", 0.9), ("none", 0.1))]
    >>> table = ((0.9, 0.5), (0.1, 0.5))
    >>> outcomes = (PageOutcome("low", ""), PageOutcome("high", ""))
    >>> check = PageCheck("unplug", "unplug", "", "", "", 2.0, (0,), (), outcomes, table)
    >>> places = (PagePlace("hatch", 5.0, False),)
    >>> data = PageData("", (), tuple(suspects), (check,), Planned(0, ""), places, (), (), (), "")
    >>> now = standing(data, [(0, 1)])
    >>> now.probability, now.minutes, now.next_check
    ((0.642857, 0.357143), 7.0, -1)
    """
    probability = _normal([suspect.probability for suspect in data.suspects])
    opened = {k for k, place in enumerate(data.places) if place.open}
    minutes = 0.0
    for check, outcome in taps:
        told = data.checks[check]
        minutes += cost(data, check, opened)
        opened |= set(told.places)
        row = told.likelihood[outcome]
        probability = _normal([p * q for p, q in zip(probability, row, strict=True)])
    done = tuple(check for check, _ in taps)
    plan = at(data.plan, [*taps])
    offered = plan.check if plan else _next(data, probability, opened, done)
    return Standing(tuple(probability), frozenset(opened), done, minutes, offered, plan.mend if plan else "")


def cost(data: PageData, check: int, opened: set[int] | frozenset[int]) -> float:
    """Minutes of a check with the set-up of places that are not open."""
    told = data.checks[check]
    return told.minutes + sum(data.places[k].minutes for k in told.places if k not in opened)


def bits(data: PageData, check: int, probability: Sequence[float]) -> float:
    """Information that a check is expected to give about which of the modelled faults it is.

    Parameters
    ----------
    probability : sequence of float
        Of each suspect, "none of these" last [1].

    Returns
    -------
    float
        [bit]
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


def _next(data: PageData, probability: Sequence[float], opened: set[int], done: Sequence[int]) -> int:
    best, most = -1, 0.0
    for check in range(len(data.checks)):
        if check in done:
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
