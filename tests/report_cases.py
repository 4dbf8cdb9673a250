"""The shipped cases that the tests of the job page use, and random work on them."""

import numpy as np

from gaugesim.report.tables import PageData

CASES = ("stuck_at_half", "which_movement", "all_read_high", "cured_for_a_week")


def random_taps(data: PageData, random: np.random.Generator) -> list[tuple[int, int]]:
    """One to six checks, none twice, with any outcome that a button has."""
    checks = random.choice(len(data.checks), size=int(random.integers(1, 7)), replace=False)
    return [(int(check), int(random.integers(len(data.checks[check].outcomes)))) for check in checks]
