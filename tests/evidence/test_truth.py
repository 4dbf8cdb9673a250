"""Whether a gauge tells the truth, found out by other means: what is really high or low is told rightly."""

import numpy as np
import pytest

from gaugesim.case import parse
from gaugesim.circuit import available, find
from gaugesim.consultation import consult
from gaugesim.errors import CaseError
from gaugesim.evidence.bind import asked
from gaugesim.evidence.cells import Cells
from gaugesim.vocabulary import TRUTH

GAUGES = [(name, gauge) for name in available() for gauge in find(name).sheet.gauges if gauge != "voltmeter"]


@pytest.mark.parametrize(("circuit", "gauge"), GAUGES)
def test_a_sound_gauge_is_right_whatever_it_shows_and_a_dead_one_is_not(circuit: str, gauge: str) -> None:
    cells = Cells(find(circuit), slices=3)
    case = parse({"circuit": circuit, "seen": [{"gauge": gauge, "truth": "right"}]})
    [(observable, answer, _)] = asked(case.entries[0], cells, gauge)
    right = observable.slipped[:, TRUTH.classes.index(answer)]
    for row, fault in enumerate(cells.faults[number] for number in np.maximum(cells.fault, 0)):
        single = fault.singles[0]
        if cells.fault[row] < 0 or single.part.kind == "process":
            assert right[row] > 0.9, fault.id
        elif np.isnan(observable.shown.mean[row]):
            assert right[row] < 0.1, fault.id


def test_it_decides_between_a_cold_engine_and_its_gauge() -> None:
    seen = [{"state": "running_warm", "needle": "reads_low"}]

    def really_cold(**more: str) -> float:
        entries = [*seen, {"state": "running_warm", **more}] if more else seen
        [posterior] = consult(parse({"circuit": "temp_two_coil", "seen": entries})).diagnosis.posteriors
        names = [fault.id for fault in posterior.cells.faults]
        return float(posterior.fault[names.index("process=real_low")])

    real = really_cold(), really_cold(truth="right"), really_cold(truth="wrong")
    assert real[1] > 3 * real[0] > 9 * real[2]


def test_a_word_that_is_none() -> None:
    with pytest.raises(CaseError, match="did you mean right"):
        parse({"circuit": "temp_two_coil", "seen": [{"truth": "rihgt"}]})
