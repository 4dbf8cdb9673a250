"""A float or a needle that hangs, and may come free by hand."""

import numpy as np
import pytest

from gaugesim.circuit import find
from gaugesim.evaluation.fleet import Ailment, Fleet
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.handling import sticks
from gaugesim.lessons.vehicle import FaultyVehicle
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import change, find_fault

CIRCUIT = find("fuel_two_coil_0_90")
# what hangs, where it hangs, and what may free it: the needle then stands where a sound one would
CASES = [
    ("sender=stuck", 0.0, "float_by_hand:1.0", "tank_full"),
    ("movement=stuck", 0.0, "tap:fuel", "tank_full"),
]


@pytest.fixture(scope="module")
def cells() -> Cells:
    return Cells(CIRCUIT, slices=3)


@pytest.mark.parametrize(("fault", "severity", "check", "state"), CASES)
def test_it_comes_free_as_often_as_the_check_says(
    cells: Cells, fault: str, severity: float, check: str, state: str
) -> None:
    situation = cells.situation(state, check)
    [chance] = situation.check.kind.frees.values()
    number = [entry.id for entry in cells.faults].index(fault)
    shown = cells.position(situation, "fuel").in_draws()
    row = int(np.flatnonzero(cells.fault == number)[0])
    sound = np.abs(shown[row] - shown[0]) < 0.05
    assert sound.mean() == pytest.approx(chance, abs=0.5 / len(sound))
    assert not np.any(
        np.abs(cells.position(cells.situation(state), "fuel").in_draws()[row] - shown[0]) < 0.05
    )


@pytest.mark.parametrize(("fault", "severity", "check", "state"), CASES)
def test_vehicles_are_freed_as_the_ranking_believes(
    fault: str, severity: float, check: str, state: str
) -> None:
    entry, count = find_fault(CIRCUIT, fault, "fuel"), 400

    def make(parameters: object) -> object:
        return change(CIRCUIT, entry, np.full(count, severity), parameters)  # type: ignore[arg-type]

    fleet = Fleet(CIRCUIT, [Ailment(np.arange(count), entry, (make,))], (1, 2))  # type: ignore[arg-type]
    situation = fleet.situation(state, check)
    [chance] = situation.check.kind.frees.values()
    free = np.abs(fleet.position(situation, "fuel").mean - fleet.sound(situation, "fuel").mean)[1:] < 0.05
    assert free.mean() == pytest.approx(chance, abs=4 * np.sqrt(chance * (1 - chance) / count))


def test_only_what_sticks_and_only_of_that_kind() -> None:
    tap = find_check(CIRCUIT, "tap:fuel", "fuel")
    [kind] = tap.kind.frees
    assert sticks(find_fault(CIRCUIT, "movement=stuck", "fuel"), kind, tap.gauge)
    for other in ("sender=stuck", "movement=weak"):
        assert not sticks(find_fault(CIRCUIT, other, "fuel"), kind, tap.gauge)
    assert not sticks(find_fault(CIRCUIT, "movement=stuck", "fuel"), kind, "temperature")


def test_some_vehicles_of_a_class_have_a_float_that_comes_free() -> None:
    """In practice, too, the hand frees some floats and others not, the same whenever it is tried."""
    fault, check = (
        find_fault(CIRCUIT, "sender=stuck", "fuel"),
        find_check(CIRCUIT, "float_by_hand:1.0", "fuel"),
    )
    free = []
    for seed in range(40):
        vehicle = FaultyVehicle(CIRCUIT, "fuel", (seed,), fault, (0.0,))
        shown = [vehicle.response("tank_full", check)[1].positions["fuel"][0] for _ in range(2)]
        assert shown[0] == shown[1]
        free.append(bool(shown[0] > 0.5))
    assert 0 < sum(free) < len(free)
