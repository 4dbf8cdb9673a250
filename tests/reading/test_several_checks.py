"""Checks answered together, by one solution of the state, against each with a solution of its own."""

from dataclasses import replace

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.evidence.cells import Cells
from gaugesim.reading import Situation, respond
from gaugesim.reading.isolated_part import isolated_ohms, isolated_on_meter
from gaugesim.reading.several_checks import fits, respond_to_each
from gaugesim.reading.situations import without_process
from gaugesim.scenario.check import NO_CHECK, Check, Setup, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.scenarios import Scenarios

STATES = ("key_off", "key_on_cold", "lights_on")
ROWS = 60
# of a reading, and in volts, ohms or positions where that is next to nothing
RELATIVE, ABSOLUTE = 1e-9, 1e-9


def sample(cells: Cells, parameters: dict[str, float]) -> Scenarios:
    rows = np.random.default_rng(5).choice(np.arange(1, len(cells.fault)), ROWS, replace=False)
    return cells.scenarios(parameters).take(np.concatenate([[0], rows]))


def checks_of(circuit: Circuit) -> list[Check]:
    found = [find_check(circuit, name) for name in check_ids(circuit)]
    return [check for check in found if check.reads not in ("look", "jump")]


@pytest.mark.parametrize(
    "name", ["temp_opposed_coil", "cluster_bimetal_5v", "boat_panel", "fuel_two_coil_0_30"]
)
def test_together_as_each_alone(name: str) -> None:
    circuit = circuits.find(name)
    cells, checks = Cells(circuit, slices=3), checks_of(circuit)
    compared = 0
    kept = {check.setup.kept for check in checks if check.reads == "ohms"}
    for state in STATES:
        for setup in (Setup(), Setup(dead=True), *(Setup(kept=parts, dead=True) for parts in kept if parts)):
            situation = Situation.of(circuit, state, replace(NO_CHECK, setup=setup))
            scenarios = sample(cells, situation.parameters)
            for reads in ("needle", "volts", "lamp", "ohms"):
                able = [check for check in checks if check.reads == reads and fits(situation, check)]
                if not able:
                    continue
                together = respond_to_each(situation, able, scenarios)
                for i, check in enumerate(able):
                    alone = respond(Situation.of(circuit, state, check), scenarios)
                    compared += 1
                    if reads != "ohms":
                        for gauge, positions in alone.positions.items():
                            np.testing.assert_allclose(
                                together.positions[gauge][i], positions, RELATIVE, ABSOLUTE, err_msg=check.id
                            )
                    if alone.reading is not None:
                        assert together.reading is not None
                        np.testing.assert_allclose(
                            together.reading[i], alone.reading, RELATIVE, ABSOLUTE, err_msg=check.id
                        )
                        assert np.array_equal(together.pulses[i], alone.pulses), check.id
    assert compared > 200


def test_a_part_alone_shows_its_own_resistance() -> None:
    circuit = circuits.find("temp_bridge")
    cells, compared = Cells(circuit, slices=3), 0
    for check in checks_of(circuit):
        setup = isolated_on_meter(circuit, check)
        if setup is None:
            continue
        situation = Situation.of(circuit, "key_off", check)
        parameters = {**circuit.parameters("key_off"), **setup.parameters}
        rows = without_process(sample(cells, parameters), frozenset(setup.parameters))
        expected = respond(situation, rows).reading
        assert expected is not None
        np.testing.assert_allclose(
            isolated_ohms(circuit, parameters, setup, rows), expected, RELATIVE, 1e-6, err_msg=check.id
        )
        compared += 1
    assert compared > 15


def test_a_check_that_takes_parts_out_is_no_small_correction() -> None:
    circuit = circuits.find("temp_opposed_coil")
    situation = Situation.of(circuit, "key_on_cold")
    assert fits(situation, find_check(circuit, "unplug_sender"))
    for name in ("bench_gauge:100", "sender_in_water:80", "ohms_across:sender_wire"):
        assert not fits(situation, find_check(circuit, name)), name
