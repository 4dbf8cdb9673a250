"""The shipped cases that the tests of the job page use, and random work on them."""

import math

import numpy as np
from page_rule import Mended, Number, Tap, standing, would_burn

from gaugesim.report.tables import PageData

CASES = ("stuck_at_half", "which_movement", "all_read_high", "cured_for_a_week")


def random_taps(data: PageData, random: np.random.Generator) -> list[tuple[int, int]]:
    """One to six checks, none twice, with any outcome that a button has; half begin as the plan goes on."""
    taps: list[tuple[int, int]] = []
    plan = data.plan
    while plan.then and random.random() < 0.5:
        outcome, after = plan.then[int(random.integers(len(plan.then)))]
        taps.append((plan.check, outcome))
        plan = after
    others = [check for check in range(len(data.checks)) if check not in {done for done, _ in taps}]
    count = int(random.integers(0 if taps else 1, 7 - len(taps)))
    chosen = random.choice(others, size=count, replace=False)
    return taps + [(int(k), int(random.integers(len(data.checks[k].outcomes)))) for k in chosen]


def random_work(data: PageData, random: np.random.Generator) -> list[Tap]:
    """The same, some of it as numbers, and with a repair that was none."""
    work: list[Tap] = [
        Number(check, random_number(data, check, random)) if random.random() < 0.5 else (check, outcome)
        for check, outcome in random_taps(data, random)
    ]
    work = [tap for tap in work if not isinstance(tap, Number) or not math.isnan(tap.value)]
    if data.repairs and random.random() < 0.3:
        repair = Mended(int(random.integers(len(data.repairs))), cured=False)
        work.insert(int(random.integers(len(work) + 1)), repair)
    return offered(data, work)


def offered(data: PageData, work: list[Tap]) -> list[Tap]:
    """The same without checks that may burn when their turn comes: the page has no button for them."""
    kept: list[Tap] = []
    for tap in work:
        check = tap.check if isinstance(tap, Number) else -1 if isinstance(tap, Mended) else tap[0]
        if check < 0 or not would_burn(data, check, standing(data, kept).probability):
            kept.append(tap)
    return kept


def random_number(data: PageData, check: int, random: np.random.Generator) -> float:
    """A number near what some suspect shows; NaN of a check that shows none."""
    number = data.checks[check].number
    if number is None:
        return math.nan
    cell = int(random.integers(len(number.middle)))
    middle = number.middle[cell]
    value = 0.5 if middle is None else random.normal(middle, number.spread[cell])
    if number.floor:
        value = min(max(math.exp(min(value, 30.0)) - number.floor, 0.0), 4e7)
    return float(f"{value:.2f}")
