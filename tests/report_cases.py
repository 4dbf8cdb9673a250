"""The shipped cases that the tests of the job page use, and random work on them."""

import numpy as np

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
