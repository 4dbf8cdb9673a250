"""A composed circuit written out is an ordinary pair of files, and ngspice has the same numbers."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from compose.vehicles import circuit, composed

from gaugesim import circuit as files
from gaugesim.cli import main
from gaugesim.reading import Situation
from gaugesim.scenario.fault import all_faults
from gaugesim.solve import nodal
from gaugesim.sweeps import sweep
from gaugesim.template import copy_circuit

SAID = [
    {"temperature": {"movement": "bridge"}, "volts": 24, "earth": "positive"},
    {"fuel": {}, "temperature": {"sender_ground": "wire"}, "regulator": 10, "wiring": "boat"},
    {"fuel": {"movement": "bimetal"}, "temperature": {}, "regulator": 10, "regulator_kind": "electronic"},
    {"fuel": {"ohms": [700, 20]}, "oil_pressure": {}, "voltmeter": {}, "shares": [], "volts": 6},
]
IDS = ["24_volts_earth_positive", "boat_regulator", "electronic_regulator", "6_volts_nothing_shared"]


@pytest.mark.parametrize("said", SAID, ids=IDS)
def test_the_copy_gives_the_same_numbers(said: dict[str, Any], tmp_path: Path) -> None:
    first = composed(said)[0]
    one = files.of_composed(first)
    copied = copy_circuit(one, "mine", tmp_path, first.netlist, first.sheet)
    read = files.read(copied.netlist)
    assert read.id == "mine"
    assert read.sheet.volts == one.sheet.volts
    assert read.sheet.earth == one.sheet.earth
    for state in one.sheet.states:
        here, there = (sweep(Situation.of(c, state), all_faults(c), 1).response for c in (one, read))
        for gauge, positions in here.positions.items():
            assert np.array_equal(positions, there.positions[gauge], equal_nan=True)


@pytest.mark.ngspice
@pytest.mark.parametrize("said", SAID, ids=IDS)
def test_ngspice_has_the_same_voltages(said: dict[str, Any]) -> None:
    from gaugesim.solve import spice

    one = circuit(said)
    for state in ("key_on_cold", "lights_on"):
        for phase in Situation.of(one, state).phases:
            network = phase.finite()
            here, there = nodal.solve(network), spice.solve(network)
            assert there.voltages == pytest.approx(here.voltages, rel=1e-6, abs=1e-7, nan_ok=True)


def test_the_command_writes_what_it_describes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["fuel.ohms=61-3", "fuel.movement=two_coil", "volts=24"]
    assert main(["circuits", "--compose", *words, "--write", "mine", "--to", str(tmp_path)]) == 0
    assert str(tmp_path / "mine.cir") in capsys.readouterr().out
    assert main(["--netlists", str(tmp_path), "read", "mine", "--json"]) == 0
    shown = capsys.readouterr().out
    vehicle = tmp_path / "lorry.toml"
    vehicle.write_text(
        '[vehicle]\nvolts = 24\n[vehicle.fuel]\nohms = "61-3"\nmovement = "two-coil"\n', encoding="utf-8"
    )
    assert main(["read", str(vehicle), "--json"]) == 0
    own = capsys.readouterr().out
    assert own.replace("vehicle_fuel_two_coil", "mine") == shown
    assert main(["circuits", "--copy", str(vehicle), "again", "--to", str(tmp_path)]) == 0
    for end in ("cir", "toml"):
        assert (tmp_path / f"again.{end}").read_text() == (tmp_path / f"mine.{end}").read_text()


def test_the_command_lists_what_it_may_be(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["circuits", "--compose", "fuel", "--json"]) == 0
    assert '"share":' in capsys.readouterr().out
    assert main(["circuits", "--compose", "fuel.ohm=240-33"]) == 2
    assert "--compose: fuel.ohm: no key here is called 'ohm'; did you mean ohms" in capsys.readouterr().err
