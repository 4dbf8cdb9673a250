"""The workboat's tank follows the hull: how full it is and how high its float stands are not the same."""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.circuit import find
from gaugesim.reading import Situation, respond
from gaugesim.scenario.fault import parse_faults
from gaugesim.scenario.scenarios import stack

CIRCUIT = find("boat_panel")
FULL = np.linspace(0, 1, 9)


def float_level(full: float, **given: float) -> float:
    values = CIRCUIT.parameter_values(CIRCUIT.parameters("running_warm", {"fuel_level": full, **given}))
    return float(values["float_level"])


@pytest.mark.parametrize("floor", [0.2, 0.7, 1.0])
def test_the_float_stands_as_high_as_the_leaning_sides_let_the_fuel_rise(floor: float) -> None:
    # volume below each height, the width summed from the floor up in ten thousand layers
    height = np.linspace(0, 1, 10001)
    layers = floor + (1 - floor) * (height[1:] + height[:-1]) / 2
    volume = np.concatenate([[0.0], np.cumsum(layers) / np.sum(layers)])
    for full in FULL:
        expected = np.interp(full, volume, height)
        assert float_level(full, tank_floor=floor) == pytest.approx(expected, abs=1e-4)


def test_the_float_of_a_narrow_floor_stands_above_the_share_of_the_volume() -> None:
    inside = [float_level(full) for full in FULL[1:-1]]
    assert np.all(np.array(inside) > FULL[1:-1] + 0.01)
    # a half: 1.7*0.5/(0.7 + sqrt(0.49 + 0.51*0.5)) = 0.85/1.563 = 0.544
    assert float_level(0.5) == pytest.approx(0.544, abs=5e-4)
    assert (float_level(0.0), float_level(1.0)) == (0.0, pytest.approx(1.0))


def test_the_gauge_shows_volume_since_the_track_is_tapered_for_the_tank() -> None:
    needles = [
        float(respond(Situation.of(CIRCUIT, "running_warm", given={"fuel_level": full})).positions["fuel"][0])
        for full in (0.0, 0.25, 0.5, 0.75, 1.0)
    ]
    assert needles == pytest.approx([0.0, 0.25, 0.5, 0.75, 1.0], abs=0.02)


def test_a_float_that_sticks_is_stuck_at_a_height() -> None:
    situation = Situation.of(CIRCUIT, "running_warm", given={"fuel_level": 0.1})
    stuck = stack([parse_faults(CIRCUIT, ["fuel_sender=stuck@0.544"], situation.parameters)[1]])
    # where a tank that is half full has it
    assert respond(situation, stuck).positions["fuel"] == pytest.approx(0.5, abs=0.02)
