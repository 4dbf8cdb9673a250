"""An engine that warms up: its heat balance, its thermostat, and what makes no sense."""

import numpy as np
import pytest

from gaugesim.physics.engine import coolant_celsius

KNOWN = {"kelvin_per_second": 0.2, "loss_seconds": 1500.0, "opens_below": 4.0}


def at(seconds: float) -> float:
    return float(coolant_celsius(seconds, 10.0, 90.0, **KNOWN))


def test_the_curve_satisfies_its_heat_balance_stepped_by_hand() -> None:
    celsius, step = 10.0, 0.01
    # the radiator's share for each degree, from the balance at 90 degrees
    share = (0.2 / 80.0 - 1 / 1500.0) / 4.0
    for number in range(1, 70001):
        opened = max(celsius - 86.0, 0.0)
        celsius += step * (0.2 - (1 / 1500.0 + share * opened) * (celsius - 10.0))
        if number % 10000 == 0:
            assert at(number * step) == pytest.approx(celsius, abs=2e-3)


def test_it_starts_cold_and_is_held_where_the_thermostat_holds_it() -> None:
    curve = np.asarray(coolant_celsius(np.linspace(0.0, 3600.0, 721), 10.0, 90.0, **KNOWN))
    assert curve[0] == 10.0
    assert np.all(np.diff(curve) >= 0)
    assert curve[-1] == pytest.approx(90.0, abs=1e-6)
    # at first nothing is lost yet
    assert at(1.0) - at(0.0) == pytest.approx(0.2, rel=1e-3)
