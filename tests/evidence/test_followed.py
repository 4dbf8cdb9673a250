"""Numbers where no straight line describes what tolerances do, against vehicles solved anew one by one."""

import numpy as np
import pytest

from gaugesim.case import parse
from gaugesim.circuit import Circuit, find
from gaugesim.evaluation.ailments import listed_ailments
from gaugesim.evaluation.fleet import Fleet
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.bind import asked
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.weigh import log_likelihoods

GAUGE = "temperature"
# with its ground stud off the needle of a bridge lies at the top, at the bottom, or is not driven at all
FAULT = "stud_ground=open"
VEHICLES = 4000
WARM = {"state": "running_warm", "needle": 1.1}
LIGHTS = {"state": "lights_on", "needle": 1.08}
VOLTS = {"check": "volts_at:stud_feed", "state": "running_warm", "volts": 14.1}


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return find("temp_bridge")


@pytest.fixture(scope="module")
def cells(circuit: Circuit) -> Cells:
    return Cells(circuit)


@pytest.fixture(scope="module")
def fleet(circuit: Circuit, cells: Cells) -> Fleet:
    """Vehicles that all have the fault, each with tolerances of its own."""
    which = np.full(VEHICLES, number(cells))
    return Fleet(
        circuit,
        listed_ailments(circuit, cells.faults, which, np.full((VEHICLES, 2), 0.5), np.full(VEHICLES, 0.5)),
        [3],
    )


def number(cells: Cells) -> int:
    return [fault.id for fault in cells.faults].index(FAULT)


@pytest.mark.parametrize(
    ("seen", "measured"),
    [
        ([WARM], []),
        ([WARM | {"needle": -0.1}], []),
        ([WARM | {"needle": 0.5}], []),
        ([WARM, LIGHTS], []),
        ([WARM, LIGHTS | {"needle": "pegged_high"}], []),
        ([WARM], [VOLTS]),
    ],
)
def test_a_needle_that_tolerances_turn_round(
    cells: Cells, fleet: Fleet, seen: list[dict], measured: list[dict]
) -> None:
    """The mean over vehicles that are solved anew; 64 draws stand for them, so it is no closer than that."""
    case = parse({"circuit": "temp_bridge", "seen": seen, "measured": measured})
    each = np.ones(VEHICLES)
    observables, answers = [], []
    for entry in case.entries:
        (shown, value, _), (observable, _, _) = (
            next(asked(entry, fleet, GAUGE)),
            next(asked(entry, cells, GAUGE)),
        )
        stand = shown.shown.mean[1:]
        if isinstance(value, str):
            assert shown.table is not None
            kind = shown.classes.index(value)
            near = shown.table[1:, kind]
        else:
            kind = value
            assert shown.noise is not None
            off = (value - stand) / shown.noise[1:]
            near = np.exp(-0.5 * off**2) / (shown.noise[1:] * np.sqrt(2 * np.pi))
        each *= (1 - like.SLIP) * near + like.SLIP * shown.broad
        observables.append(observable)
        answers.append(np.array([kind]))
    row = int(np.flatnonzero(cells.fault == number(cells))[0])
    found = log_likelihoods(cells, observables, answers)[row, 0]
    # 64 draws, against as many vehicles as it takes
    assert found == pytest.approx(np.log(each.mean()), abs=0.4)
