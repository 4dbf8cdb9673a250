"""What the points do not settle is said, and the further point that is named does settle it."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.fitting import Fit, fit, parse_points
from gaugesim.fitting.design import NextPoint
from gaugesim.fitting.summary import as_data

from gaugesim.scenario.check import find_check  # isort: skip
from gaugesim.scenario.tolerance import DEVIATIONS_90, DEVIATIONS_95

Measure = Callable[..., dict[str, Any]]
Stands = Callable[[Circuit, str, float], float]

SINGLE = [
    "temp_two_coil",
    "temp_three_coil",
    "temp_opposed_coil",
    "temp_bridge",
    "fuel_two_coil_0_90",
    "fuel_three_coil_240_33",
    "fuel_four_coil",
]


def with_measured(
    data: dict[str, Any],
    following: NextPoint,
    circuit: Circuit,
    gauge: str,
    measure: Measure,
    stands: Stands,
    lead_volts: Callable[[Circuit, str], float],
) -> dict[str, Any]:
    """The points with the one that was asked for, measured on the true circuit."""
    what, everything = following.measurement, measure(circuit, gauge, coils=True, sweep=True)
    if what.kind == "needle":
        position = round(stands(circuit, gauge, what.ohms), 2)
        return {**data, "needle": [*data["needle"], {"ohms": what.ohms, "position": position}]}
    if what.kind == "volts":
        volts = round(lead_volts(circuit, gauge), 2)
        return {**data, "needle": [*data["needle"], {"ohms": float("inf"), "volts": volts}]}
    if what.kind == "coil":
        known = [one for one in everything["coil"] if set(one.get("between", ())) == set(what.between)]
        assert known, f"the true gauge has no studs {what.between}"
        return {**data, "coil": [*data.get("coil", []), *known]}
    key = {"sweep": "sweep_degrees", "studs": "studs", "coils": "coils"}[what.kind]
    return {**data, key: everything[key]}


@pytest.mark.parametrize("name", SINGLE)
def test_asked_again_and_again_the_right_movement_comes_out(
    name: str, measure: Measure, stands: Stands, lead_volts: Callable[[Circuit, str], float]
) -> None:
    circuit = circuits.find(name)
    gauge, right = circuit.gauge().id, circuit.gauge().topology
    data = measure(circuit, gauge, coil=False)
    found = fit(parse_points(data))
    assert len(found.remaining) > 1, "the needle alone says too little"
    assert any(entry["what"] == "movement" for entry in as_data(found)["undetermined"])
    asked = []
    while len(found.remaining) > 1:
        assert found.next_point is not None
        assert len(asked) < 6
        asked.append(found.next_point.measurement)
        data = with_measured(data, found.next_point, circuit, gauge, measure, stands, lead_volts)
        found = fit(parse_points(data))
        assert right in found.remaining
    assert found.movement == right


@pytest.mark.parametrize(
    ("name", "gauge", "last"),
    [("temp_bridge", "temperature", 0), ("temp_bridge", "temperature", 6), ("fuel_two_coil_0_90", "fuel", 6)],
)
def test_a_further_point_counts_by_how_well_the_others_foretold_it(
    name: str, gauge: str, last: int, measure: Measure
) -> None:
    # the chain rule: p(all) = p(last | others) p(others), and what the others foretell is normal
    data = measure(circuits.find(name), gauge, count=7, coils=True, sweep=True)
    point = data["needle"][last]
    others = fit(parse_points({**data, "needle": [one for one in data["needle"] if one is not point]}))
    whole = fit(parse_points(data))
    one_deviation = whole.points.errors.needle / DEVIATIONS_95
    foretold, half_width = others.band(np.array([float(point["ohms"])]))
    spread = half_width[0] / DEVIATIONS_90 / one_deviation
    off = (point["position"] - foretold[0]) / one_deviation
    expected = -0.5 * off**2 / (1 + spread**2) - 0.5 * np.log(1 + spread**2)
    assert expected < -0.2
    assert whole.best.log_evidence - others.best.log_evidence == pytest.approx(expected, abs=0.02)


def test_three_and_four_coils_are_told_apart_by_counting_only(measure: Measure) -> None:
    for name in ("fuel_three_coil_240_33", "fuel_four_coil"):
        circuit = circuits.find(name)
        data = measure(circuit, "fuel", sweep=True)
        found = fit(parse_points(data))
        assert set(found.remaining) == {"three-coil", "four-coil"}
        assert found.next_point is not None
        assert found.next_point.measurement.kind == "coils"
        counted = fit(parse_points(measure(circuit, "fuel", sweep=True, coils=True)))
        assert list(counted.remaining) == [circuit.gauge().topology]


def test_a_further_point_narrows_the_parameter_that_it_is_for(
    measure: Measure, stands: Stands, lead_volts: Callable[[Circuit, str], float]
) -> None:
    circuit = circuits.find("fuel_two_coil_0_90")
    data = measure(circuit, "fuel", coils=True, count=5)
    data["sweep_degrees"] = 39.5
    data["needle"] = data["needle"][:3]
    found = fit(parse_points(data))
    following = found.next_point
    assert following is not None
    assert following.parameter
    assert following.factor < 0.9

    def width(one: Fit) -> float:
        index = one.best.movement.names.index(following.parameter)
        return float(np.sqrt(one.best.covariance[index, index]))

    better = fit(parse_points(with_measured(data, following, circuit, "fuel", measure, stands, lead_volts)))
    assert width(better) / width(found) == pytest.approx(following.factor, rel=0.2)
    # another resistor, among the points that are there, narrows it less
    ohms = data["needle"][1]["ohms"] * 1.07
    other = {"ohms": ohms, "position": round(stands(circuit, "fuel", ohms), 2)}
    worse = fit(parse_points({**data, "needle": [*data["needle"], other]}))
    assert width(better) < width(worse)


def test_two_points_alone_leave_everything_open(measure: Measure) -> None:
    data = {"gauge": "fuel", "needle": [{"ohms": 33, "position": 1}, {"ohms": 240, "position": 0}]}
    found = fit(parse_points(data))
    assert len(found.remaining) >= 5
    assert len(found.open_parameters) >= 3
    told = as_data(found)
    assert told["next_point"] is not None
    assert {entry["what"] for entry in told["undetermined"]} >= {"movement", "sender"}


def test_a_next_point_carries_the_cautions_of_its_check(measure: Measure) -> None:
    circuit = circuits.find("cluster_bimetal_5v")
    data = measure(circuit, "temperature")
    told = as_data(fit(parse_points(data)))
    assert told["next_point"]["kind"] == "volts"
    check = find_check(circuit, "sender_lead_volts:temperature")
    expected = {circuit.sheet.cautions[name].words for name in check.cautions}
    assert set(told["next_point"]["cautions"]) & expected


def test_nothing_of_the_gauge_is_no_movement() -> None:
    found = fit(parse_points({"gauge": "fuel", "sender": [{"level": 0, "ohms": 240}]}))
    told = as_data(found)
    assert told["movement"] is None
    assert told["parameters"] == {}
    assert {entry["what"] for entry in told["undetermined"]} >= {"movement", "track_full"}
