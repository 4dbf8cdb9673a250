from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import tank

DIPS = ([0.3, 0.0, 0.1], [1.0, 0.0, 0.5])


def test_a_box_is_straight_and_back() -> None:
    height = np.linspace(0, 0.4, 9)
    np.testing.assert_allclose(tank.box_height(tank.box_fraction(height, 0.4), 0.4), height, atol=1e-16)


def test_a_lying_cylinder_is_the_integral_of_its_chord() -> None:
    diameter, height = 0.8, 0.23
    edges = np.linspace(0, height, 200_001)
    middle = (edges[1:] + edges[:-1]) / 2
    area = np.sum(2 * np.sqrt(middle * (diameter - middle))) * (height / 200_000)
    expected = area / (np.pi * diameter**2 / 4)
    assert tank.horizontal_cylinder_fraction(height, diameter) == pytest.approx(expected, rel=1e-7)


def test_a_lying_cylinder_is_symmetric_about_its_middle() -> None:
    height = np.linspace(0, 0.4, 41)
    lower = tank.horizontal_cylinder_fraction(height, 0.8)
    np.testing.assert_allclose(lower + tank.horizontal_cylinder_fraction(0.8 - height, 0.8), 1.0, rtol=1e-14)
    assert (lower[0], lower[-1]) == pytest.approx((0.0, 0.5))


def test_a_lying_cylinder_there_and_back() -> None:
    full = np.array([0.0, 1e-9, 1e-4, 0.1, 0.5, 0.8, 1 - 1e-9, 1.0])
    height = tank.horizontal_cylinder_height(full, 0.8)
    assert (height[0], height[-1]) == pytest.approx((0.0, 0.8), abs=1e-15)
    np.testing.assert_allclose(tank.horizontal_cylinder_fraction(height, 0.8), full, atol=0, rtol=1e-6)


def test_a_dip_table_there_and_back() -> None:
    height = np.linspace(0, 0.3, 13)
    np.testing.assert_allclose(
        tank.table_height(tank.table_fraction(height, *DIPS), *DIPS), height, atol=1e-15
    )
    assert tank.table_fraction([-1.0, 1.0], *DIPS).tolist() == [0.0, 1.0]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: tank.box_fraction(0.5, 0.4), "height must be at most tank_height"),
        (lambda: tank.box_fraction(-0.1, 0.4), "height must be zero or more"),
        (lambda: tank.box_height(1.1, 0.4), "full must be from 0 to 1"),
        (lambda: tank.horizontal_cylinder_fraction(0.9, 0.8), "height must be at most diameter"),
        (lambda: tank.horizontal_cylinder_height(0.5, 0.0), "diameter must be above zero"),
        (lambda: tank.horizontal_cylinder_height(-0.5, 1.0), "full must be from 0 to 1"),
        (lambda: tank.table_fraction(0.1, [0.0, 1.0], [1.0, 0.0]), "full_points must rise"),
        (lambda: tank.table_height(0.1, [0.0, 0.5, 1.0], [0.0, 0.7, 0.6]), "only rise or only fall"),
        (lambda: tank.table_height(0.1, [0.0, 0.5], [0.0, 1.7]), "full_points must be from 0 to 1"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
