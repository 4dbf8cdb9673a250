from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import water


def test_saturation_there_and_back() -> None:
    celsius = np.linspace(0.01, 370.0, 75)
    np.testing.assert_allclose(
        water.saturation_celsius(water.saturation_pressure(celsius)), celsius, atol=1e-7
    )


def test_an_open_pan_at_sea_level_is_what_is_meant_without_arguments() -> None:
    assert water.boiling_celsius() == water.saturation_celsius(101325.0)


def test_the_ends_of_the_range_belong_to_it() -> None:
    assert water.saturation_pressure([0.0, 373.946]) == pytest.approx([611.2, 22.064e6], rel=1e-4)
    assert water.air_pressure(0.0) == 101325.0
    assert water.air_pressure(11_000.0) < water.air_pressure(-2000.0)


def test_pressure_falls_with_height_as_the_weight_of_the_air_above() -> None:
    height, step = 2500.0, 0.5
    slope = (water.air_pressure(height + step) - water.air_pressure(height - step)) / (2 * step)
    temperature = 288.15 - 0.0065 * height
    # gravity also weakens with height, by one part in a thousand here
    assert slope == pytest.approx(-9.80665 * water.air_pressure(height) / (287.05287 * temperature), rel=2e-3)


def test_the_capped_system_boils_later_and_the_mountain_sooner() -> None:
    caps = water.boiling_celsius(0.0, [0.0, 0.5e5, 1.0e5])
    assert np.all(np.diff(caps) > 0)
    assert np.all(np.diff(water.boiling_celsius([0.0, 1000.0, 3000.0])) < 0)
    # the pressures add: it is the absolute pressure that counts
    assert water.boiling_celsius(2000.0, 1e5) == water.saturation_celsius(water.air_pressure(2000.0) + 1e5)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: water.air_pressure(12_000.0), "altitude must be from -2000 to 11000, but 12000"),
        (lambda: water.saturation_celsius(100.0), "pascals must be from 611"),
        (lambda: water.saturation_celsius(23e6), "pascals must be from 611"),
        (lambda: water.saturation_pressure(-1.0), "celsius must be from 0 to 373.946"),
        (lambda: water.saturation_pressure(400.0), "celsius must be from 0 to 373.946"),
        (lambda: water.boiling_celsius(0.0, -1.0), "cap_pressure must be zero or more"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
