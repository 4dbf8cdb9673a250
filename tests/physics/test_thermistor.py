from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import thermistor

TYPICAL = (1.336e-3, 2.56e-4, 1.507e-7)
CELSIUS = np.linspace(-55.0, 180.0, 48)
POINTS = ([100.0, -20.0, 40.0, 0.0], [175.7, 15971.0, 1152.0, 5975.0])


@pytest.mark.parametrize("c", [1.507e-7, 1e-12, 1e-30, 0.0, -1e-12, -5e-8])
def test_steinhart_hart_there_and_back(c: float) -> None:
    ohms = thermistor.steinhart_hart_ohms(CELSIUS, TYPICAL[0], TYPICAL[1], c)
    assert np.all(np.diff(ohms) < 0)
    np.testing.assert_allclose(
        thermistor.steinhart_hart_celsius(ohms, TYPICAL[0], TYPICAL[1], c), CELSIUS, atol=1e-9
    )


def test_without_the_cube_it_is_the_beta_law() -> None:
    beta, ohms_reference, celsius_reference = 3600.0, 2000.0, 25.0
    a = 1 / 298.15 - np.log(ohms_reference) / beta
    by_beta = thermistor.beta_ohms(CELSIUS, ohms_reference, celsius_reference, beta)
    np.testing.assert_allclose(thermistor.steinhart_hart_ohms(CELSIUS, a, 1 / beta, 0.0), by_beta, rtol=1e-11)


def test_three_points_are_met_exactly_and_a_curve_is_found_again() -> None:
    found = thermistor.steinhart_hart_from_points([-40.0, 30.0, 130.0], [48805.0, 1679.0, 83.1])
    back = thermistor.steinhart_hart_celsius([48805.0, 1679.0, 83.1], *found)
    np.testing.assert_allclose(back, [-40.0, 30.0, 130.0], atol=1e-9)
    ohms = thermistor.steinhart_hart_ohms(CELSIUS, *TYPICAL)
    np.testing.assert_allclose(thermistor.steinhart_hart_from_points(CELSIUS, ohms), TYPICAL, rtol=1e-9)


def test_more_points_are_fitted_with_least_squares_in_one_over_t() -> None:
    ohms = thermistor.steinhart_hart_ohms(CELSIUS, *TYPICAL) * np.exp(
        np.random.default_rng(4).normal(scale=0.05, size=CELSIUS.size)
    )
    found = np.array(thermistor.steinhart_hart_from_points(CELSIUS, ohms))
    basis = np.log(ohms)[:, None] ** np.array([0, 1, 3])
    misfit = basis @ found - 1 / (CELSIUS + 273.15)
    # at the least squares the misfit is at right angles to every column
    assert np.abs(basis.T @ misfit / np.linalg.norm(basis, axis=0)).max() < 1e-12 * np.linalg.norm(
        1 / (CELSIUS + 273.15)
    )


def test_beta_there_and_back() -> None:
    ohms = thermistor.beta_ohms(CELSIUS, 2044.0, 25.0, 3640.0)
    np.testing.assert_allclose(thermistor.beta_celsius(ohms, 2044.0, 25.0, 3640.0), CELSIUS, atol=1e-10)
    found = thermistor.beta_from_points(CELSIUS[1:], ohms[1:], CELSIUS[0], ohms[0])
    np.testing.assert_allclose(found, 3640.0, rtol=1e-9)


def test_beta_is_the_same_from_either_end() -> None:
    there = thermistor.beta_from_points(25.0, 2044.0, 100.0, 175.7)
    assert thermistor.beta_from_points(100.0, 175.7, 25.0, 2044.0) == pytest.approx(there, rel=1e-14)


def test_the_table_meets_its_points_falls_all_along_and_goes_on_beyond() -> None:
    np.testing.assert_allclose(thermistor.table_ohms(POINTS[0], *POINTS), POINTS[1], rtol=1e-12)
    ohms = thermistor.table_ohms(CELSIUS, *POINTS)
    assert np.all(np.diff(ohms) < 0)
    np.testing.assert_allclose(thermistor.table_celsius(ohms, *POINTS), CELSIUS, atol=1e-9)
    # beyond the last point the last stretch's beta holds
    beta = thermistor.beta_from_points(40.0, 1152.0, 100.0, 175.7)
    assert thermistor.table_ohms(150.0, *POINTS) == pytest.approx(
        float(thermistor.beta_ohms(150.0, 175.7, 100.0, beta))
    )


def test_a_table_of_two_points_is_a_beta() -> None:
    beta = thermistor.beta_from_points(25.0, 2044.0, 100.0, 175.7)
    by_table = thermistor.table_ohms(CELSIUS, [25.0, 100.0], [2044.0, 175.7])
    np.testing.assert_allclose(by_table, thermistor.beta_ohms(CELSIUS, 2044.0, 25.0, beta), rtol=1e-11)


def test_a_rising_table_is_taken_too() -> None:
    rising = ([0.0, 50.0, 100.0], [100.0, 200.0, 500.0])
    assert thermistor.table_celsius(200.0, *rising) == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: thermistor.steinhart_hart_celsius(0.0, *TYPICAL), "ohms must be above zero, but 0"),
        (lambda: thermistor.steinhart_hart_celsius(np.nan, *TYPICAL), "ohms must be above zero, but nan"),
        (lambda: thermistor.steinhart_hart_celsius(1e-3, *TYPICAL), "temperature above absolute zero"),
        (lambda: thermistor.steinhart_hart_ohms(-300.0, *TYPICAL), "celsius must be above -273.15"),
        (lambda: thermistor.steinhart_hart_ohms(25.0, 1e-3, 0.0, 1e-7), "b must be above zero"),
        (lambda: thermistor.steinhart_hart_ohms(-200.0, 1.3e-3, 2.5e-4, -2e-6), "turns back"),
        (lambda: thermistor.steinhart_hart_from_points([0.0, 50.0], [9.0, 1.0]), "use beta_from_points"),
        (
            lambda: thermistor.steinhart_hart_from_points([0.0, 25.0, 50.0], [9.0, 9.0, 1.0]),
            "three or more different",
        ),
        (
            lambda: thermistor.steinhart_hart_from_points([0.0, 25.0], [9.0, 3.0, 1.0]),
            "lists of the same length",
        ),
        (lambda: thermistor.beta_ohms(25.0, 0.0, 25.0, 3600.0), "ohms_reference must be above zero"),
        (lambda: thermistor.beta_ohms(25.0, 1.0, 25.0, -1.0), "beta must be above zero"),
        (lambda: thermistor.beta_celsius(1e-9, 2000.0, 25.0, 3600.0), "so low"),
        (lambda: thermistor.beta_from_points(25.0, 10.0, 25.0, 5.0), "must differ"),
        (lambda: thermistor.table_ohms(25.0, [0.0], [10.0]), "at least 2 long"),
        (lambda: thermistor.table_ohms(25.0, [0.0, 10.0], [10.0, 5.0, 1.0]), "lists of the same length"),
        (
            lambda: thermistor.table_ohms(25.0, [0.0, 0.0], [10.0, 5.0]),
            "celsius_points must not hold a value twice",
        ),
        (lambda: thermistor.table_ohms(25.0, [0.0, 10.0, 20.0], [10.0, 5.0, 6.0]), "only rise or only fall"),
        (lambda: thermistor.table_ohms(25.0, [0.0, 10.0], [10.0, 0.0]), "ohms_points must be above zero"),
        (lambda: thermistor.table_celsius(1e-12, *POINTS), "far beyond the table"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
