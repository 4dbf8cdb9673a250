"""Faults of which some are always there and some come and go: a chafed lead that touches on bumps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from gaugesim.case import parse
from gaugesim.circuit import Circuit, available, find
from gaugesim.evaluation.ailments import listed_ailments
from gaugesim.evidence.bayes import posterior
from gaugesim.evidence.bind import observations
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.implications import off_sound
from gaugesim.evidence.prediction import Prediction

CHAFED = "sender_wire=to_ground"


@pytest.mark.parametrize("name", available())
def test_cells_of_both_kinds_share_the_prior(name: str) -> None:
    """A share of ``at_times`` in cells that come and go, on every circuit and for every fault."""
    cells = Cells(find(name), slices=3)
    some = 0
    for i, fault in enumerate(cells.faults):
        rows = cells.fault == i
        share = cells.weight[rows & cells.intermittent].sum() / cells.prior[i]
        assert share == pytest.approx(fault.singles[0].mode.at_times), fault.id
        some += 0 < share < 1
    assert some >= 3
    assert cells.weight.sum() == pytest.approx(1.0)
    assert not cells.intermittent[0]


def without(circuit: Circuit) -> Circuit:
    """The same circuit, as if such faults were always there."""
    parts = {
        name: replace(
            part,
            modes={
                key: mode if mode.at_times == 1 else replace(mode, at_times=0.0)
                for key, mode in part.modes.items()
            },
        )
        for name, part in circuit.sheet.parts.items()
    }
    return replace(circuit, sheet=replace(circuit.sheet, parts=parts))


def chance_of_chafe(circuit: Circuit, *needles: str) -> float:
    told = [{"state": "running_warm", "needle": needle} for needle in needles]
    case = parse({"circuit": circuit.id, "seen": told})
    cells = Cells(circuit)
    found = posterior(cells, observations(case, cells, "temperature"))
    return float(found.fault[[fault.id for fault in cells.faults].index(CHAFED)])


def test_once_pegged_and_once_right_fits_a_chafe_that_comes_and_goes() -> None:
    circuit = find("temp_two_coil")
    steady = without(circuit)
    assert chance_of_chafe(circuit, "pegged_high", "normal") > 1.8 * chance_of_chafe(
        steady, "pegged_high", "normal"
    )
    # always pegged fits one that is always there, and that hardly changes
    often = ["pegged_high"] * 3
    assert chance_of_chafe(circuit, *often) == pytest.approx(chance_of_chafe(steady, *often), rel=0.3)


def test_vehicles_are_drawn_in_the_same_shares() -> None:
    circuit = find("temp_two_coil")
    cells = Cells(circuit)
    number = [fault.id for fault in cells.faults].index(CHAFED)
    random, count = np.random.default_rng(5), 4000
    which = np.full(count, number)
    ailments = listed_ailments(circuit, cells.faults, which, random.random((count, 2)), random.random(count))
    at_times = sum(len(one.vehicles) for one in ailments if one.comes_and_goes)
    share = cells.faults[number].singles[0].mode.at_times
    assert abs(at_times - share * count) < 4 * np.sqrt(count * share * (1 - share))
    assert sorted(np.concatenate([one.vehicles for one in ailments])) == list(range(count))


@pytest.mark.parametrize("name", ["temp_two_coil", "cluster_air_core"])
def test_an_engine_that_is_hot_at_times_moves_its_needle_slowly(name: str) -> None:
    """A poor contact makes an unheated needle jump; what it shows rises and falls in minutes."""
    circuit = find(name)

    def odds(word: str) -> float:
        seen = {"gauge": "temperature", "state": "running_warm", "needle": "hot", "often": "sometimes"}
        case = parse({"circuit": name, "gauge": "temperature", "seen": [{**seen, "moves": word}]})
        cells = Cells(circuit, slices=3)
        found = posterior(cells, observations(case, cells, "temperature"))
        chance = {fault.id: found.fault[i] for i, fault in enumerate(cells.faults)}
        process, connector = (
            circuit.part(part, "temperature").id for part in ("process", "panel_connector_ground")
        )
        return float(chance[f"{process}=real_high"] / chance[f"{connector}=intermittent"])

    assert odds("slowly") > 10 * odds("jumps")


def test_steam_is_told_of_while_the_trouble_is_there() -> None:
    """An engine that boils at times boils when it is spoken of: that says nothing of how often it does."""
    circuit = find("temp_two_coil")
    case = parse({"circuit": circuit.id, "gauge": "temperature", "seen": [{"engine": "signs_of_heat"}]})
    cells = Cells(circuit, slices=3)
    [engine, *_] = observations(case, cells, "temperature")
    number = [fault.id for fault in cells.faults].index("process=real_high")
    rows = cells.fault == number
    share = (
        posterior(cells, [engine]).cell[rows & cells.intermittent].sum()
        / posterior(cells, [engine]).fault[number]
    )
    assert share == pytest.approx(cells.faults[number].singles[0].mode.at_times)


def test_what_tolerances_move_in_both_moves_nothing_of_the_difference() -> None:
    """An owner compares a needle with its own usual place, wherever that is."""
    steps = np.array([[0.1, 0.1, 0.3]])
    shown = Prediction(np.array([0.5, 0.7, 0.7]), ("supply",), steps, np.zeros(3, dtype=bool))
    off = off_sound(shown, shown.take(np.zeros(3, dtype=int)))
    np.testing.assert_allclose(off.mean, [0.0, 0.2, 0.2], atol=1e-12)
    np.testing.assert_allclose(off.deviation, [0.0, 0.0, 0.2], atol=1e-12)
