"""An own circuit with a spare wire that touches nothing until a fault or a check joins it to something."""

import re
from functools import partial

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.reading import Situation, respond
from gaugesim.reading.exact import one_by_one
from gaugesim.reading.several_checks import fits, lead_currents, respond_to_each
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import Fault, all_faults, change, combine
from gaugesim.scenario.scenarios import stack
from gaugesim.solve import nodal
from gaugesim.sweeps import pairs
from gaugesim.sweeps.singles import fault_rows
from gaugesim.template import copy_circuit

CHECKS = ("volts_at:spare", "lamp_at:spare", "ground_at:spare", "jumper_between:spare:sender_body")
SPARE = """
[parts.spare_wire]
words = "spare wire"
kind = "wire"
place = "behind_panel"
[points.spare]
words = "the spare wire's end"
node = "spare_end"
place = "behind_panel"
"""


@pytest.fixture(scope="module")
def circuit(tmp_path_factory: pytest.TempPathFactory) -> Circuit:
    folder = tmp_path_factory.mktemp("spare")
    copied = copy_circuit(circuits.find("temp_two_coil"), "spare", folder)
    netlist = copied.netlist.read_text(encoding="utf-8")
    spare = ".param spare_wire=0.06\nRspare_wire spare_end spare_tip {spare_wire}\n.op\n"
    copied.netlist.write_text(netlist.replace(".op\n", spare), encoding="utf-8")
    copied.sheet.write_text(copied.sheet.read_text(encoding="utf-8") + SPARE, encoding="utf-8")
    return circuits.find("spare", folder)


def few(circuit: Circuit) -> list[Fault]:
    return [
        one for one in all_faults(circuit) if one.part.id in ("spare_wire", "sender_wire", "battery_ground")
    ]


@pytest.mark.parametrize("name", CHECKS)
def test_a_fault_or_a_check_that_joins_it(circuit: Circuit, name: str) -> None:
    check = find_check(circuit, name)
    situation = Situation.of(circuit, None, check)
    faults = few(circuit)
    rows = fault_rows(circuit, faults, situation, 1)
    mine, alone = respond(situation, rows), respond(situation, rows, one_by_one(situation, nodal.solve))
    np.testing.assert_allclose(mine.positions["temperature"], alone.positions["temperature"], atol=1e-9)
    bare = Situation.of(circuit)
    assert fits(bare, check)
    each = respond_to_each(bare, [check], rows)
    np.testing.assert_allclose(each.positions["temperature"][0], alone.positions["temperature"], atol=1e-9)
    if alone.reading is not None:
        assert np.ptp(alone.reading) > 0
        for one in (mine.reading, each.reading):
            np.testing.assert_allclose(np.ravel(one), alone.reading, rtol=1e-8, atol=1e-8)


@pytest.mark.parametrize("check", [NO_CHECK.id, "lamp_at:spare"])
def test_pairs_of_which_one_or_both_join_it(circuit: Circuit, check: str) -> None:
    situation = Situation.of(circuit, None, find_check(circuit, check) if check else NO_CHECK)
    swept = pairs(situation, few(circuit), 1)
    rows, solved = swept.scenarios, one_by_one(situation, nodal.solve)
    makes = [
        partial(change, circuit, swept.faults[k], rows.severity[[row]]) for row, k in enumerate(rows.source)
    ]
    for block in swept.blocks():
        both = zip(block.first, block.second, strict=True)
        together = stack([combine([makes[a], makes[b]], situation.parameters) for a, b in both])
        alone = respond(situation, together, solved)
        shown = block.response
        np.testing.assert_allclose(shown.positions["temperature"], alone.positions["temperature"], atol=1e-9)
        if shown.reading is not None:
            np.testing.assert_allclose(shown.reading, alone.reading, rtol=1e-8, atol=1e-8)


def test_no_current_is_told_of_a_lead_that_joins_it_to_nothing_else(circuit: Circuit) -> None:
    # 12 V through a tie would burn any lead
    check = find_check(circuit, "ground_at:spare")
    situation = Situation.of(circuit)
    rows = fault_rows(circuit, few(circuit), situation, 1)
    told = lead_currents(situation, [check], rows)[0]
    names = [few(circuit)[k].id for k in rows.source]
    for name, amperes in zip(names, told, strict=True):
        assert (abs(amperes) > 1.0) == (name in ("spare_wire=to_feed", "spare_wire=to_battery")), name


def test_a_lead_from_it_to_the_feed_carries_nothing(circuit: Circuit) -> None:
    fuses = [
        re.findall("a lead with a (.*) A fuse", find_check(circuit, f"jumper_between:spare:{point}").words)
        for point in ("stud_feed", "sender_body")
    ]
    assert fuses[0] == fuses[1]
    assert fuses[0]
