"""Senders against published ranges and tables, and tanks against an independent program.

The pages and texts that give the senders' figures name makes: sources withheld, unverifiable.
"""

from __future__ import annotations

import numpy as np
import pytest
from fluids.geometry import TANK

from gaugesim.physics import float_sender, pressure_sender, tank
from gaugesim.physics.thermistor import (
    beta_from_points,
    steinhart_hart_celsius,
    steinhart_hart_from_points,
    steinhart_hart_ohms,
)

# Level senders: empty ohm, full ohm, as makers' and boating pages give them, ± 10 ohm
LEVEL_SENDERS = {
    "240-33": (240.0, 33.0),
    "0-190": (0.0, 190.0),
    "10-180": (10.0, 180.0),
    "0-90": (0.0, 90.0),  # 90 is full
    "73-10": (73.0, 10.0),  # 73 empty, 8 to 12 full: an amateur source
    "110-3": (110.0, 3.0),
    "415-15": (415.0, 15.0),
    "69-3": (69.0, 3.2),
}

# A level sender with taps (source withheld): float height at which each band ends and its ohms, ± 2.2 ohm
HIGHEST_STEP_MILLIMETERS, BAND_MILLIMETERS = 248.9, 33.5
STEP_OHMS = np.array([0.0, 17.8, 27.8, 37.8, 47.8, 57.8, 67.8, 77.8, 89.8])


def fahrenheit(degrees: float) -> float:
    return (degrees - 32.0) / 1.8


def test_quarter_points_of_the_marine_range() -> None:
    """240–33 ohm, linear; one page prints 240/188/136/84/33, with E and F exchanged."""
    quarters = float_sender.linear_ohms(np.linspace(0, 1, 5), *LEVEL_SENDERS["240-33"])
    assert quarters.tolist() == [240.0, 188.25, 136.5, 84.75, 33.0]
    np.testing.assert_allclose(quarters, [240, 188, 136, 84, 33], atol=1.0)
    assert float_sender.linear_level(240.0, *LEVEL_SENDERS["240-33"]) == 0.0


@pytest.mark.parametrize("name", LEVEL_SENDERS)
def test_a_level_is_found_again_within_the_sender_s_tolerance(name: str) -> None:
    """Makers' and boating pages: nominal ± 10 ohm at either end."""
    empty, full = LEVEL_SENDERS[name]
    for level in (0.0, 0.25, 1.0):
        ohms = float_sender.linear_ohms(level, empty, full)
        off = float_sender.linear_level(ohms + 10.0, empty, full) - level
        assert abs(off) == pytest.approx(10.0 / abs(full - empty), rel=1e-9)


def test_senders_that_read_low_ohms_as_empty_and_as_full_are_not_exchangeable() -> None:
    """Makers' and boating pages: a full 0–90 sender looks three quarters full to a 240–33 gauge."""
    full_ohms = float_sender.linear_ohms(1.0, *LEVEL_SENDERS["0-90"])
    assert float_sender.linear_level(full_ohms, *LEVEL_SENDERS["240-33"]) == pytest.approx(0.725, abs=0.001)
    assert float_sender.linear_level(0.0, *LEVEL_SENDERS["240-33"]) > 1.0


def test_stepped_level_sender() -> None:
    """Source withheld: above 248.9 mm 0 ohm, then a step about every 33.5 mm, 89.8 ohm at the bottom."""
    edges = (HIGHEST_STEP_MILLIMETERS - BAND_MILLIMETERS * np.arange(STEP_OHMS.size - 1))[::-1]
    height = np.array([260.0, 240.0, 207.0, 100.0, 0.0])
    found = float_sender.stepped_ohms(height, edges, STEP_OHMS[::-1])
    np.testing.assert_allclose(found, [0.0, 17.8, 27.8, 57.8, 89.8], atol=2.2)
    everywhere = float_sender.stepped_ohms(np.linspace(0, 300, 3001), edges, STEP_OHMS[::-1])
    assert sorted(set(everywhere.tolist())) == STEP_OHMS.tolist()


def test_swinging_arm() -> None:
    """Geometry, h = h₀ + L sin φ: at 30 degrees up the float is half an arm's length above the pivot."""
    found = float_sender.arm_ohms(
        0.2 + 0.15 * np.sin(np.radians([-30.0, 0.0, 30.0])), 0.2, 0.15, 136.5, -100.0
    )
    np.testing.assert_allclose(found, 136.5 - 100.0 * np.radians([-30.0, 0.0, 30.0]), rtol=1e-12)


