from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import lamp

RATED = (12.0, 3.6)


def test_the_filament_is_cold_at_no_voltage_and_rated_at_the_rated_one() -> None:
    assert lamp.filament_ohms([0.0, 12.0], *RATED).tolist() == pytest.approx([4.0, 40.0])
    assert lamp.filament_ohms(6.0, *RATED, cold_fraction=1.0) == pytest.approx(40.0)


def test_resistance_and_current_rise_with_the_voltage_whichever_way_it_flows() -> None:
    volts = np.linspace(0, 18, 2001)
    for cold in (0.05, 0.1, 0.5):
        for exponent in (0.1, 0.45, 0.5):
            ohms = lamp.filament_ohms(volts, *RATED, cold, exponent)
            assert np.all(np.diff(ohms) > 0)
            assert np.all(np.diff(volts / ohms) > 0)
            assert lamp.filament_ohms(-volts, *RATED, cold, exponent).tolist() == ohms.tolist()


def test_the_lit_filament_follows_its_exponent() -> None:
    ohms = lamp.filament_ohms(np.array([12.0, 12.12]), *RATED)
    assert np.log(ohms[1] / ohms[0]) / np.log(1.01) == pytest.approx(0.45, rel=1e-3)


@pytest.mark.parametrize("cold", [0.01, 0.1, 1.0])
@pytest.mark.parametrize("exponent", [0.05, 0.45, 0.5])
def test_the_operating_point_is_on_the_load_line_to_every_digit(cold: float, exponent: float) -> None:
    open_volts = np.array([-14.0, -1e-6, 1e-9, 0.01, 0.5, 3.0, 12.0, 24.0])[:, None]
    source = np.concatenate([[0.0], np.logspace(-6, 12, 73)])
    volts = lamp.operating_volts(open_volts, source, *RATED, cold, exponent)
    ohms = lamp.filament_ohms(volts, *RATED, cold, exponent)
    np.testing.assert_allclose(
        volts * (1 + source / ohms), np.broadcast_to(open_volts, volts.shape), rtol=1e-12
    )


def test_the_operating_point_at_its_limits() -> None:
    assert lamp.operating_volts(12.0, 0.0, *RATED) == 12.0
    assert lamp.operating_volts(0.0, 10.0, *RATED) == 0.0
    assert lamp.operating_volts([12.0, -12.0, np.nan], np.inf, *RATED).tolist() == [0.0, 0.0, 0.0]
    # a source of a gigohm sees the cold filament
    assert lamp.operating_volts(12.0, 1e9, *RATED) == pytest.approx(12.0 * 4.0 / (1e9 + 4.0), rel=1e-6)


def test_a_reversed_source_gives_the_reversed_voltage() -> None:
    source = np.logspace(-2, 6, 9)
    there = lamp.operating_volts(12.6, source, *RATED)
    assert (-lamp.operating_volts(-12.6, source, *RATED)).tolist() == there.tolist()


def test_a_fixed_resistance_is_an_ordinary_divider() -> None:
    assert lamp.operating_volts(12.0, 20.0, *RATED, cold_fraction=1.0) == pytest.approx(8.0, rel=1e-14)


def test_more_source_resistance_gives_less_light() -> None:
    volts = lamp.operating_volts(12.6, np.logspace(-2, 5, 50), *RATED)
    assert np.all(np.diff(volts) < 0)


def test_a_joint_that_shows_battery_voltage_to_a_meter_keeps_the_lamp_out() -> None:
    joint = 10e3
    assert 12.6 * 10e6 / (10e6 + joint) > 12.5
    assert lamp.brightness_word(lamp.operating_volts(12.6, joint, *RATED), 12.0) == "out"


def test_words_at_and_about_their_thresholds() -> None:
    volts = np.array([0.0, 2.39, 2.41, 8.39, 8.41, 14.0])
    words = ["out", "out", "dim", "dim", "bright", "bright"]
    assert lamp.brightness_word(volts, 12.0).tolist() == words
    assert lamp.brightness_word(-volts, 12.0).tolist() == words
    assert str(lamp.brightness_word(12.0, 12.0)) == "bright"
