"""Vehicle supply against the standard, test files made from it, and a specification.

The specification of the regulated voltage names a make: source withheld, unverifiable.
"""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics.conductor import wire_ohms
from gaugesim.physics.supply import (
    LOAD_DUMP,
    STARTING_PROFILES,
    VOLTAGE_CODES,
    load_dump_volts,
    loaded_volts,
    regulated_volts,
    ripple_sweep_hertz,
    slow_change_volts,
    starting_volts,
)


def test_voltage_codes() -> None:
    """ISO 16750-2:2010, Table 1, 12 V."""
    assert dict(VOLTAGE_CODES) == {"A": (6.0, 16.0), "B": (8.0, 16.0), "C": (9.0, 16.0), "D": (10.5, 16.0)}


@pytest.mark.parametrize(("code", "minutes"), [("A", 12.0), ("D", 21.0)])
def test_slow_decrease_of_the_supply(code: str, minutes: float) -> None:
    """ISO 16750-2: 0.5 ± 0.1 V/min (test-generator manual); 6 V in 12 min, 10.5 V in 21 min (test files)."""
    lowest = VOLTAGE_CODES[code][0]
    seconds = 60.0 * minutes
    assert slow_change_volts(seconds, lowest, 0.0) == pytest.approx(0.0, abs=1e-12)
    assert slow_change_volts(seconds - 60.0, lowest, 0.0) == pytest.approx(0.5, abs=0.1)


def test_starting_profile_of_level_one() -> None:
    """ISO 16750-2:2003 level I, test file.

    12 to 8 V in 5 ms, 15 ms there, 50 ms up to the crest of 10.5 V, 1 s at a plateau with 2 V of ripple at
    2 Hz, and 40 ms back to 12 V.
    """
    corners = {
        0.0: 12.0,
        0.005: 8.0,
        0.020: 8.0,
        0.070: 10.5,
        0.320: 8.5,
        0.570: 10.5,
        1.070: 10.5,
        1.110: 12.0,
    }
    found = starting_volts(list(corners), STARTING_PROFILES["I"])
    np.testing.assert_allclose(found, list(corners.values()), atol=1e-9)
    ramps = starting_volts([0.0025, 0.045, 1.090], STARTING_PROFILES["I"])
    np.testing.assert_allclose(ramps, [10.0, 9.25, 11.25], atol=1e-9)


def test_starting_profiles_from_memory_beside_the_one_that_was_seen() -> None:
    """ISO 16750-2: level I from a test file; II to IV are from memory, say so, and are held to level I only.

    Each is deeper than level I, and its plateau and its way back are no shorter.
    """
    seen = STARTING_PROFILES["I"]
    for level in ("II", "III", "IV"):
        profile = STARTING_PROFILES[level]
        assert "from memory" in profile.source
        assert profile.lowest_volts < seen.lowest_volts
        assert profile.lowest_volts < profile.cranking_volts < seen.cranking_volts
        assert profile.cranking_seconds >= seen.cranking_seconds
        assert profile.recovery_seconds > seen.recovery_seconds
    assert "from memory" not in seen.source


def test_load_dump() -> None:
    """ISO 16750-2 test A: 79 V (lower end of its range), 0.5 ohm, 5 ms up, 400 ms; test B: 35 V."""
    assert LOAD_DUMP.source_ohms == 0.5
    assert load_dump_volts(0.005, 13.5) == pytest.approx(79.0)
    left = (load_dump_volts(0.405, 13.5) - 13.5) / (79.0 - 13.5)
    assert left == pytest.approx(0.1, rel=1e-9)
    assert load_dump_volts(0.005, 13.5, clamped=True) == 35.0


def test_superimposed_voltage_sweep() -> None:
    """ISO 16750-2, test file of 24 V severity 3: 50 Hz to 25 kHz, 60 s up and 60 s down, five times.

    The file gives the ends; the logarithmic course between them is from memory, so only its ends are held.
    """
    assert ripple_sweep_hertz([0.0, 60.0, 120.0, 300.0]).tolist() == pytest.approx([50.0, 25e3, 50.0, 25e3])
    between = ripple_sweep_hertz([540.0, 560.0, 580.0, 600.0, 601.0])
    assert (between[:3] > between[1:4]).all()
    assert between[4] == 0.0


@pytest.mark.parametrize(
    ("celsius", "low", "high"),
    [(-20.0, 14.0, 15.1), (20.0, 13.7, 14.6), (60.0, 13.2, 14.3), (80.0, 12.9, 14.1)],
)
def test_regulated_voltage(celsius: float, low: float, high: float) -> None:
    """The specification, by the temperature around the regulator."""
    assert regulated_volts(celsius, 0.0) == pytest.approx(low)
    assert regulated_volts(celsius, 1.0) == pytest.approx(high)


def test_slope_of_the_regulated_voltage() -> None:
    """The same specification: -10.5 mV/K along its middle."""
    assert (regulated_volts(80.0) - regulated_volts(-20.0)) / 100.0 == pytest.approx(-10.5e-3, abs=5e-5)


def test_drop_along_the_output_line() -> None:
    """The same specification: at most 0.3 V at 30 A, which 2 m of 6 mm2 of warm copper keep."""
    line = wire_ohms(2.0, 6.0, 60.0)
    assert 14.0 - loaded_volts(14.0, line, 30.0) < 0.3
    assert 14.0 - loaded_volts(14.0, 2 * line, 30.0) > 0.3
