from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import regulator

RMS, MEAN = "rms", "mean"
POWER = {RMS: 2, MEAN: 1}


@pytest.mark.parametrize("convention", [RMS, MEAN])
def test_the_duty_holds_what_it_promises(convention: str) -> None:
    on, off = np.meshgrid(np.linspace(10.5, 16.0, 12), [0.0, 0.3, 4.0])
    duty = regulator.duty(on, off, 10.0, convention)
    assert np.all((duty > 0) & (duty < 1))
    held = duty * on ** POWER[convention] + (1 - duty) * off ** POWER[convention]
    np.testing.assert_allclose(held, 10.0 ** POWER[convention], rtol=1e-13)


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


def test_a_steady_output_is_what_is_set_or_the_input_less_the_dropout() -> None:
    on, off = np.meshgrid(np.linspace(0.5, 30.0, 60), [0.0, 0.2])
    share = regulator.steady_share(on, off, 10.0, 1.0)
    expected = np.maximum(np.minimum(10.0, on - 1.0), off)
    np.testing.assert_allclose(share * on + (1 - share) * off, expected, rtol=1e-12, atol=1e-12)
    # its own ground lost, it cannot tell its output; polarity makes no difference
    assert regulator.steady_share(1e-12, 0.0, 10.0, 1.0) == 1.0
    assert regulator.steady_share(-14.0, -0.2, 10.0, 1.0) == regulator.steady_share(14.0, 0.2, 10.0, 1.0)
