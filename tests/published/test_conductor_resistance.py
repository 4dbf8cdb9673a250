"""Copper wire against printed tables.

IEC 60028:1925 gives 58 m/(ohm.mm2) and 0.00393 1/K for annealed copper at 20 degrees Celsius (summary at
tnlab.org; the same two figures on page 970 of the Industrial Power Engineering and Applications Handbook).
"""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics.conductor import (
    american_wire_gauge_square_millimeters,
    resistivity,
    temperature_factor,
    wire_ohms,
)

# hyperphysics.phy-astr.gsu.edu/hbase/Tables/wirega.html: ohm for 1000 ft at 20 degrees, and the last digit
WIRE_GAUGE_TABLE = {22: (16.14, 0.01), 20: (10.15, 0.01), 18: (6.385, 0.001), 16: (4.016, 0.001),
                    14: (2.525, 0.001), 12: (1.588, 0.001)}  # fmt: skip

# IEC 60228, plain copper, highest ohm/km at 20 degrees (mycableengineering.com and uecables.com agree)
SQUARE_MILLIMETERS = np.array([0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0])
FLEXIBLE_LIMITS = np.array([39.0, 26.0, 19.5, 13.3, 7.98, 4.95, 3.30])  # class 5
SOLID_LIMITS = np.array([36.0, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08])  # classes 1 and 2

# IEC 60228, factors that bring a resistance measured at a temperature back to 20 degrees Celsius
CORRECTION_TABLE = {5.0: 1.064, 40.0: 0.926, 60.0: 0.862, 100.0: 0.758}


def test_resistivity_of_the_standard() -> None:
    """IEC 60028:1925."""
    assert resistivity() == pytest.approx(1e-6 / 58, rel=1e-12)
    assert resistivity() * 1e6 == pytest.approx(0.017241, abs=5e-7)


def test_mass_resistivity() -> None:
    """NBS Handbook 100 (1966): 0.15328 ohm.g/m2, which is divided by 8.89 g/cm3 (density from memory)."""
    assert pytest.approx(float(resistivity()), rel=1e-4) == 0.15328 / 8.89e6


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 20.0, 60.0, 105.0])
def test_the_two_ways_to_write_the_temperature_law_agree_to_four_digits(celsius: float) -> None:
    """IEC 60028:1925, and the inferred zero at -234.5 degrees Celsius of the handbooks."""
    assert temperature_factor(celsius) == pytest.approx((234.5 + celsius) / 254.5, abs=5e-4)


@pytest.mark.parametrize("gauge", WIRE_GAUGE_TABLE)
def test_american_wire_gauge(gauge: int) -> None:
    """hyperphysics.phy-astr.gsu.edu/hbase/Tables/wirega.html."""
    printed, last_digit = WIRE_GAUGE_TABLE[gauge]
    thousand_feet = 304.8
    found = wire_ohms(thousand_feet, american_wire_gauge_square_millimeters(gauge))
    assert found == pytest.approx(printed, abs=last_digit / 2)


@pytest.mark.parametrize("limits", [FLEXIBLE_LIMITS, SOLID_LIMITS], ids=["class 5", "classes 1 and 2"])
def test_solid_copper_lies_below_the_highest_permitted_resistance(limits: np.ndarray) -> None:
    """IEC 60228: a conductor may have up to 16 % more than its nominal cross section of copper would."""
    kilometer = wire_ohms(1000.0, SQUARE_MILLIMETERS)
    assert np.all(kilometer < limits)
    assert np.all(kilometer > limits / 1.16)


def test_flexible_limits_over_solid_copper() -> None:
    """IEC 60228 class 5 over ρ/A: 13 to 16 % for strands that are longer and thinner than a solid wire."""
    ratio = FLEXIBLE_LIMITS / wire_ohms(1000.0, SQUARE_MILLIMETERS)
    np.testing.assert_allclose(ratio, [1.131, 1.131, 1.131, 1.157, 1.157, 1.148, 1.148], atol=5e-4)


def test_automotive_cable_has_less_than_the_flexible_limit_and_more_than_solid_copper() -> None:
    """ISO 6722-1:2011, highest ohm/km, from memory; so only beside IEC 60228 class 5."""
    from_memory = np.array([37.1, 24.7, 18.5, 12.7, 7.60, 4.71, 3.14])
    assert np.all(wire_ohms(1000.0, SQUARE_MILLIMETERS) < from_memory)
    assert np.all(from_memory < FLEXIBLE_LIMITS)


@pytest.mark.parametrize("celsius", CORRECTION_TABLE)
def test_the_correction_table_follows_a_coefficient_of_four_per_thousand(celsius: float) -> None:
    """IEC 60228's correction table is 1/(1 + 0.004 (t − 20)): it says nothing about 0.00393."""
    assert 1 / (1 + 0.004 * (celsius - 20)) == pytest.approx(CORRECTION_TABLE[celsius], abs=5e-4)


def test_the_correction_table_is_not_the_temperature_law_of_copper() -> None:
    """At 100 degrees Celsius the table is 0.4 % away from IEC 60028, so it must not be taken for it."""
    own = float(1 / temperature_factor(100.0))
    assert own != pytest.approx(CORRECTION_TABLE[100.0], abs=5e-4)
    assert own / CORRECTION_TABLE[100.0] - 1 == pytest.approx(0.004, abs=0.001)
