"""The normal distribution function of the likelihoods against scipy's."""

import numpy as np
from scipy.special import ndtr

from gaugesim.evidence.likelihood import normal_below


def test_the_normal_distribution_function_is_scipys() -> None:
    z = np.random.default_rng(3).normal(0.0, 6.0, 20_000)
    np.testing.assert_allclose(normal_below(z), ndtr(z), rtol=0, atol=2e-15)
    middle = z[z > -6]
    np.testing.assert_allclose(normal_below(middle), ndtr(middle), rtol=1e-11)


def test_its_ends_and_no_number() -> None:
    ends = normal_below(np.array([-np.inf, -1e9, np.nan, 1e9, np.inf]))
    assert np.array_equal(ends, [normal_below(np.array(-38.0)), ends[0], np.nan, 1, 1], equal_nan=True)
    assert ends[0] < 1e-300
