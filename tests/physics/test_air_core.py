from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import air_core

STOPS = (-0.1, 1.1)


@pytest.mark.parametrize("angle", [-170.0, -90.0, -1e-6, 0.0, 33.0, 90.0, 179.0])
def test_one_coil_points_along_its_axis(angle: float) -> None:
    x, y = air_core.field([0.05], [120.0], [angle])
    assert air_core.needle_degrees(x, y) == pytest.approx(angle, abs=1e-12)
    assert np.hypot(x, y) == pytest.approx(6.0, rel=1e-12)


def test_coils_are_the_last_axis_and_the_rest_broadcasts() -> None:
    generator = np.random.default_rng(1)
    currents, rest = generator.normal(size=(5, 4, 3)), generator.normal(size=4)
    x, y = air_core.field(currents, [100.0, 80.0, 90.0], [0.0, 90.0, 200.0], rest=(rest, 0.5))
    assert x.shape == y.shape == (5, 4)
    one = air_core.field(currents[2, 3], [100.0, 80.0, 90.0], [0.0, 90.0, 200.0], rest=(rest[3], 0.5))
    assert (x[2, 3], y[2, 3]) == pytest.approx(one)


def test_the_fields_of_two_sets_of_currents_add() -> None:
    generator = np.random.default_rng(2)
    first, second = generator.normal(size=(2, 4))
    turns, angles = generator.uniform(50, 150, 4), generator.uniform(0, 360, 4)
    total = air_core.field(first + second, turns, angles)
    parts = np.add(air_core.field(first, turns, angles), air_core.field(second, turns, angles))
    assert total == pytest.approx(tuple(parts))


def test_no_current_leaves_the_rest_field() -> None:
    assert air_core.field([0.0, 0.0], [100.0, 100.0], [0.0, 90.0], rest=(-0.2, 0.1)) == (-0.2, 0.1)


@pytest.mark.parametrize("shapes", [(2, 3, 2), (2, 2, 3), (1, 2, 2)], ids=["turns", "angles", "currents"])
def test_coil_counts_that_disagree_are_refused(shapes: tuple[int, int, int]) -> None:
    with pytest.raises(ValueError, match="one entry for each coil"):
        air_core.field(*[np.ones(shape) for shape in shapes])


def test_a_number_instead_of_coils_is_refused() -> None:
    with pytest.raises(ValueError, match="they have 0, 2 and 2"):
        air_core.field(0.1, [1.0, 1.0], [0.0, 90.0])


def test_no_field_has_no_direction() -> None:
    assert np.isnan(air_core.needle_degrees(0.0, 0.0))


def test_directions_lie_in_one_turn() -> None:
    angles = np.radians(np.linspace(-720, 720, 97))
    found = air_core.needle_degrees(np.cos(angles), np.sin(angles))
    assert found.min() > -180.0
    assert found.max() <= 180.0
    assert air_core.needle_degrees(-1.0, -0.0) == 180.0


@pytest.mark.parametrize(
    ("low", "high"), [(-45.0, 45.0), (45.0, -45.0), (225.0, -45.0), (-135.0, 135.0), (170.0, 280.0)]
)
def test_the_scale_is_linear_in_angle_either_way_round(low: float, high: float) -> None:
    share = np.linspace(-0.05, 1.05, 23)
    for turns in (-360.0, 0.0, 720.0):
        found = air_core.position(low + share * (high - low) + turns, low, high, STOPS)
        np.testing.assert_allclose(found, share, atol=1e-12)


@pytest.mark.parametrize(("low", "high"), [(-45.0, 45.0), (45.0, -45.0), (225.0, -45.0), (-100.0, 30.0)])
def test_the_break_lies_opposite_the_middle(low: float, high: float) -> None:
    opposite, towards_low = (low + high) / 2 + 180.0, -np.sign(high - low)
    assert air_core.position(opposite - 1e-6 * towards_low, low, high, STOPS) == STOPS[0]
    assert air_core.position(opposite + 1e-6 * towards_low, low, high, STOPS) == STOPS[1]
    assert air_core.position(opposite, low, high, STOPS) == STOPS[0]


def test_an_undriven_needle_stays_undriven() -> None:
    assert np.isnan(air_core.position(np.nan, -45.0, 45.0, STOPS))


def test_friction_holds_the_needle_below_its_threshold() -> None:
    assert air_core.is_driven([0.3, 0.3, 0.0], [0.4, 0.39, 0.0], 0.5).tolist() == [True, False, False]
    assert air_core.is_driven([1e-12, 0.0], 0.0, 0.0).tolist() == [True, False]
