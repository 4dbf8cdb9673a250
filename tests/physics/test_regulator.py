from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import bimetal, regulator

RMS, MEAN = "rms", "mean"
HELD = {RMS: regulator.root_mean_square, MEAN: regulator.mean}


@pytest.mark.parametrize("convention", [RMS, MEAN])
def test_the_duty_holds_what_it_promises(convention: str) -> None:
    on, off = np.meshgrid(np.linspace(10.5, 16.0, 12), [0.0, 0.3, 4.0])
    duty = regulator.duty(on, off, 10.0, convention)
    assert np.all((duty > 0) & (duty < 1))
    np.testing.assert_allclose(HELD[convention](on, off, duty), 10.0, rtol=1e-13)


@pytest.mark.parametrize("convention", [RMS, MEAN])
def test_the_duty_at_its_limits(convention: str) -> None:
    on, off = [9.0, 10.0, 0.0, 14.0, 14.0, np.inf], [0.0, 0.0, 0.0, 10.0, 12.0, 0.0]
    expected = [1.0, 1.0, 1.0, 0.0, 0.0, 0.0]
    assert regulator.duty(on, off, 10.0, convention).tolist() == expected


@pytest.mark.parametrize("convention", [RMS, MEAN])
def test_equal_voltages_above_the_design_never_close(convention: str) -> None:
    assert regulator.duty(12.0, 12.0, 10.0, convention) == 0.0
    assert regulator.duty(8.0, 8.0, 10.0, convention) == 1.0


@pytest.mark.parametrize("convention", [RMS, MEAN])
def test_the_heater_does_not_feel_polarity(convention: str) -> None:
    assert regulator.duty(-14.0, 0.0, 10.0, convention) == regulator.duty(14.0, 0.0, 10.0, convention)


def test_the_rms_is_never_below_the_mean() -> None:
    generator = np.random.default_rng(3)
    on, off, duty = generator.uniform(0, 16, 500), generator.uniform(0, 16, 500), generator.uniform(0, 1, 500)
    assert np.all(regulator.root_mean_square(on, off, duty) >= regulator.mean(on, off, duty) * (1 - 1e-15))


def test_a_narrow_band_holds_the_rms() -> None:
    ohms, loss, lag, design = 60.0, 0.02, 8.0, 7.0
    rise = float(bimetal.final_rise(design, ohms, loss))
    on_volts = np.array([8.0, 11.0, 14.4])
    opens, closes = rise * (1 + 1e-5), rise * (1 - 1e-5)
    on = regulator.on_seconds(bimetal.final_rise(on_volts, ohms, loss), opens, closes, lag)
    off = regulator.off_seconds(opens, closes, lag)
    np.testing.assert_allclose(on / (on + off), regulator.duty(on_volts, 0.0, design, RMS), rtol=1e-8)


def test_the_cycle_times_are_those_of_a_simulated_strip() -> None:
    full, opens, closes, lag, step = 100.0, 60.0, 45.0, 8.0, 1e-4
    rise, closed, switched = 0.0, True, []
    for count in range(600_000):
        rise += step * ((full if closed else 0.0) - rise) / lag
        if (closed and rise >= opens) or (not closed and rise <= closes):
            closed = not closed
            switched.append(count * step)
    lasted = np.diff(switched)
    assert lasted[1::2] == pytest.approx(float(regulator.on_seconds(full, opens, closes, lag)), rel=1e-3)
    assert lasted[::2] == pytest.approx(float(regulator.off_seconds(opens, closes, lag)), rel=1e-3)


def test_a_low_supply_never_opens_the_contact() -> None:
    assert regulator.on_seconds([0.0, 50.0, 60.0], 60.0, 50.0, 10.0).tolist() == [np.inf] * 3


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: regulator.duty(14.0, 0.0, 10.0, "average"), 'must be "rms" or "mean", but \'average\''),
        (lambda: regulator.duty(14.0, 0.0, 0.0, RMS), "design_volts must be above zero"),
        (lambda: regulator.mean(14.0, 0.0, 1.2), "duty must be from 0 to 1, but 1.2"),
        (lambda: regulator.root_mean_square(14.0, 0.0, -0.2), "duty must be from 0 to 1"),
        (lambda: regulator.on_seconds(100.0, 50.0, 60.0, 10.0), "closes_at_rise must be below opens_at_rise"),
        (lambda: regulator.off_seconds(50.0, 50.0, 10.0), "closes_at_rise must be below opens_at_rise"),
        (lambda: regulator.off_seconds(50.0, 0.0, 10.0), "closes_at_rise must be above zero"),
        (lambda: regulator.off_seconds(60.0, 50.0, 0.0), "lag_seconds must be above zero"),
        (lambda: regulator.on_seconds(-1.0, 60.0, 50.0, 10.0), "full_rise must be zero or more"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