@pytest.mark.parametrize(
    ("depth", "full"), [(0.10, 0.052044), (0.25, 0.195501), (0.50, 0.5), (0.75, 0.804499), (0.90, 0.947956)]
)
def test_lying_cylinder(depth: float, full: float) -> None:
    """fluids.geometry.TANK, run here, and the six digits that the segment formula gives."""
    vessel = TANK(D=0.6, L=1.4, horizontal=True)
    own = tank.horizontal_cylinder_fraction(depth * 0.6, 0.6)
    assert own == pytest.approx(full, abs=5e-7)
    assert own == pytest.approx(vessel.V_from_h(depth * 0.6) / vessel.V_total, rel=1e-9)
    # back: the program's own volume at the height that is found
    height = tank.horizontal_cylinder_height(full, 0.6)
    assert vessel.V_from_h(height) / vessel.V_total == pytest.approx(full, rel=1e-9)


def test_pressure_sender_is_not_straight() -> None:
    """A user's report of a 0–10 bar sender: 10, 107 and 184 ohm at 0, 5 and 10 bar, "not exactly linear"."""
    points = tuple(zip(*pressure_sender.TEN_BAR_POINTS, strict=True))
    assert points == ((0.0, 5.0, 10.0), (10.0, 107.0, 184.0))
    straight = pressure_sender.linear_ohms(5.0, 10.0, 184.0, 10.0)
    assert straight == 97.0
    assert pressure_sender.table_ohms(5.0, *points) - straight == 10.0
    np.testing.assert_allclose(
        pressure_sender.bowed_ohms(points[0], 10.0, 184.0, 10.0, 10.0), points[1], rtol=1e-12
    )


def test_the_fuller_pressure_table_from_memory_agrees_with_what_was_seen() -> None:
    """From memory, so only beside the user's report of 10, 107 and 184 ohm, which it holds."""
    table = dict(pressure_sender.TEN_BAR_TABLE_FROM_MEMORY)
    for bar, ohms in pressure_sender.TEN_BAR_POINTS:
        assert table[bar] == ohms
    bowed = pressure_sender.bowed_ohms(list(table), 10.0, 184.0, 10.0, 10.0)
    np.testing.assert_allclose(bowed, list(table.values()), atol=1.0)


def test_other_pressure_spans_there_and_back() -> None:
    """Makers' pages: 3–160 and 240–33 ohm."""
    for zero, full in ((3.0, 160.0), (240.0, 33.0)):
        ohms = pressure_sender.linear_ohms([0.0, 2.5, 10.0], zero, full, 10.0)
        np.testing.assert_allclose(
            pressure_sender.bowed_bar(ohms, zero, full, 10.0, 0.0), [0.0, 2.5, 10.0], atol=1e-12
        )
        assert (ohms[0], ohms[-1]) == (zero, full)


# Gauge temperature sender (source withheld): °F and ohm
TEMPERATURE_SENDER = {140: 160.0, 150: 135.0, 160: 110.0, 170: 90.0, 180: 75.0, 190: 60.0}


def test_beta_of_a_gauge_temperature_sender() -> None:
    """Source withheld, 140 to 190 °F."""
    beta = beta_from_points(fahrenheit(140), 160.0, fahrenheit(190), 60.0)
    assert beta == pytest.approx(4246, abs=0.5)
    celsius = np.array([fahrenheit(degrees) for degrees in TEMPERATURE_SENDER])
    coefficients = steinhart_hart_from_points(celsius, list(TEMPERATURE_SENDER.values()))
    # printed to 5 ohm, which is 1.5 K at the hot end
    found = steinhart_hart_celsius(list(TEMPERATURE_SENDER.values()), *coefficients)
    np.testing.assert_allclose(found, celsius, atol=0.75)


def test_beta_of_another_gauge_temperature_sender() -> None:
    """Source withheld: 49.5 ohm at 260 °F, 1305 ohm at 100 °F. Its own °C, 123 and 47, are wrong."""
    assert (fahrenheit(260), fahrenheit(100)) == pytest.approx((126.7, 37.8), abs=0.05)
    beta = beta_from_points(fahrenheit(260), 49.5, fahrenheit(100), 1305.0)
    assert beta == pytest.approx(4576, abs=1.0)
    misprinted = beta_from_points(123.0, 49.5, 47.0, 1305.0)
    assert abs(misprinted - 4576) > 100


def test_home_measured_temperature_sender() -> None:
    """An owner's page: five points, and Steinhart and Hart coefficients that miss by up to 3.3 K."""
    celsius = np.array([1.55, 44.7, 59.8, 79.3, 100.0])
    ohms = np.array([1922.0, 287.9, 155.2, 95.1, 43.5])
    printed = (1.763e-3, 2.38e-4, 1.83e-7)
    misses = steinhart_hart_celsius(ohms, *printed) - celsius
    assert np.abs(misses).max() == pytest.approx(3.3, abs=0.05)
    fitted = steinhart_hart_from_points(celsius, ohms)
    assert fitted == pytest.approx(printed, rel=3e-3)
    # noisy data, but still a curve that falls
    assert np.all(np.diff(steinhart_hart_ohms(np.linspace(0, 110, 23), *fitted)) < 0)
