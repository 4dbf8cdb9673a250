from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from gaugesim.physics import supply


def test_a_fuller_battery_has_more_volts() -> None:
    assert np.all(np.diff(supply.battery_open_volts(np.linspace(0, 1, 5))) > 0)


def test_the_drop_is_ohms_times_amperes_either_way() -> None:
    assert supply.loaded_volts(12.6, 0.02, [0.0, 30.0, -10.0]).tolist() == pytest.approx([12.6, 12.0, 12.8])


def test_the_regulated_voltage_falls_with_heat_and_holds_beyond_the_specification() -> None:
    celsius = np.linspace(-20, 80, 21)
    for place in (0.0, 0.5, 1.0):
        assert np.all(np.diff(supply.regulated_volts(celsius, place)) < 0)
    assert supply.regulated_volts([-50.0, 120.0]).tolist() == supply.regulated_volts([-20.0, 80.0]).tolist()


def test_a_slow_change_goes_either_way_and_then_stays() -> None:
    seconds = [0.0, 60.0, 1e5]
    assert supply.slow_change_volts(seconds, 6.0, 0.0).tolist() == [6.0, 5.5, 0.0]
    assert supply.slow_change_volts(seconds, 0.0, 6.0).tolist() == [0.0, 0.5, 6.0]
    assert supply.slow_change_volts(seconds, 6.0, 6.0).tolist() == [6.0, 6.0, 6.0]


@pytest.mark.parametrize("level", supply.STARTING_PROFILES)
def test_the_starting_profile_is_continuous_and_keeps_its_bounds(level: str) -> None:
    profile = supply.STARTING_PROFILES[level]
    seconds = np.linspace(0, profile.cranking_seconds + 0.5, 200_001)
    volts = supply.starting_volts(seconds, profile)
    # No step anywhere: the steepest stretch is the fall, in 5 ms.
    steepest = (profile.rest_volts - profile.lowest_volts) / profile.fall_seconds
    assert np.abs(np.diff(volts)).max() <= steepest * (seconds[1] - seconds[0]) * (1 + 1e-9)
    trough = profile.cranking_volts - profile.ripple_volts / 2
    assert volts.min() == pytest.approx(min(profile.lowest_volts, trough), abs=1e-6)
    assert volts.max() == volts[0] == volts[-1] == profile.rest_volts


def test_the_ripple_is_about_the_middle_of_the_plateau() -> None:
    profile = dataclasses.replace(supply.STARTING_PROFILES["I"], cranking_seconds=5.0)
    start = profile.fall_seconds + profile.dip_seconds + profile.climb_seconds
    plateau = supply.starting_volts(start + np.linspace(0, 5, 10_000, endpoint=False), profile)
    assert plateau.mean() == pytest.approx(profile.cranking_volts, rel=1e-4)
    assert np.ptp(plateau) == pytest.approx(profile.ripple_volts, rel=1e-4)


def test_the_load_dump_rises_falls_to_a_tenth_and_is_clamped() -> None:
    pulse = supply.LOAD_DUMP
    top = pulse.rise_seconds
    volts = supply.load_dump_volts([0.0, top / 2, top, top + pulse.fall_seconds, 100.0], 14.0)
    np.testing.assert_allclose(volts, [14.0, 46.5, 79.0, 14.0 + 6.5, 14.0], rtol=1e-9)
    clamped = supply.load_dump_volts(np.linspace(0, 2, 500), 14.0, clamped=True)
    assert clamped.max() == pulse.clamped_volts
    assert clamped.min() >= 14.0


def test_the_sweep_goes_up_and_down_five_times() -> None:
    frequency = supply.ripple_sweep_hertz([0.0, 30.0, 60.0, 90.0, 120.0, 540.0, 600.0, 600.1])
    middle = np.sqrt(50.0 * 25_000.0)
    np.testing.assert_allclose(
        frequency, [50.0, middle, 25_000.0, middle, 50.0, 25_000.0, 50.0, 0.0], rtol=1e-9
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: supply.battery_open_volts(1.5), "charge must be from 0 to 1"),
        (lambda: supply.loaded_volts(12.0, -0.1, 1.0), "source_ohms must be zero or more"),
        (lambda: supply.regulated_volts(20.0, 2.0), "place must be from 0 to 1"),
        (lambda: supply.slow_change_volts(-1.0, 6.0, 0.0), "seconds must be zero or more"),
        (lambda: supply.slow_change_volts(1.0, 6.0, 0.0, -0.5), "volts_per_minute must be zero or more"),
        (lambda: supply.starting_volts(-1.0, supply.STARTING_PROFILES["I"]), "seconds must be zero or more"),
        (lambda: supply.load_dump_volts(-1.0, 14.0), "seconds must be zero or more"),
        (lambda: supply.ripple_sweep_hertz(-1.0), "seconds must be zero or more"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
