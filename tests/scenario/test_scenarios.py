"""Severities, tolerances and stacks of changes, against values worked out by hand."""

import math

import numpy as np
import pytest

from gaugesim.circuit import find
from gaugesim.errors import CaseError, UnknownNameError
from gaugesim.scenario.changes import Change, merge
from gaugesim.scenario.fault_list import Pair, all_faults, find_fault, quantiles
from gaugesim.scenario.scenarios import stack
from gaugesim.scenario.tolerance import DEVIATIONS_90, DEVIATIONS_95, Tolerances, tolerances
from gaugesim.sheet import Severity


def test_severities_are_the_middles_of_equal_slices() -> None:
    circuit = find("temp_two_coil")
    # 0.5 to 500 ohm is a factor of a thousand: a sixth of it is half a power of ten
    np.testing.assert_allclose(
        find_fault(circuit, "sender_wire=high").severities(3), [0.5 * 10**0.5, 0.5 * 10**1.5, 0.5 * 10**2.5]
    )
    # 15 to 45 degrees, evenly
    np.testing.assert_allclose(find_fault(circuit, "process=real_high").severities(3), [20, 30, 40])
    assert find_fault(circuit, "sender_wire=open").severities(3).tolist() == [0.0]
    np.testing.assert_allclose(
        quantiles(Severity("x", -2.0, 6.0, 0.0, False), np.array([0, 0.25, 1])), [-2, 0, 6]
    )


def test_a_faults_weight_is_its_share_of_its_parts() -> None:
    circuit = find("temp_two_coil")
    # the wire's 1.6, of which 0.15 in all of its modes
    modes = (0.4, 0.15, 0.15, 0.286, 0.075, 0.021, 0.01, 0.021)
    assert find_fault(circuit, "sender_wire=high").weight == pytest.approx(1.6 * 0.15 / sum(modes))
    # the ignition switch's modes sum up to less
    assert find_fault(circuit, "ignition_switch=stuck_open").weight == pytest.approx(
        0.5 * 0.722 / (0.722 + 0.12 + 0.07)
    )
    # three studs share what the studs of one gauge have, 2; one of them cannot touch the frame
    studs = [circuit.sheet.parts[f"stud_{stud}"].weight for stud in ("feed", "sender", "ground")]
    assert studs == [pytest.approx(2 / 3)] * 3
    total = sum(fault.weight for fault in all_faults(circuit))
    assert total == pytest.approx(sum(part.weight for part in circuit.sheet.parts.values() if part.modes))


def test_two_faults_are_one_pair() -> None:
    circuit = find("temp_two_coil")
    first, second = (find_fault(circuit, name) for name in ("fuse=high", "sender=open"))
    pair = Pair(first, second)
    assert pair.id == "fuse=high+sender=open"
    assert pair.words == f"{first.words}, and {second.words}"
    assert pair.singles == (first, second)
    assert first.singles == (first,)


@pytest.mark.parametrize(
    ("name", "error", "words"),
    [
        ("fuse", CaseError, "fault 'fuse' is not PART=MODE; write for example"),
        ("fuse=opne", UnknownNameError, "'opne'.*open"),
        ("fuze=open", UnknownNameError, "'fuze'.*fuse"),
    ],
)
def test_a_fault_that_is_none(name: str, error: type[Exception], words: str) -> None:
    with pytest.raises(error, match=words):
        find_fault(find("temp_two_coil"), name)


def test_changes_stand_under_one_another() -> None:
    one = Change(
        np.array([1.0, 2.0]), branches={"ra": np.array([3.0, 4.0])}, turns={"ra": np.array([0.5, 0.25])}
    )
    two = Change(
        np.array([9.0]),
        branches={"rb": np.array([7.0]), "ra": np.array([8.0])},
        paths={("x", "0"): np.array([6.0])},
        volts={"vb": np.array([11.0])},
    )
    rows = stack([one, two])
    assert rows.branches == ("ra", "rb")
    assert rows.paths == (("x", "0"),)
    assert rows.source.tolist() == [0, 0, 1]
    assert rows.number.tolist() == [0, 1, 0]
    assert rows.column.tolist() == [[0, -1, -1], [0, -1, -1], [1, 0, 2]]
    np.testing.assert_array_equal(rows.ohms[2], [7.0, 8.0, 6.0])
    assert rows.resistance("ra", 5.0).tolist() == [3.0, 4.0, 8.0]
    assert rows.resistance("rb", 5.0).tolist() == [5.0, 5.0, 7.0]
    assert rows.resistance("rc", 5.0).tolist() == [5.0, 5.0, 5.0]
    assert rows.turns["ra"].tolist() == [0.5, 0.25, 1.0]
    assert np.isnan(rows.volts["vb"]).tolist() == [True, True, False]
    last = rows.take(np.array([2]))
    assert last.severity.tolist() == [9.0]
    assert last.resistance("ra", 5.0).tolist() == [8.0]


def test_two_paths_between_the_same_nodes_are_both_there() -> None:
    one, other = (
        Change(np.zeros(1), paths={nodes: np.array([ohms])})
        for nodes, ohms in ((("x", "0"), 6.0), (("0", "x"), 3.0))
    )
    assert {nodes: ohms.tolist() for nodes, ohms in merge([one, other]).paths.items()} == {("x", "0"): [2.0]}


def test_values_vary_by_their_tolerance() -> None:
    two = Tolerances(
        ("coil", "level"), np.array([150.0, 0.5]), np.array([0.1, 0.02]), np.array([True, False])
    )
    drawn = two.values(np.array([[0.0, 2.0], [-1.0, 3.0]]))
    np.testing.assert_allclose(drawn["coil"], [150.0, 150.0 * math.exp(0.2)])
    np.testing.assert_allclose(drawn["level"], [0.48, 0.56])
    assert two.take(np.array([False, True])).names == ("level",)


def test_nineteen_in_twenty_parts_lie_within_their_tolerance() -> None:
    # of a normal distribution, 97.5 and 95 % lie below these
    for deviations, share in ((DEVIATIONS_95, 0.975), (DEVIATIONS_90, 0.95)):
        assert 0.5 * (1 + math.erf(deviations / math.sqrt(2))) == pytest.approx(share, abs=1e-12)
    circuit = find("temp_two_coil")
    found = tolerances(circuit, circuit.parameters())
    at = found.names.index("coil_fixed")
    tolerance = circuit.sheet.parts["coil_fixed"].tolerance
    assert tolerance > 0
    assert found.nominal[at] * math.exp(DEVIATIONS_95 * found.deviation[at]) == pytest.approx(
        150 * (1 + tolerance)
    )
    assert "coil_fixed" not in tolerances(circuit, circuit.parameters(), certain=["coil_fixed"]).names
