"""Thermistors against printed tables and worked coefficients.

Law: Steinhart & Hart, Deep-Sea Research 15 (1968) 497–503. A laser-diode controller's 10 kohm table is left
out: it does not keep to its own claimed accuracy.
"""

from __future__ import annotations

import numpy as np
import pytest
from oracles import ABSOLUTE_ZERO, steinhart_hart_celsius, steinhart_hart_from_points
from thermistor_utils import Beta_converter, SH_converter

from gaugesim.physics.bimetal import first_order
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

# Probe of 5 kohm: manual of a chiller, Table 42B; its row at -15 degrees Celsius is misprinted and left out
CHILLER_CELSIUS = np.array([-40.0, -20.0, 10.0, 20.0, 25.0, 30.0, 40.0, 60.0, 80.0])
CHILLER_OHMS = np.array([168230.0, 48536.0, 9949.0, 6246.0, 5000.0, 4028.0, 2663.0, 1244.0, 602.0])
CHILLER_DIVIDER = {25.0: 2.917, 80.0: 0.722}  # V out of 5 V, same table


def coolant(celsius: float) -> float:
    return float(COOLANT_OHMS[celsius == COOLANT_CELSIUS][0])


def beta_celsius(ohms: float, reference_ohms: float, reference_celsius: float, beta: float) -> float:
    """IEC 60539-1, B-value, solved for the temperature."""
    inverse = 1 / (reference_celsius - ABSOLUTE_ZERO) + np.log(ohms / reference_ohms) / beta
    return float(1 / inverse + ABSOLUTE_ZERO)


def coolant_errors(coefficients: tuple[float, float, float]) -> np.ndarray:
    return steinhart_hart_celsius(COOLANT_OHMS, *coefficients) - COOLANT_CELSIUS


def test_steinhart_hart_fits_the_coolant_table() -> None:
    """The coolant table; coefficients and worst error recomputed from it."""
    coefficients = steinhart_hart_from_points(COOLANT_CELSIUS, COOLANT_OHMS)
    assert coefficients == pytest.approx((1.33597e-3, 2.55994e-4, 1.50659e-7), rel=5e-6)
    assert np.abs(coolant_errors(coefficients)).max() == pytest.approx(0.012, abs=5e-4)


def test_three_points_are_enough_for_the_coolant_table() -> None:
    """The coolant table: through 0, 50 and 100 degrees Celsius, worst 0.024 K."""
    points = [0.0, 50.0, 100.0]
    coefficients = steinhart_hart_from_points(points, [coolant(celsius) for celsius in points])
    assert np.abs(coolant_errors(coefficients)).max() == pytest.approx(0.024, abs=5e-4)
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


def test_one_kelvin_at_minus_forty_tells_steinhart_hart_from_beta() -> None:
    """The coolant table: a model with one beta fails where Steinhart and Hart pass."""
    beta = beta_from_points(25.0, coolant(25.0), 100.0, coolant(100.0))
    coefficients = steinhart_hart_from_points(COOLANT_CELSIUS, COOLANT_OHMS)
    assert abs(steinhart_hart_celsius(coolant(-40.0), *coefficients) + 40.0) < 1.0
    assert not abs(beta_celsius(coolant(-40.0), coolant(25.0), 25.0, beta) + 40.0) < 1.0


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


def test_a_second_worked_example() -> None:
    """README of steinhart-hart (npm): 7000 ohm is at 307.9031 K."""
    coefficients = steinhart_hart_from_points([-25.0, 0.0, 25.0], [87041.0, 27326.0, 10000.0])
    assert steinhart_hart_celsius(7000.0, *coefficients) + 273.15 == pytest.approx(307.9031, abs=5e-5)


def test_the_chiller_table_is_a_thermistor_within_its_rounding_of_volts() -> None:
    """Chiller manual, Table 42B: coarser; one Steinhart and Hart curve meets it to half a kelvin."""
    coefficients = steinhart_hart_from_points(CHILLER_CELSIUS, CHILLER_OHMS)
    np.testing.assert_allclose(steinhart_hart_celsius(CHILLER_OHMS, *coefficients), CHILLER_CELSIUS, atol=0.5)


@pytest.mark.parametrize("celsius", CHILLER_DIVIDER)
def test_the_chiller_s_divider(celsius: float, exact_volts) -> None:
    """Chiller manual, Table 42B: both printed voltages imply one pull-up of 3.57 kohm; exact by lcapy.

    Both columns are printed to their last digit, so half of one counts on either side.
    """
    ohms = float(CHILLER_OHMS[celsius == CHILLER_CELSIUS][0])
    divider = "V1 1 0 {{5}}\nR1 1 2 {{3570}}\nR2 2 0 {{{}}}"
    lowest, highest = (float(exact_volts(divider.format(ohms + half), 2)) for half in (-0.5, 0.5))
    assert lowest - 5e-4 <= CHILLER_DIVIDER[celsius] <= highest + 5e-4
    assert highest - lowest < 2e-3


def test_the_time_constant_is_the_time_to_sixty_three_percent() -> None:
    """IEC 60539-1: thermal time constant, 63.2 % of the step."""
    assert first_order(20.0, 85.0, 7.0, 7.0) == pytest.approx(20.0 + 0.632 * 65.0, abs=0.0005 * 65.0)
