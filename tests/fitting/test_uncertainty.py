"""Uncertainty from the Jacobian against simulated measurements; movements of other values than shipped."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.fitting import parse_points
from gaugesim.fitting.comparison import candidate_movements
from gaugesim.fitting.estimation import arranged, estimate
from gaugesim.fitting.fitted_values import settled_parameters
from gaugesim.template import copy_circuit

DRAWS = 120
# standard deviations of the simulated readings: what 95 of 100 within 0.03 and within 2 % comes to
NEEDLE, OHMS = 0.0153, 0.0102

Measure = Callable[..., dict[str, Any]]


def measured(exact: dict[str, Any], random: np.random.Generator) -> dict[str, Any]:
    """The same points with reading errors, figures as fine as need be."""
    needle = [{**one, "position": one["position"] + NEEDLE * random.normal()} for one in exact["needle"]]
    coil = [{**one, "ohms": one["ohms"] * float(np.exp(OHMS * random.normal()))} for one in exact["coil"]]
    sweep = exact["sweep_degrees"] * float(np.exp(0.015 * random.normal()))
    return {**exact, "needle": needle, "coil": coil, "sweep_degrees": sweep}


@pytest.mark.parametrize(
    ("circuit", "gauge"), [("temp_two_coil", "temperature"), ("fuel_two_coil_0_90", "fuel")]
)
def test_bands_hold_the_truth_as_often_as_they_say(
    circuit: str, gauge: str, measure: Measure, stands: Callable[[Circuit, str, float], float]
) -> None:
    original = circuits.find(circuit)
    exact = measure(original, gauge, sweep=True)
    exact["needle"] = [
        {"ohms": one["ohms"], "position": stands(original, gauge, one["ohms"])} for one in exact["needle"]
    ]
    entry = original.gauge(gauge)
    first = entry.coils[0].turns
    values = original.parameter_values({})
    truth = {coil.element.rsplit(".r", 1)[1]: coil.turns / first for coil in entry.coils[1:]}
    truth = {f"coil_{name}_turns": ratio for name, ratio in truth.items()}
    truth |= {name: values[name] for name in values if name.startswith("coil_")}
    random = np.random.default_rng(7)
    inside = dict.fromkeys(truth, 0)
    best: dict[str, list[float]] = {name: [] for name in truth}
    widths: dict[str, list[float]] = {name: [] for name in truth}
    for _ in range(DRAWS):
        points = parse_points(measured(exact, random))
        movement = next(one for one in candidate_movements(points) if one.topology == entry.topology)
        found = settled_parameters(estimate(movement, points, arranged(points)))
        for name, value in truth.items():
            inside[name] += found[name].low <= value <= found[name].high
            best[name].append(np.log(found[name].value))
            widths[name].append(np.log(found[name].high / found[name].low) / 2 / 1.645)
    for name in truth:
        # 90 of 100, to three standard deviations of a count of that many draws
        assert 0.9 * DRAWS - 3.3 * 3 <= inside[name] <= 0.9 * DRAWS + 3.3 * 3, name
        assert np.std(best[name]) == pytest.approx(np.mean(widths[name]), rel=0.25), name


# values far from the shipped ones, made up; gauge constants follow by what the needle then does
OTHERS = {
    "temp_two_coil": {"coil_fixed": 95, "coil_sensing": 130},
    "temp_three_coil": {"coil_low": 140, "coil_bucking": 60, "coil_high": 70},
    "temp_opposed_coil": {"coil_reference": 230, "coil_bias": 140, "coil_sensing": 85},
    "temp_bridge": {"coil_reference": 120, "bridge_arm": 110, "coil_bridge": 95, "divider_feed": 70},
    "fuel_two_coil_0_90": {"coil_e": 55, "coil_f": 170},
}


@pytest.mark.parametrize("circuit", OTHERS)
def test_other_values_than_the_shipped_ones_are_found(circuit: str, measure: Measure, tmp_path: Path) -> None:
    original = circuits.find(circuit)
    text = original.netlist.path.read_text(encoding="utf-8")
    for name, ohms in OTHERS[circuit].items():
        old = original.parameter_values({})[name]
        text = text.replace(f".param {name}={old:g}\n", f".param {name}={ohms}\n")
    copy_circuit(original, "other", tmp_path, text, original.sheet.path.read_text(encoding="utf-8"))
    other = circuits.find("other", tmp_path)
    gauge = next(iter(other.sheet.gauges))
    random = np.random.default_rng(3)
    points = parse_points(measure(other, gauge, random=random, error=0.01, sweep=True))
    # the changed coils have moved the scale; only what lies on it can be read
    on_scale = [one for one in points.needle if not one.pegged]
    assert len(on_scale) >= 3
    movement = next(one for one in candidate_movements(points) if one.topology == original.gauge().topology)
    found = settled_parameters(estimate(movement, points, arranged(points)))
    for name, ohms in OTHERS[circuit].items():
        assert found[name].low <= ohms * 1.02
        assert found[name].high >= ohms * 0.98
        assert found[name].value == pytest.approx(ohms, rel=0.05) or name in ("coil_bucking", "coil_high")
