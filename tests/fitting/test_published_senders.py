"""Sender tables from outside the project, good ones and a home measurement."""

import numpy as np
import pytest

from gaugesim.fitting import SenderFit, fit, parse_points

# comparative table of a coolant sensor of 2020, 2.5 kohm at 20 degC (source withheld, unverifiable)
COOLANT = {
    -40: 48805,
    -30: 27414,
    -20: 15971,
    -10: 9620,
    0: 5975,
    10: 3816,
    20: 2502,
    25: 2044,
    30: 1679,
    40: 1152,
    50: 806.9,
    60: 575.8,
    70: 418.1,
    80: 308.6,
    90: 231.2,
    100: 175.7,
    110: 135.2,
    120: 105.4,
    130: 83.1,
    140: 66.2,
}
# an owner's measurement of a gauge sender, with coefficients fitted by him
HOME = {1.55: 1922, 44.7: 287.9, 59.8: 155.2, 79.3: 95.1, 100: 43.5}
HOME_COEFFICIENTS = 1.763e-3, 2.38e-4, 1.83e-7
# published gauge temperature sender, degrees Fahrenheit
FAHRENHEIT = {140: 160, 150: 135, 160: 110, 170: 90, 180: 75, 190: 60}
# a user's report of a pressure sender, "not exactly linear"
PRESSURE = {0: 10, 5: 107, 10: 184}
# a stepped level sender: ohms of each band, the bands of equal height, low ohms at the top
STEPPED = [89.8, 77.8, 67.8, 57.8, 47.8, 37.8, 27.8, 17.8, 0.0]


def fitted(gauge: str, key: str, table: dict[float, float], **more: float) -> SenderFit:
    rows = [{key: at, "ohms": ohms} for at, ohms in table.items()]
    found = fit(parse_points({"gauge": gauge, "sender": rows, **more})).sender
    assert found is not None
    return found


def kelvin_off(found: SenderFit, table: dict[float, float]) -> np.ndarray:
    """How far off the curve is, as a temperature: by its slope over a tenth of a kelvin."""
    at = np.array(list(table), dtype=float)
    curve = found.curve(at)
    slope = np.log(found.curve(at + 0.05) / found.curve(at - 0.05)) / 0.1
    return np.asarray(np.log(curve / np.array(list(table.values()))) / slope)


def test_a_printed_table_is_met_to_its_last_digit() -> None:
    found = fitted("temperature", "celsius", COOLANT, sender_plus_minus=0.02, ohms_tolerance=0.0005)
    assert found.kind == "steinhart_hart"
    # least squares over the same twenty points: A=1.33597e-3, B=2.55994e-4, C=1.50659e-7, worst 0.012 K
    values = [found.parameters[name].value for name in "abc"]
    assert values == pytest.approx([1.33597e-3, 2.55994e-4, 1.50659e-7], rel=2e-3)
    assert np.abs(kelvin_off(found, COOLANT)).max() < 0.015


def test_a_third_of_a_printed_table_predicts_the_rest() -> None:
    some = dict(list(COOLANT.items())[::3])
    found = fitted("temperature", "celsius", some, sender_plus_minus=0.1, ohms_tolerance=0.002)
    assert found.kind == "steinhart_hart"
    assert np.abs(kelvin_off(found, COOLANT)).max() < 0.1


def test_a_beta_alone_would_not_do_over_the_whole_table() -> None:
    # B25/100 is wrong by 3.5 K at -40 degC: with two points there is nothing but a beta
    found = fitted(
        "temperature",
        "celsius",
        {25: 2044, 100: 175.7},
        sender_plus_minus=0.02,
        ohms_tolerance=0.0005,
    )
    assert found.kind == "beta"
    assert found.parameters["beta"].value == pytest.approx(3640, abs=2)
    assert abs(kelvin_off(found, COOLANT)[0]) == pytest.approx(3.5, abs=0.1)


def test_a_home_measurement_with_its_scatter() -> None:
    stated = fitted("temperature", "celsius", HOME, sender_plus_minus=4)
    assert not stated.bad.any()
    # the owner's own coefficients leave up to 3.3 K
    a, b, c = HOME_COEFFICIENTS
    logarithm = np.log(list(HOME.values()))
    own = 1 / (a + b * logarithm + c * logarithm**3) - 273.15 - np.array(list(HOME))
    assert np.abs(own).max() == pytest.approx(3.3, abs=0.05)
    assert np.abs(kelvin_off(stated, HOME)).max() < 1.5 * 3.3
    low, high = stated.parameters["ohms_at_80"].low, stated.parameters["ohms_at_80"].high
    theirs = np.exp(np.interp(1 / 353.15, a + b * (x := np.linspace(3, 8, 5001)) + c * x**3, x))
    assert low < theirs < high


def test_a_home_measurement_believed_too_much_says_so() -> None:
    found = fitted("temperature", "celsius", HOME, sender_plus_minus=1)
    # no curve passes within a degree of all five: one is left out, or the scatter is told
    assert found.bad.sum() == 1 or found.scale > 1.5
    if found.bad.any():
        assert np.flatnonzero(found.bad).tolist() == [3]


def test_a_published_gauge_sender_has_its_beta() -> None:
    table = {(at - 32) / 1.8: ohms for at, ohms in FAHRENHEIT.items()}
    found = fitted("temperature", "celsius", table)
    beta = found.parameters["beta"]
    assert beta.low < 4246 < beta.high
    assert beta.value == pytest.approx(4246, rel=0.02)


def test_a_linear_track_keeps_its_quarter_points() -> None:
    # 240 to 33 ohm, printed quarter points 240, 188, 136, 84, 33
    table = dict(zip([0, 0.25, 0.5, 0.75, 1], [240, 188, 136, 84, 33], strict=True))
    found = fitted("fuel", "level", table)
    values = [value.value for value in found.parameters.values()]
    assert values == pytest.approx([240, 188.25, 136.5, 84.75, 33], abs=1)
    ends = fitted("fuel", "level", {0: 240, 1: 33})
    assert [value.value for value in ends.parameters.values()] == pytest.approx(values, abs=1)
    assert set(ends.loose) == {"track_quarter", "track_half", "track_three_quarters"}


def test_a_bowed_pressure_sender_is_not_made_straight() -> None:
    found = fitted("oil_pressure", "bar", PRESSURE)
    assert found.curve(np.array([0.0, 5.0, 10.0])) == pytest.approx([10, 107, 184], abs=1)
    # linear would be 97 ohm at 5 bar
    assert found.parameters["pressure_half"].low > 97
    # its fuller table, from memory, lies within the bands of a fit to the three points
    for name, ohms in {"pressure_quarter": (52 + 71) / 2, "pressure_three_quarters": (140 + 155) / 2}.items():
        assert found.parameters[name].low < ohms < found.parameters[name].high


def test_a_stepped_sender_is_smoothed_within_its_steps() -> None:
    middles = {(band + 0.5) / len(STEPPED): ohms for band, ohms in enumerate(STEPPED)}
    found = fitted("fuel", "level", middles, sender_plus_minus=0.055, ohms_tolerance=0.03)
    assert not found.bad.any()
    assert np.abs(found.fitted - list(middles.values())).max() < 9  # half of the largest step
