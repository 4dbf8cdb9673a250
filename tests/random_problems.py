"""Random planning problems that the planner is measured on: 20 faults, 12 checks, 4 work places.

Every fault shows each outcome of a check with the same probability, the prior is uniform over all priors,
places are drawn evenly. Repairs take 17 minutes in the median and, with the spread chosen, 20 on average. The
figures are assumed; they set dear places and cheap checks against each other as on a vehicle.
"""

import numpy as np

from gaugesim.planning import Problem

# Minutes to open each place, give or take 30 %: the bench, the engine, behind the dash, under the floor.
SETUPS = {"mild": (0.0, 3.0, 8.0, 4.0), "strong": (0.0, 8.0, 30.0, 12.0)}
DASH = 2
REPAIR_MEDIAN, REPAIR_SPREAD = 17.0, 0.54


def random_problem(
    seed: int, setups: str, *, erring: bool, faults: int = 20, binary: int = 8, ternary: int = 4
) -> Problem:
    """One of the family; with `erring` each check shows a wrong outcome in 2 to 10 of 100 cases."""
    random = np.random.default_rng(seed)
    checks = binary + ternary
    setup = np.array(SETUPS[setups]) * random.uniform(0.7, 1.3, len(SETUPS[setups]))
    place = random.integers(0, len(setup), checks)
    minutes = np.where(place == DASH, random.uniform(0.5, 2.0, checks), random.uniform(1.0, 6.0, checks))
    weight = random.dirichlet(np.ones(faults))
    outcomes = []
    for count in [2] * binary + [3] * ternary:
        shown = np.eye(count)[random.integers(0, count, faults)]
        wrong = random.uniform(0.02, 0.10) if erring else 0.0
        outcomes.append(np.where(shown == 1, 1 - wrong, wrong / (count - 1)))
    return Problem(
        weight=weight,
        outcomes=tuple(outcomes),
        check_minutes=minutes,
        check_places=tuple((int(k),) for k in place),
        setup_minutes=setup,
        repair_minutes=random.lognormal(np.log(REPAIR_MEDIAN), REPAIR_SPREAD, faults),
        repair_places=random.integers(0, len(setup), faults),
    )
