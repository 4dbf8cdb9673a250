from __future__ import annotations

import numpy as np
import pytest
from oracles import steinhart_hart_celsius

from gaugesim.physics import thermistor

TYPICAL = (1.336e-3, 2.56e-4, 1.507e-7)
CELSIUS = np.linspace(-55.0, 180.0, 48)


@pytest.mark.parametrize("c", [1.507e-7, 1e-12, 1e-30, 0.0, -1e-12, -5e-8])
def test_steinhart_hart_there_and_back(c: float) -> None:
    ohms = thermistor.steinhart_hart_ohms(CELSIUS, TYPICAL[0], TYPICAL[1], c)
    assert np.all(np.diff(ohms) < 0)
    np.testing.assert_allclose(steinhart_hart_celsius(ohms, TYPICAL[0], TYPICAL[1], c), CELSIUS, atol=1e-9)


def test_without_the_cube_it_is_the_beta_law() -> None:
    beta, ohms_reference, celsius_reference = 3600.0, 2000.0, 25.0
    a = 1 / 298.15 - np.log(ohms_reference) / beta
    by_beta = thermistor.beta_ohms(CELSIUS, ohms_reference, celsius_reference, beta)
    np.testing.assert_allclose(thermistor.steinhart_hart_ohms(CELSIUS, a, 1 / beta, 0.0), by_beta, rtol=1e-11)


def test_a_beta_is_found_again() -> None:
    ohms = thermistor.beta_ohms(CELSIUS, 2044.0, 25.0, 3640.0)
    found = thermistor.beta_from_points(CELSIUS[1:], ohms[1:], CELSIUS[0], ohms[0])
    np.testing.assert_allclose(found, 3640.0, rtol=1e-9)


def test_beta_is_the_same_from_either_end() -> None:
    there = thermistor.beta_from_points(25.0, 2044.0, 100.0, 175.7)
    assert thermistor.beta_from_points(100.0, 175.7, 25.0, 2044.0) == pytest.approx(there, rel=1e-14)
