from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import pressure_sender

TABLE = tuple(zip(*pressure_sender.TEN_BAR_POINTS, strict=True))
BAR = np.linspace(0, 10, 41)


def test_without_a_bow_the_curve_is_the_straight_line() -> None:
    straight = pressure_sender.linear_ohms(BAR, 240.0, 33.0, 10.0)
    np.testing.assert_allclose(straight, 240.0 - 20.7 * BAR, rtol=1e-14)
    np.testing.assert_allclose(pressure_sender.bowed_bar(straight, 240.0, 33.0, 10.0, 0.0), BAR, atol=1e-12)


@pytest.mark.parametrize("bow", [-40.0, -10.0, 0.0, 10.0, 43.0])
@pytest.mark.parametrize(("zero", "full"), [(10.0, 184.0), (240.0, 33.0)])
def test_the_bow_there_and_back(zero: float, full: float, bow: float) -> None:
    ohms = pressure_sender.bowed_ohms(BAR, zero, full, 10.0, bow)
    assert (ohms[0], ohms[-1]) == (zero, full)
    assert ohms[20] == pytest.approx((zero + full) / 2 + bow)
    assert np.all(np.diff(ohms) * np.sign(full - zero) > 0)
    np.testing.assert_allclose(pressure_sender.bowed_bar(ohms, zero, full, 10.0, bow), BAR, atol=1e-9)


def test_the_track_ends_at_full_pressure() -> None:
    assert pressure_sender.bowed_ohms(14.0, 10.0, 184.0, 10.0, 10.0) == 184.0
    assert pressure_sender.bowed_bar([0.0, 500.0], 10.0, 184.0, 10.0, 10.0).tolist() == [0.0, 10.0]


def test_the_table_there_and_back() -> None:
    ohms = pressure_sender.table_ohms(BAR, *TABLE)
    np.testing.assert_allclose(pressure_sender.table_bar(ohms, *TABLE), BAR, atol=1e-12)
    assert pressure_sender.table_ohms(14.0, *TABLE) == 184.0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: pressure_sender.linear_ohms(-1.0, 10.0, 184.0, 10.0), "bar must be zero or more"),
        (lambda: pressure_sender.linear_ohms(1.0, 10.0, 184.0, 0.0), "full_bar must be above zero"),
        (lambda: pressure_sender.linear_ohms(1.0, -10.0, 184.0, 10.0), "zero_ohms must be zero or more"),
        (lambda: pressure_sender.bowed_ohms(1.0, 10.0, 184.0, 10.0, 60.0), "the curve turns back"),
        (
            lambda: pressure_sender.bowed_bar(50.0, 10.0, 10.0, 10.0, 0.0),
            "zero_ohms and full_ohms must differ",
        ),
        (lambda: pressure_sender.table_ohms(-1.0, *TABLE), "bar must be zero or more"),
        (lambda: pressure_sender.table_bar(9.0, [0.0, 5.0, 10.0], [1.0, 9.0, 3.0]), "only rise or only fall"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
