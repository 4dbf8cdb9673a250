"""One bad point neither goes unnoticed nor spoils the rest."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.fitting import fit, parse_points
from gaugesim.fitting.robust import cauchy, good_points, scatter
from gaugesim.fitting.summary import as_data

Measure = Callable[..., dict[str, Any]]


@pytest.mark.parametrize("bad", range(7))
@pytest.mark.parametrize("off", [0.25, -0.2])
def test_a_misread_needle_is_left_out(
    bad: int, off: float, measure: Measure, stands: Callable[[Circuit, str, float], float]
) -> None:
    circuit = circuits.find("temp_three_coil")
    data = measure(circuit, "temperature", count=7, coils=True, sweep=True)
    data["needle"][bad]["position"] += off
    if not -0.02 <= data["needle"][bad]["position"] <= 1.02:
        # past the marks only "at least" is known, and so an error there is no contradiction
        data["needle"][bad]["position"] -= 2 * off
    found = fit(parse_points(data))
    assert [(row["table"], row["number"]) for row in as_data(found)["bad_points"]] == [("needle", bad + 1)]
    assert found.movement == "three-coil"
    ohms = [one["ohms"] for one in data["needle"]]
    inner = np.geomspace(ohms[1], ohms[-2], 9)
    truth = [stands(circuit, "temperature", value) for value in inner]
    assert np.abs(found.band(inner)[0] - truth).max() < 0.02


def test_a_misread_coil_is_left_out(measure: Measure) -> None:
    data = measure(circuits.find("temp_two_coil"), "temperature", sweep=True)
    data["coil"].append({**data["coil"][1]})
    truth = fit(parse_points(data)).parameters
    data["coil"][1]["ohms"] *= 1.6
    found = fit(parse_points(data))
    assert [(row["table"], row["number"]) for row in as_data(found)["bad_points"]] == [("coil", 2)]
    assert found.movement == "two-coil"
    for name in ("coil_fixed", "coil_sensing"):
        assert found.parameters[name].value == pytest.approx(truth[name].value, rel=0.02)


def test_of_three_readings_that_do_not_add_up_none_is_blamed(measure: Measure) -> None:
    data = measure(circuits.find("temp_two_coil"), "temperature", sweep=True)
    data["coil"][1]["ohms"] *= 1.6
    told = as_data(fit(parse_points(data)))
    assert told["bad_points"] == []
    words = [entry["words"] for entry in told["undetermined"] if entry["what"] == "points"]
    assert words == ["one of coil 1, coil 2, coil 3 is wrong, and nothing tells which: measure them again"]


@pytest.mark.parametrize("bad", range(6))
def test_a_misread_sender_is_left_out(bad: int) -> None:
    # a published coolant sensor's table (workshop manual of 2020)
    table = {0: 5975, 20: 2502, 40: 1152, 60: 575.8, 80: 308.6, 100: 175.7}
    rows = [{"celsius": at, "ohms": ohms} for at, ohms in table.items()]
    rows[bad]["ohms"] *= 1.5
    found = fit(parse_points({"gauge": "temperature", "sender": rows}))
    assert found.sender is not None
    assert np.flatnonzero(found.sender.bad).tolist() == [bad]
    assert found.sender.parameters["ohms_at_80"].value == pytest.approx(308.6, rel=0.03)


def test_two_points_that_contradict_each_other_are_both_kept() -> None:
    heights = np.array([1.0, 9.0])
    sifted = good_points(
        2, lambda kept: (heights - heights[kept].mean()) / 0.1, lambda kept: kept.sum() - 1.0
    )
    assert sifted.keep.all()
    rows = [{"level": 0.5, "ohms": 100}, {"level": 0.5, "ohms": 160}, {"level": 0, "ohms": 240}]
    found = fit(parse_points({"gauge": "fuel", "sender": rows}))
    assert found.sender is not None
    assert not found.sender.bad.any()
    assert found.sender.suspects == (0, 1)


def test_a_far_point_hardly_pulls_and_priors_pull_in_full() -> None:
    from scipy.optimize import least_squares

    heights = np.array([1.0] * 9 + [1000.0])

    def off(height: np.ndarray) -> np.ndarray:
        # ten readings to a tenth, and a prior of 0 to one that is as wide as all nine together
        return np.concatenate([(height - heights) / 0.1, height * 30])

    found = least_squares(off, [1.5], loss=cauchy(len(heights)), xtol=1e-12, ftol=1e-12, gtol=1e-12)
    # nine near ones and the prior balance; of the far point's pull 2^2/9990 deviations are left, by ten
    x = np.linspace(0, 1, 1_000_001)
    pull = 900 * (x - 1) / (1 + 25 * (x - 1) ** 2) + 900 * x
    assert found.x[0] == pytest.approx(float(np.interp(10 * 4 / 9990, pull, x)), abs=1e-5)


def test_poor_readings_widen_the_bands(measure: Measure) -> None:
    data = measure(circuits.find("temp_two_coil"), "temperature", count=8, sweep=True)
    fine = fit(parse_points(data))
    zigzag = [0.05, -0.05, 0.05, -0.05, 0.05, -0.05, 0.05, -0.05]
    for one, off in zip(data["needle"], zigzag, strict=True):
        one["position"] = min(max(one["position"] + off, 0.0), 1.0)
    poor = fit(parse_points(data))
    assert poor.best.scale > 1.5
    ohms = np.array([60.0])
    assert poor.band(ohms)[1][0] > 1.5 * fine.band(ohms)[1][0]
    assert any("scatter" in entry["words"] for entry in as_data(poor)["undetermined"])


def test_who_states_too_small_an_error_does_not_become_surer_of_the_movement(measure: Measure) -> None:
    data = measure(circuits.find("temp_three_coil"), "temperature", count=8)
    del data["studs"]  # counted, they leave one movement
    for one, off in zip(data["needle"], [0.1, 0.1, -0.1, -0.1] * 2, strict=True):
        one["position"] = min(max(one["position"] + off, 0.0), 1.0)
    stated = fit(parse_points({**data, "needle_plus_minus": 0.03}))
    honest = fit(parse_points({**data, "needle_plus_minus": 0.2}))
    assert min(one.scale for one in stated.estimates) > 3
    assert len(honest.remaining) > 1
    assert stated.probabilities.max() < honest.probabilities.max()


def test_a_lucky_fit_is_no_better_than_its_readings() -> None:
    assert scatter(np.full(6, 0.1), 3.0) == 1.0
    assert scatter(np.full(6, 3.0), 0.5) == 1.0  # nothing is left over to tell
