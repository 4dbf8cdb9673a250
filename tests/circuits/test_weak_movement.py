"""A weak magnet in a movement whose needle points along a field: it still does, until friction holds it."""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.circuit import Circuit, available, find
from gaugesim.evidence.handling import jump_chance
from gaugesim.physics import air_core
from gaugesim.reading import Situation, respond
from gaugesim.scenario.fault import all_faults, change
from gaugesim.scenario.scenarios import stack
from gaugesim.solve import nodal

AIR_CORE = [
    (name, gauge.id)
    for name in available()
    for gauge in find(name).sheet.gauges.values()
    if gauge.movement == "air_core"
]


def field(circuit: Circuit, gauge: str) -> float:
    """Strength of the sound movement's field."""
    entry = circuit.gauge(gauge)
    solution = nodal.solve(Situation.of(circuit).network)
    x, y = air_core.field(
        [float(solution.current(coil.element)) for coil in entry.coils],
        [coil.turns for coil in entry.coils],
        [coil.degrees for coil in entry.coils],
        entry.rest,
    )
    return float(np.hypot(x, y))


@pytest.mark.parametrize(("name", "gauge"), AIR_CORE)
def test_it_points_where_the_sound_one_does_until_friction_holds_it(name: str, gauge: str) -> None:
    circuit = find(name)
    entry, situation = circuit.gauge(gauge), Situation.of(circuit)
    weak = next(
        fault for fault in all_faults(circuit) if fault.id == circuit.part("movement", gauge).id + "=weak"
    )
    holds = entry.friction / field(circuit, gauge)
    strength = np.array([weak.mode.severity.typical, 1.01 * holds, 0.99 * holds])
    shown = respond(situation, stack([change(circuit, weak, strength, situation.parameters)])).positions[
        gauge
    ]
    sound = respond(situation).positions[gauge][0]
    assert shown[:2] == pytest.approx(sound, abs=1e-9)
    assert np.isnan(shown[2])
    # the sheet's mode reaches as far; where it is typical, friction stops it short by more than a sound one
    assert weak.mode.severity.low < holds < weak.mode.severity.typical
    short = np.degrees(np.arcsin(holds / np.array([1.0, weak.mode.severity.typical])))
    assert short[1] > 2 * short[0]
    # which a tap shows
    faults = [fault for fault in all_faults(circuit) if fault.id in (weak.id, "fuse=open")]
    chance = dict(zip([fault.id for fault in faults], jump_chance(faults, f"gauge:{gauge}"), strict=True))
    assert chance[weak.id] > 5 * chance["fuse=open"]
