from __future__ import annotations

import numpy as np
import pytest

from gaugesim.physics import conductor


def test_resistance_goes_with_length_over_cross_section() -> None:
    assert conductor.wire_ohms(6.0, 1.5) == pytest.approx(4 * float(conductor.wire_ohms(3.0, 3.0)))
    assert conductor.wire_ohms(0.0, 1.5) == 0.0
    # a cube of a meter edge
    assert conductor.wire_ohms(1.0, 1e6) == pytest.approx(float(conductor.resistivity()))


def test_copper_is_at_its_reference_at_twenty_degrees() -> None:
    assert conductor.temperature_factor(20.0) == 1.0
    assert conductor.wire_ohms(3.0, 1.5, 20.0) == conductor.wire_ohms(3.0, 1.5)
    hot = conductor.wire_ohms(3.0, 1.5, 70.0) / conductor.wire_ohms(3.0, 1.5)
    assert hot == pytest.approx(float(conductor.temperature_factor(70.0)))


def test_six_gauge_numbers_halve_the_diameter_nearly_and_thirty_nine_make_ninety_two() -> None:
    diameter = conductor.american_wire_gauge_diameter([-3.0, 36.0])
    assert diameter[0] / diameter[1] == pytest.approx(92.0)
    halved = conductor.american_wire_gauge_diameter(18) / conductor.american_wire_gauge_diameter(12)
    assert halved == pytest.approx(0.5, rel=0.01)
    square = conductor.american_wire_gauge_square_millimeters(36)
    assert square == pytest.approx(np.pi * 0.127**2 / 4)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: conductor.wire_ohms(-1.0, 1.0), "length must be zero or more"),
        (lambda: conductor.wire_ohms([1.0, 2.0], [1.0, 0.0]), "square_millimeters must be above zero, but 0"),
        (lambda: conductor.temperature_factor(-300.0), "celsius must be above -273.15"),
        (lambda: conductor.resistivity(-250.0), "celsius must be above -234"),
    ],
)
def test_bad_input_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
