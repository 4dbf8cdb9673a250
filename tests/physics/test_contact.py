from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import contact

COPPER = 1.7241e-8


def test_constriction_and_its_radius_are_inverse() -> None:
    ohms = np.logspace(-5, 0, 6)
    np.testing.assert_allclose(
        contact.constriction_ohms(contact.constriction_radius(ohms, COPPER), COPPER), ohms
    )


def test_a_film_rules_small_spots_and_the_constriction_large_ones() -> None:
    film = 1e-12
    crossover = 2 * film / (np.pi * COPPER)
    small, large = crossover / 10, crossover * 10
    assert contact.film_ohms(crossover, film) == pytest.approx(
        float(contact.constriction_ohms(crossover, COPPER))
    )
    assert contact.film_ohms(small, film) > contact.constriction_ohms(small, COPPER)
    assert contact.film_ohms(large, film) < contact.constriction_ohms(large, COPPER)


def test_the_plastic_law_is_one_round_spot_that_bears_the_force() -> None:
    newtons, hardness = 3.0, 0.9e9
    radius = np.sqrt(newtons / (np.pi * hardness))
    expected = contact.constriction_ohms(radius, COPPER)
    assert contact.plastic_contact_ohms(newtons, COPPER, hardness) == pytest.approx(float(expected))


def test_no_voltage_no_heat() -> None:
    assert contact.voltage_limit(55.0, 55.0) == 0.0
    assert np.all(np.diff(contact.voltage_limit([100.0, 232.0, 1085.0])) > 0)


def test_lognormal_quantiles() -> None:
    median, spread = 0.02, 0.8
    quantiles = contact.lognormal_ohms([0.1587, 0.5, 0.8413], median, spread)
    # the normal distribution has 15.87 % below one standard deviation under its mean
    np.testing.assert_allclose(np.log(quantiles / median), [-spread, 0.0, spread], atol=2e-4)
    assert contact.lognormal_ohms(0.99, median, 0.0) == pytest.approx(median)


def test_ageing_raises_median_and_scatter() -> None:
    years = np.array([0.0, 5.0, 20.0])
    low, middle, high = (contact.aged_ohms(q, years, 0.002, 5.0, 0.3, 0.1) for q in (0.05, 0.5, 0.95))
    np.testing.assert_allclose(middle, [0.002, 0.004, 0.032])
    assert np.all(np.diff(high / low) > 0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: contact.constriction_ohms(0.0, COPPER), "spot_radius must be above zero"),
        (lambda: contact.constriction_radius(0.0, COPPER), "ohms must be above zero"),
        (lambda: contact.film_ohms(1e-5, -1.0), "film_resistance must be zero or more"),
        (lambda: contact.plastic_contact_ohms(0.0, COPPER, 1e9), "newtons must be above zero"),
        (lambda: contact.plastic_contact_ohms(1.0, COPPER, 0.0), "hardness must be above zero"),
        (lambda: contact.plastic_contact_ohms(1.0, COPPER, 1e9, 0.0), "shape must be above zero"),
        (lambda: contact.voltage_limit(10.0, 20.0), "spot_celsius must not be below body_celsius"),
        (lambda: contact.lognormal_ohms(1.0, 1.0, 1.0), "quantile must be above 0 and below 1"),
        (lambda: contact.lognormal_ohms(0.5, 0.0, 1.0), "median_ohms must be above zero"),
        (lambda: contact.lognormal_ohms(0.5, 1.0, -1.0), "spread must be zero or more"),
        (lambda: contact.aged_ohms(0.5, -1.0, 1.0, 1.0, 0.1, 0.1), "years must be zero or more"),
        (lambda: contact.aged_ohms(0.5, 1.0, 1.0, 0.0, 0.1, 0.1), "doubling_years must be above zero"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
