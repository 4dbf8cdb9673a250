from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import meter


def test_the_voltmeter_at_its_limits() -> None:
    source = [0.0, meter.VOLTMETER_OHMS, np.inf]
    assert meter.voltmeter_volts(12.0, source).tolist() == [12.0, 6.0, 0.0]
    assert meter.voltmeter_volts(np.nan, np.inf) == 0.0
    assert meter.voltmeter_volts(-12.0, 0.0) == -12.0


def test_loading_error_is_what_the_reading_lacks() -> None:
    source = np.logspace(0, 8, 9)
    shown = meter.voltmeter_volts(12.0, source)
    np.testing.assert_allclose(
        meter.loading_error_percent(source), 100 * (12.0 - shown) / 12.0, rtol=1e-9, atol=1e-12
    )


def test_the_ohmmeter_divides_and_knows_its_range() -> None:
    assert meter.ohmmeter_ohms([0.0, 0.073], 1e-3).tolist() == pytest.approx([0.0, 73.0])
    volts = np.array([39.9e6, 40.1e6]) * 1e-8
    assert meter.ohmmeter_ohms(volts, 1e-8).tolist() == pytest.approx([39.9e6, np.inf])
    assert meter.is_open([40e6, 1e9, np.inf]).tolist() == [False, True, True]


def test_a_voltage_of_the_circuit_s_own_falsifies_the_ohmmeter() -> None:
    # 100 ohm with 20 mV of galvanic voltage in series, either way round
    readings = meter.ohmmeter_ohms(np.array([0.1 + 0.02, 0.1 - 0.02]), 1e-3)
    assert readings.tolist() == pytest.approx([120.0, 80.0])


def test_accuracy_is_percent_of_reading_plus_digits() -> None:
    assert meter.accuracy([-10.0, 0.0], 1.0, 3.0, 0.01).tolist() == pytest.approx([0.13, 0.03])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: meter.voltmeter_volts(12.0, -1.0), "source_ohms must be zero or more"),
        (lambda: meter.voltmeter_volts(12.0, 1.0, 0.0), "meter_ohms must be above zero"),
        (lambda: meter.ohmmeter_ohms(0.1, 0.0), "test_amperes must be above zero"),
        (lambda: meter.is_open(1.0, 0.0), "highest_ohms must be above zero"),
        (lambda: meter.accuracy(1.0, -1.0, 1.0, 0.1), "percent must be zero or more"),
        (lambda: meter.accuracy(1.0, 1.0, -1.0, 0.1), "digits must be zero or more"),
        (lambda: meter.accuracy(1.0, 1.0, 1.0, -0.1), "resolution must be zero or more"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
