"""Thermistors against printed tables and worked coefficients.

Law: Steinhart & Hart, Deep-Sea Research 15 (1968) 497–503. A laser-diode controller's 10 kohm table is left
out: it does not keep to its own claimed accuracy.
"""

from __future__ import annotations

import numpy as np
import pytest
from oracles import ABSOLUTE_ZERO, steinhart_hart_celsius, steinhart_hart_from_points
from thermistor_utils import Beta_converter, SH_converter

from gaugesim.physics.thermistor import beta_from_points, beta_ohms, steinhart_hart_ohms

# Coolant sensor, 2.5 kohm at 20 degrees Celsius: a comparative table of 2020 (source withheld, unverifiable)
COOLANT_CELSIUS = np.array(
    [-40, -30, -20, -10, 0, 10, 20, 25, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120, 130, 140], float
)
COOLANT_OHMS = np.array(
    [48805, 27414, 15971, 9620, 5975, 3816, 2502, 2044, 1679, 1152,
     806.9, 575.8, 418.1, 308.6, 231.2, 175.7, 135.2, 105.4, 83.1, 66.2]
)  # fmt: skip

# Probe of 10 kohm: manual of a data logger's temperature probe, Table C-1
PROBE_CELSIUS = np.array([-40.0, -30.0, -20.0, -10.0, 0.0, 1.0])
PROBE_OHMS = np.array([336103.2, 176804.8, 97006.9, 55303.9, 32650.9, 31030.8])
PROBE_COEFFICIENTS_FROM_MEMORY = (1.129241e-3, 2.341077e-4, 8.775468e-8)


def coolant(celsius: float) -> float:
    return float(COOLANT_OHMS[celsius == COOLANT_CELSIUS][0])


def beta_celsius(ohms: float, reference_ohms: float, reference_celsius: float, beta: float) -> float:
    """IEC 60539-1, B-value, solved for the temperature."""
    inverse = 1 / (reference_celsius - ABSOLUTE_ZERO) + np.log(ohms / reference_ohms) / beta
    return float(1 / inverse + ABSOLUTE_ZERO)


def test_three_points_are_enough_for_the_coolant_table() -> None:
    """The coolant table: through 0, 50 and 100 degrees Celsius, worst 0.024 K."""
    points = [0.0, 50.0, 100.0]
    coefficients = steinhart_hart_from_points(points, [coolant(celsius) for celsius in points])
    errors = steinhart_hart_celsius(COOLANT_OHMS, *coefficients) - COOLANT_CELSIUS
    assert np.abs(errors).max() == pytest.approx(0.024, abs=5e-4)
    np.testing.assert_allclose(
        steinhart_hart_ohms(points, *coefficients), [coolant(t) for t in points], rtol=1e-9
    )


def test_the_beta_of_the_coolant_table_depends_on_where_it_is_taken() -> None:
    """The coolant table."""
    assert beta_from_points(25.0, coolant(25.0), 50.0, coolant(50.0)) == pytest.approx(3582, abs=0.5)
    assert beta_from_points(25.0, coolant(25.0), 100.0, coolant(100.0)) == pytest.approx(3640, abs=0.5)


@pytest.mark.parametrize(("celsius", "error"), [(-40.0, 3.5), (60.0, -0.48), (140.0, 1.5)])
def test_a_beta_is_not_enough_for_the_coolant_table(celsius: float, error: float) -> None:
    """The coolant table: one beta, from 25 and 100 degrees Celsius, must miss by this much."""
    beta = beta_from_points(25.0, coolant(25.0), 100.0, coolant(100.0))
    found = beta_celsius(coolant(celsius), coolant(25.0), 25.0, beta)
    assert found - celsius == pytest.approx(error, abs=0.05 if abs(error) > 1 else 0.005)


def test_the_probe_table_is_one_steinhart_hart_curve() -> None:
    """Data-logger probe manual, Table C-1; the coefficients, from memory, meet it."""
    found = steinhart_hart_celsius(PROBE_OHMS, *PROBE_COEFFICIENTS_FROM_MEMORY)
    np.testing.assert_allclose(found, PROBE_CELSIUS, atol=0.0024)
    fitted = steinhart_hart_from_points(PROBE_CELSIUS, PROBE_OHMS)
    assert np.abs(steinhart_hart_celsius(PROBE_OHMS, *fitted) - PROBE_CELSIUS).max() < 0.0024
    assert steinhart_hart_ohms(25.0, *PROBE_COEFFICIENTS_FROM_MEMORY) == pytest.approx(10_000, abs=0.5)


def test_worked_coefficients_of_an_independent_package() -> None:
    """README of thermistor-utils (PyPI), and the package itself."""
    points = [(0, 27445), (25, 10000), (50, 4160)]
    found = steinhart_hart_from_points(*zip(*points, strict=True))
    printed = (8.402250578523375e-4, 2.5963477647737156e-4, 1.5674403473854433e-7)
    assert found == pytest.approx(printed, rel=1e-11)
    stranger = SH_converter.from_points(points)
    assert pytest.approx(found, rel=1e-11) == (stranger.A, stranger.B, stranger.C)
    for ohms in (500.0, 4160.0, 90_000.0):
        assert steinhart_hart_celsius(ohms, *found) == pytest.approx(stranger.temperature(ohms), abs=1e-9)
    for celsius in (-30.0, 25.0, 120.0):
        assert steinhart_hart_ohms(celsius, *found) == pytest.approx(stranger.resistance(celsius), rel=1e-9)


def test_beta_agrees_with_an_independent_package() -> None:
    """thermistor-utils (PyPI)."""
    stranger = Beta_converter.from_beta(3640.0, 2044.0)
    for celsius in (-40.0, 25.0, 130.0):
        own = float(beta_ohms(celsius, 2044.0, 25.0, 3640.0))
        assert own == pytest.approx(stranger.resistance(celsius), rel=1e-12)
        assert beta_celsius(own, 2044.0, 25.0, 3640.0) == pytest.approx(stranger.temperature(own), abs=1e-9)
