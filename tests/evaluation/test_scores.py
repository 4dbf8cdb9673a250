"""Scores and identities on posteriors made by hand, where all of it is known."""

import numpy as np
import pytest

from gaugesim.evaluation.equations import identities, tally
from gaugesim.evaluation.scores import (
    Truth,
    calibration_error,
    noise_floor,
    score,
    share_limits,
    standard_error,
)

CASES = 20_000


@pytest.fixture(scope="module")
def right() -> tuple[np.ndarray, np.ndarray]:
    """Posteriors of 30 faults, and truths drawn from those very posteriors."""
    random = np.random.default_rng(8)
    weight = random.gamma(0.3, size=(30, CASES)) + 1e-6
    posterior = weight / weight.sum(axis=0)
    steps = np.cumsum(posterior, axis=0)
    truth = (random.random(CASES) > steps).sum(axis=0)
    return posterior, np.minimum(truth, 29)


def test_a_right_posterior_fulfils_every_identity(right: tuple[np.ndarray, np.ndarray]) -> None:
    z = identities([tally(*right)])
    assert set(z) == {"hits", "log_score", "probability_of_truth", "each_fault"}
    assert all(abs(value) < 3 for value in z.values()), z


@pytest.mark.parametrize(("power", "sign"), [(1.5, 1), (0.67, -1)])
def test_too_sure_or_too_timid_fails(right: tuple[np.ndarray, np.ndarray], power: float, sign: int) -> None:
    """Raised to the power 1.5 a posterior is too sure, by tens of standard errors."""
    posterior, truth = right
    sharp = posterior**power
    z = identities([tally(sharp / sharp.sum(axis=0), truth)])
    assert sign * z["log_score"] > 10
    assert sign * z["hits"] < -10


def test_a_fault_believed_in_too_much_is_found(right: tuple[np.ndarray, np.ndarray]) -> None:
    posterior, truth = right
    off = posterior.copy()
    off[3] *= 1.3
    z = identities([tally(off / off.sum(axis=0), truth)])
    assert z["each_fault"] < -3


def test_tallies_of_blocks_add_up(right: tuple[np.ndarray, np.ndarray]) -> None:
    posterior, truth = right
    halves = [tally(posterior[:, some], truth[some]) for some in (slice(0, 7000), slice(7000, None))]
    together, whole = identities([halves[0] + halves[1]]), identities([tally(posterior, truth)])
    assert together == pytest.approx(whole, rel=1e-6)


def test_scores_by_hand() -> None:
    """Three faults, four cases: found, second, none of these ahead, and not listed at all."""
    posterior = np.array([[0.6, 0.5, 0.1, 0.2], [0.3, 0.3, 0.2, 0.1], [0.05, 0.1, 0.1, 0.1]])
    none = 1 - posterior.sum(axis=0)
    prior = np.array([0.5, 0.3, 0.1])
    truth = Truth(np.array([[0, -1], [1, -1], [1, -1], [-1, -1]]), np.zeros(4, dtype=int))
    # the first and the second are mended together
    found = score(posterior, none, prior, 0.1, truth, np.array([0, 0, 1]))
    assert found.hit.tolist() == [True, False, False, True]
    assert found.hit3.tolist() == [True, True, True, True]
    assert found.repair_hit.tolist() == [True, True, False, True]
    np.testing.assert_allclose(found.chance, [0.6, 0.3, 0.2, none[3]])
    np.testing.assert_allclose(found.log_score, -np.log([0.6, 0.3, 0.2, none[3]]))
    np.testing.assert_allclose(found.prior_log_score, -np.log([0.5, 0.3, 0.3, 0.1]))
    assert found.brier[0] == pytest.approx(0.4**2 + 0.3**2 + 0.05**2 + 0.05**2)
    assert found.none_leads.tolist() == [False, False, True, True]
    # 0.6/0.5 against 0.3/0.3: less than 1.5 times likelier, not told apart; 0.5/0.5 against 0.3/0.3 alike
    assert found.group_hit.tolist() == [True, True, False, True]


def test_two_faults_count_either_way() -> None:
    posterior = np.array([[0.2], [0.5], [0.3]])
    truth = Truth(np.array([[0, 2]]), np.zeros(1, dtype=int))
    found = score(posterior, np.zeros(1), np.full(3, 0.33), 0.01, truth, np.arange(3))
    assert found.chance[0] == pytest.approx(0.5)
    assert not found.hit[0]
    assert found.hit3[0]


def test_calibration_error_and_its_floor() -> None:
    """A right posterior stays at the floor, one that is 10 % too sure lies that much above it."""
    random = np.random.default_rng(2)
    certainty = random.uniform(0.2, 0.8, 10_000)
    hit = random.random(10_000) < certainty
    mean, high = noise_floor(certainty)
    assert calibration_error(certainty, hit) < 1.3 * high
    # METHODS: about 0.008 at 10,000 cases and ten classes
    assert 0.005 < mean < high < 0.02
    assert calibration_error(certainty + 0.1, hit) == pytest.approx(0.1, abs=0.02)


def test_limits_of_a_share() -> None:
    """Either limit lies 1.96 standard errors of its own from what was counted; none of 50 is not never."""
    hit = np.arange(240) < 200
    for limit in share_limits(hit):
        assert abs(limit - 200 / 240) == pytest.approx(1.96 * np.sqrt(limit * (1 - limit) / 240), rel=1e-9)
    low, high = share_limits(np.zeros(50, dtype=bool))
    assert low == pytest.approx(0.0, abs=1e-12)
    assert high == pytest.approx(1.96**2 / (50 + 1.96**2), rel=1e-9)


def test_a_mean_over_blocks_is_as_uncertain_as_it_is() -> None:
    """500 means over 30 blocks of unlike size, drawn with a part that a block has in common and without."""
    random = np.random.default_rng(5)
    for common in (0.0, 2.0):
        means, told = [], []
        for _ in range(500):
            block = np.repeat(np.arange(30), random.integers(1, 12, 30))
            values = common * random.standard_normal(30)[block] + random.standard_normal(len(block))
            means.append(values.mean())
            told.append(standard_error(values, block))
        # its own standard error is 3 %
        assert np.mean(told) == pytest.approx(np.std(means), rel=0.12)
    alone = standard_error(values, np.zeros(len(values), dtype=int))
    assert alone == pytest.approx(values.std() / np.sqrt(len(values)))
