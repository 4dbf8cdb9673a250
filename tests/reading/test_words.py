"""A needle by the figures of its own dial: on the marks, between them, beyond them, in other units."""

import numpy as np
import pytest

from gaugesim.case import parse
from gaugesim.circuit import available, find
from gaugesim.errors import CaseError
from gaugesim.evidence.bind import asked
from gaugesim.evidence.cells import Cells
from gaugesim.reading.words import place_on_dial
from gaugesim.vocabulary.quantity import DialFigure, typed_figure

# figures of two dials that mean the same
SAME = [
    ("212 F", "100 C"),
    ("100-110 kPa", "1 to 1,1 bar"),
    ("100 psi", "6.894757 bar"),
    ("12v", "12,0 volts"),
]


@pytest.mark.parametrize("circuit", available())
def test_a_figure_that_a_mark_bears_is_that_mark(circuit: str) -> None:
    sheet = find(circuit).sheet
    for gauge in sheet.gauges.values():
        unit = sheet.quantities[gauge.reads].unit
        for mark in gauge.marks:
            assert place_on_dial(DialFigure(mark.at, mark.at, unit), gauge, unit)[0] == pytest.approx(
                mark.position
            )


@pytest.mark.parametrize(("one", "other"), SAME)
def test_units(one: str, other: str) -> None:
    left, right = typed_figure(one), typed_figure(other)
    assert left is not None
    assert right is not None
    assert left.unit == right.unit
    assert (left.low, left.high) == pytest.approx((right.low, right.high))


@pytest.mark.parametrize("typed", ["half", "12 ohm", "3/4", "0.4", "40 %", ""])
def test_what_is_no_figure_of_a_dial(typed: str) -> None:
    assert typed_figure(typed) is None


def test_beyond_the_scale_it_goes_on_to_the_stop() -> None:
    gauge = find("boat_panel").sheet.gauges["voltmeter"]
    ends = [place_on_dial(DialFigure(volts, volts, "V"), gauge, "V")[0] for volts in (9.9, 16.1, 5, 21)]
    assert 0 > ends[0] > gauge.stops[0] == ends[2]
    assert 1 < ends[1] < gauge.stops[1] == ends[3]


@pytest.mark.parametrize(
    ("told", "problem"), [("3 bar", "nothing that a voltmeter"), ("100 V", "far off a scale")]
)
def test_what_is_on_no_such_dial(told: str, problem: str) -> None:
    cells = Cells(find("boat_panel"))
    case = parse({"circuit": "boat_panel", "seen": [{"gauge": "voltmeter", "needle": told}]})
    with pytest.raises(CaseError, match=problem):
        list(asked(case.entries[0], cells, "voltmeter"))


def test_in_a_case_it_weighs_as_the_place_does() -> None:
    cells = Cells(find("boat_panel"))
    weighed = []
    for needle in ("11.5-13 V", [0.25, 0.5]):
        case = parse({"circuit": "boat_panel", "seen": [{"gauge": "voltmeter", "needle": needle}]})
        [(observable, answer, _)] = asked(case.entries[0], cells, "voltmeter")
        weighed.append(observable.likelihood(np.array([answer])))
    np.testing.assert_allclose(*weighed)
