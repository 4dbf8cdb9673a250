"""Numbers that share tolerances, some of them slips: against sums over every choice of slips by hand."""

from itertools import combinations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from gaugesim.case import parse
from gaugesim.diagnosis import diagnose
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.joint import SLIPS, Numbers, log_numbers

NUMBERS, CELLS, CASES, VARIABLES = 4, 3, 5, 2


@pytest.fixture(scope="module")
def numbers() -> Numbers:
    random = np.random.default_rng(6)
    return Numbers(
        tuple(f"variable {i}" for i in range(VARIABLES)),
        random.normal(size=(NUMBERS, CELLS)),
        random.uniform(0.05, 0.2, (NUMBERS, CELLS)),
        random.normal(size=(NUMBERS, VARIABLES, CELLS)),
        random.uniform(0.1, 0.5, NUMBERS),
    )


@pytest.mark.parametrize("count", range(1, NUMBERS + 1))
def test_every_choice_of_slips(numbers: Numbers, count: int) -> None:
    some = Numbers(
        numbers.names,
        numbers.means[:count],
        numbers.noise[:count],
        numbers.steps[:count],
        numbers.broad[:count],
    )
    values = np.random.default_rng(7).normal(size=(count, CASES))
    sound, slipped = log_numbers(some, values)
    for cell in range(CELLS):
        steps = some.steps[:, :, cell]
        covariance = steps @ steps.T + np.diag(some.noise[:, cell] ** 2)
        for case in range(CASES):
            found = [0.0, 0.0]
            # up to two are wrong, or all of them
            choices = {wrong for slips in range(SLIPS + 1) for wrong in combinations(range(count), slips)}
            for wrong in choices | {tuple(range(count))}:
                right = [i for i in range(count) if i not in wrong]
                chance = (1 - like.SLIP) ** len(right)
                for i in wrong:
                    chance *= like.SLIP * some.broad[i]
                if right:
                    normal = multivariate_normal(some.means[right, cell], covariance[np.ix_(right, right)])
                    chance *= normal.pdf(values[right, case])
                found[bool(wrong)] += chance
            assert np.exp(sound[cell, case]) == pytest.approx(found[0], rel=1e-8)
            assert slipped[cell, case] == pytest.approx(np.log(found[1]), rel=1e-9)


def test_the_same_reading_twice_is_no_riddle() -> None:
    """A worn spot beside which the meter shows open makes the step from slice to slice a jump of 1e9 ohm."""
    measured = [{"check": "sender_ohms", "state": "key_off", "ohms": 64.2}] * 2
    ranking = diagnose(parse({"circuit": "fuel_four_coil", "measured": measured})).ranking
    assert 0 < ranking[0].probability < 1
