from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import float_sender

ARM = (0.15, 0.2, 45.0, -60.0)
TRACK = ([1.0, 0.0, 0.4], [90.0, 2.0, 30.0])


@pytest.mark.parametrize(("empty", "full"), [(240.0, 33.0), (0.0, 90.0)])
def test_the_straight_track_there_and_back(empty: float, full: float) -> None:
    level = np.linspace(0, 1, 11)
    ohms = float_sender.linear_ohms(level, empty, full)
    assert (ohms[0], ohms[-1]) == (empty, full)
    np.testing.assert_allclose(float_sender.linear_level(ohms, empty, full), level, atol=1e-14)


def test_a_level_read_off_a_sender_of_another_range_runs_off_the_scale() -> None:
    assert float_sender.linear_level(10.0, 240.0, 33.0) > 1.0


def test_the_tabulated_track_there_and_back() -> None:
    level = np.linspace(0, 1, 21)
    ohms = float_sender.table_ohms(level, *TRACK)
    np.testing.assert_allclose(float_sender.table_level(ohms, *TRACK), level, atol=1e-14)
    assert float_sender.table_level([0.0, 200.0], *TRACK).tolist() == [0.0, 1.0]


def test_the_tabulated_track_may_turn_back_but_then_has_no_inverse() -> None:
    track = ([0.0, 0.5, 1.0], [90.0, 5.0, 30.0])
    assert float_sender.table_ohms(0.75, *track) == pytest.approx(17.5)
    with pytest.raises(ValueError, match="ohms_points must only rise or only fall"):
        float_sender.table_level(17.5, *track)


def test_a_step_belongs_to_the_band_above_it() -> None:
    edges, ohms = [0.25, 0.5, 0.75], [90.0, 60.0, 30.0, 0.0]
    levels = [0.0, np.nextafter(0.25, 0), 0.25, 0.6, 0.75, 1.0]
    assert float_sender.stepped_ohms(levels, edges, ohms).tolist() == [90.0, 90.0, 60.0, 30.0, 0.0, 0.0]


def test_the_arm_there_and_back_and_at_its_reach() -> None:
    height = np.linspace(-0.05, 0.35, 17)
    ohms = float_sender.arm_ohms(height, *ARM)
    assert np.all(np.diff(ohms) < 0)
    np.testing.assert_allclose(float_sender.arm_height(ohms, *ARM), height, atol=1e-9)
    assert float_sender.arm_ohms(0.15, *ARM) == 45.0
    assert float_sender.arm_ohms([-9.0, 9.0], *ARM).tolist() == pytest.approx(
        [45 + 30 * np.pi, 45 - 30 * np.pi]
    )


def test_the_arm_is_nearly_straight_about_the_level() -> None:
    rise = 1e-4
    assert float_sender.arm_ohms(0.15 + rise, *ARM) == pytest.approx(45.0 - 60.0 * rise / 0.2, rel=1e-8)


def test_a_dead_spot_replaces_the_track_where_it_is_worn() -> None:
    level = np.array([0.39, 0.4, 0.5, 0.6, 0.61])
    ohms = float_sender.linear_ohms(level, 240.0, 33.0)
    worn = float_sender.with_dead_spot(ohms, level, 0.4, 0.6)
    assert np.isinf(worn).tolist() == [False, True, True, True, False]
    assert worn[[0, 4]].tolist() == ohms[[0, 4]].tolist()
    assert float_sender.with_dead_spot(100.0, 0.5, 0.4, 0.6, 5e3) == 5e3


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: float_sender.linear_ohms(1.2, 240.0, 33.0), "level must be from 0 to 1, but 1.2"),
        (lambda: float_sender.linear_ohms(0.5, -1.0, 33.0), "empty_ohms must be zero or more"),
        (
            lambda: float_sender.linear_level(50.0, 33.0, 33.0),
            "empty_ohms and full_ohms must differ, but both are 33",
        ),
        (lambda: float_sender.table_ohms(-0.1, *TRACK), "level must be from 0 to 1"),
        (lambda: float_sender.table_ohms(0.1, [0.0, 1.0], [1.0, -1.0]), "ohms_points must be zero or more"),
        (lambda: float_sender.table_ohms(0.1, [0.0, np.inf], [1.0, 2.0]), "finite"),
        (lambda: float_sender.stepped_ohms(0.1, [0.5, 0.2], [1.0, 2.0, 3.0]), "step_levels must rise"),
        (lambda: float_sender.stepped_ohms(0.1, [0.2, 0.5], [1.0, 2.0]), "one entry more"),
        (lambda: float_sender.arm_ohms(0.1, 0.0, 0.0, 45.0, 60.0), "arm_length must be above zero"),
        (lambda: float_sender.arm_height(45.0, 0.0, 0.2, 45.0, 0.0), "ohms_per_radian must not be zero"),
        (lambda: float_sender.arm_height(200.0, *ARM), "more than a quarter turn"),
        (lambda: float_sender.with_dead_spot(9.0, 0.5, 0.6, 0.4), "dead_low must not be above dead_high"),
        (lambda: float_sender.with_dead_spot(9.0, 0.5, 0.4, 0.6, -1.0), "dead_ohms must be zero or more"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
