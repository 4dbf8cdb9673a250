"""Electrical contacts against the handbook's laws.

Holm, Electric Contacts, 4th ed. (laws from memory; each is tied here to numbers worked independently); the
plastic contact law as quoted from Electrical Contacts, pages 13–15, at
physics.stackexchange.com/questions/508658.
"""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics.conductor import resistivity
from gaugesim.physics.contact import (
    aged_ohms,
    constriction_ohms,
    constriction_radius,
    film_ohms,
    plastic_contact_ohms,
    voltage_limit,
)

COPPER_HARDNESS = 0.9e9  # Pa, assumed


@pytest.mark.parametrize(("ohms", "micrometers", "digit"), [(1e-3, 8.6205, 5e-5), (5e-3, 1.724, 5e-4)])
def test_spot_of_a_milliohm_contact(ohms: float, micrometers: float, digit: float) -> None:
    """Holm: R = ρ/(2a), with copper of 1.7241e-8 ohm.m."""
    assert constriction_radius(ohms, 1.7241e-8) * 1e6 == pytest.approx(micrometers, abs=digit)
    assert constriction_ohms(micrometers * 1e-6, 1.7241e-8) == pytest.approx(ohms, rel=3e-4)


def test_film_in_series_with_the_constriction() -> None:
    """Holm: R = ρ/(2a) + σ/(πa²); a spot of 10 µm radius with 1e-12 ohm.m2 of film."""
    assert film_ohms(10e-6, 1e-12) == pytest.approx(1e-12 / (np.pi * 1e-10), rel=1e-12)
    assert constriction_ohms(10e-6, resistivity()) + film_ohms(10e-6, 1e-12) == pytest.approx(
        4.045e-3, abs=5e-7
    )


@pytest.mark.parametrize(("newtons", "milliohms"), [(1.0, 0.458), (10.0, 0.145)])
def test_plastic_contact(newtons: float, milliohms: float) -> None:
    """Electrical Contacts, pages 13–15: R = sqrt(ρ²·η·π·H/(4F)) with η = 1 and an assumed 0.9 GPa."""
    found = plastic_contact_ohms(newtons, resistivity(), COPPER_HARDNESS) * 1e3
    assert found == pytest.approx(milliohms, abs=5e-4)


def test_four_times_the_force_halves_the_resistance() -> None:
    """Electrical Contacts, pages 13–15."""
    weak, strong = plastic_contact_ohms([2.0, 8.0], resistivity(), COPPER_HARDNESS)
    assert weak / strong == pytest.approx(2.0, rel=1e-12)


@pytest.mark.parametrize(
    ("melting_celsius", "volts", "tabulated"),
    [(1083.0, 0.414, 0.43), (231.9, 0.129, 0.13)],
    ids=["copper", "tin"],
)
def test_melting_voltage(melting_celsius: float, volts: float, tabulated: float) -> None:
    """Holm: V² = 4L(T² − T₀²), L = 2.45e-8 V²/K²; the tabulated voltage is from memory, so only beside it."""
    assert voltage_limit(melting_celsius, 20.0) == pytest.approx(volts, abs=1e-3)
    assert volts == pytest.approx(tabulated, rel=0.05)


def test_a_dry_circuit_voltage_leaves_every_contact_cold() -> None:
    """IEC 60512-2-1:2002: at most 20 mV, so that the test changes nothing: far below any softening."""
    assert voltage_limit(30.0, 20.0) > 0.020


def test_contact_resistance_and_its_scatter_grow_with_age() -> None:
    """Malucci, Holm Conference 1990: variability grows as the contact degrades.

    Healthy contacts are micro-ohms to a few milliohms, worn ones ohms or more: Electronics 2020, 9, 2079.

    The lognormal shape and its figures are a modelling choice.
    """
    years = np.array([0.0, 10.0, 25.0])
    low, high = (aged_ohms(quantile, years, 1e-3, 4.0, 0.4, 0.12) for quantile in (0.05, 0.95))
    assert np.all(np.diff(high / low) > 0)
    assert 1e-6 < low[0] < high[0] < 5e-3
    assert high[-1] > 1.0
