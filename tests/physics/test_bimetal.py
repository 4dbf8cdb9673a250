from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import bimetal

STOPS = (-0.1, 1.1)


def test_the_needle_is_linear_in_power_between_the_stops() -> None:
    watts = np.array([0.0, 0.1, 0.2, 0.3, 0.5, 5.0])
    expected = [-0.1, 0.0, 0.25, 0.5, 1.0, 1.1]
    np.testing.assert_allclose(bimetal.position(watts, 0.1, 0.5, STOPS), expected, atol=1e-15)


def test_the_lag_is_a_step_with_its_time_constant() -> None:
    assert bimetal.first_order(0.2, 0.9, 0.0, 12.0) == 0.2
    assert bimetal.first_order(0.2, 0.9, 1e6, 12.0) == pytest.approx(0.9)
    # waiting twice is waiting the sum
    half_way = bimetal.first_order(0.2, 0.9, 5.0, 12.0)
    assert bimetal.first_order(half_way, 0.9, 8.0, 12.0) == pytest.approx(
        bimetal.first_order(0.2, 0.9, 13.0, 12.0)
    )


@pytest.mark.parametrize(
    ("winding", "strip"), [(4.0, 10.0), (10.0, 4.0), (6.0, 6.0), (1e-6, 10.0), (0.0, 3.0)]
)
def test_winding_and_strip_satisfy_their_heat_balances(winding: float, strip: float) -> None:
    """The same equations stepped by hand in small steps."""
    step, lacks, heated = 2e-4, 0.8, -0.3
    strip_now, winding_now = lacks, heated
    for _ in range(25000):
        kept = np.exp(-step / winding) if winding else 0.0
        before = winding_now
        winding_now *= kept
        strip_now += step * ((before + winding_now) / 2 - strip_now) / strip
    own, through = bimetal.still_missing(5.0, winding, strip)
    assert own * lacks + through * heated == pytest.approx(strip_now, abs=2e-5)
    assert bimetal.still_missing(0.0, winding, strip) == (1.0, 0.0)
