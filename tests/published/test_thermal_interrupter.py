"""Thermal interrupter against published figures.

The sources do not agree on what a regulator's nominal voltage is: a 10 V figure fits the mean of its pulses,
a 5 V one is called an effective constant average, and a heated gauge answers to the mean square. Neither
convention is asserted as the published one; each is checked against its own figures. No published time
constant of a bimetal gauge was found.
"""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics.bimetal import first_order
from gaugesim.physics.regulator import duty

SUPPLY = np.array([11.0, 12.0, 12.6, 13.2, 14.0, 14.4])
# D = (design/supply)² and mean = D·supply, worked from the heat balance of a narrow band
TEN_VOLT_RMS_DUTY = [0.8264, 0.6944, 0.6299, 0.5739, 0.5102, 0.4823]
TEN_VOLT_RMS_MEAN = [9.091, 8.333, 7.937, 7.576, 7.143, 6.944]
FIVE_VOLT_RMS_DUTY = [0.2066, 0.1736, 0.1575, 0.1435, 0.1276, 0.1206]


def test_duty_and_mean_of_an_rms_regulator() -> None:
    """Heat balance of the interrupter's own heater."""
    share = duty(SUPPLY, 0.0, 10.0, "rms")
    np.testing.assert_allclose(share, TEN_VOLT_RMS_DUTY, atol=5e-5)
    np.testing.assert_allclose(share * SUPPLY, TEN_VOLT_RMS_MEAN, atol=5e-4)
    np.testing.assert_allclose(share * SUPPLY**2, 10.0**2, rtol=1e-12)
    np.testing.assert_allclose(duty(SUPPLY, 0.0, 5.0, "rms"), FIVE_VOLT_RMS_DUTY, atol=5e-5)


@pytest.mark.parametrize(("supply", "printed"), [(13.0, 0.77), (11.5, 0.87)])
def test_ten_volt_regulator_of_the_mean_kind(supply: float, printed: float) -> None:
    """A home builder's page (source withheld, unverifiable): 77 % on at 13.0 V, 87 % at 11.5 V."""
    assert duty(supply, 0.0, 10.0, "mean") == pytest.approx(printed, abs=0.005)


def test_the_two_conventions_cannot_be_taken_for_each_other() -> None:
    """At 13.0 V, where that page prints 77 %, the other convention gives 59 %."""
    assert duty(13.0, 0.0, 10.0, "mean") == pytest.approx(0.769, abs=5e-4)
    assert duty(13.0, 0.0, 10.0, "rms") == pytest.approx(0.592, abs=5e-4)


def test_seven_volts_half_of_the_time() -> None:
    """An owner's measurement (source withheld, unverifiable): 7 V, about 1 s on and 1 s off at 14 V."""
    assert duty(14.0, 0.0, 7.0, "mean") == pytest.approx(0.5, abs=1e-12)


def test_a_five_volt_regulator_starved_of_supply_passes_all_of_it() -> None:
    """Below 5 V at the input the reading falls in proportion (manual of 1948–52, withheld, unverifiable)."""
    low = np.array([1.0, 3.0, 4.9])
    for convention in ("mean", "rms"):
        np.testing.assert_allclose(duty(low, 0.0, 5.0, convention), 1.0)


def test_only_the_rms_convention_frees_a_heated_gauge_of_the_supply() -> None:
    """Winding of about 58 ohm with a sender of 31.4 ohm at 100 degrees Celsius, as measured.

    A gauge's power goes with the mean square; with the mean held instead it grows with the supply.
    """
    watts = {
        convention: 58.0 * duty(SUPPLY, 0.0, 10.0, convention) * (SUPPLY / (58.0 + 31.4)) ** 2
        for convention in ("rms", "mean")
    }
    np.testing.assert_allclose(watts["rms"], watts["rms"][0], rtol=1e-12)
    np.testing.assert_allclose(watts["mean"] / watts["mean"][0], SUPPLY / SUPPLY[0], rtol=1e-12)


def test_the_strip_warms_as_the_textbook_solution_says() -> None:
    """C dT/dt = V²/R − G(T − Ta), textbook problem: T = Ta + V²/(GR)·(1 − e^(−Gt/C))."""
    seconds = np.array([0.0, 2.0, 12.5, 80.0])
    rise = 7.0**2 / (0.02 * 58.0)
    expected = 21.0 + rise * (1 - np.exp(-0.02 * seconds / 0.25))
    np.testing.assert_allclose(first_order(21.0, 21.0 + rise, seconds, 0.25 / 0.02), expected, rtol=1e-12)
