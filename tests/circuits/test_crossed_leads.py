"""Leads on the wrong terminals: a check takes off and measures the lead that is there, whosever it is."""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.circuit import Circuit, find
from gaugesim.errors import CaseError
from gaugesim.reading import Response, Situation, respond
from gaugesim.reading.instruments import OPEN_READING
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import parse_faults
from gaugesim.scenario.scenarios import stack

CROSSED = [
    (name, part)
    for name in ("cluster_bimetal_5v", "cluster_bimetal_10v", "cluster_air_core", "boat_panel")
    for part in find(name).sheet.parts
    if part in ("sender_leads", "gauge_leads")
]
SAME = 1e-6
# what the two leads' own resistance and the exchange of senders move elsewhere, through shared wires
LITTLE = 0.005


def shown(circuit: Circuit, check: str = "", fault: str = "") -> Response:
    situation = Situation.of(circuit, None, find_check(circuit, check) if check else NO_CHECK)
    faults = [fault] if fault else []
    return respond(situation, stack([parse_faults(circuit, faults, situation.parameters)[1]]))


def stands(response: Response, gauge: str) -> float:
    return float(response.positions[gauge][0])


@pytest.mark.parametrize(("name", "part"), CROSSED)
@pytest.mark.parametrize("turned", [False, True])
def test_the_lead_off_a_sender_is_the_other_gauges(name: str, part: str, turned: bool) -> None:
    circuit = find(name)
    own, other = circuit.sheet.parts[part].crosses[:: -1 if turned else 1]
    fault = f"{part}=crossed"
    before = shown(circuit, fault=fault)
    # the lead hangs free, so its gauge shows what it shows unplugged, and the other one is left alone
    loose = shown(circuit, f"unplug_sender:{own}", fault)
    unplugged = shown(circuit, f"unplug_sender:{other}")
    assert stands(loose, other) == pytest.approx(stands(unplugged, other), abs=LITTLE)
    assert abs(stands(loose, other) - stands(before, other)) > 0.1
    assert stands(loose, own) == pytest.approx(stands(before, own), abs=LITTLE)
    # meter and resistor are on that lead too
    volts = shown(circuit, f"sender_lead_volts:{own}", fault).reading
    expected = shown(circuit, f"sender_lead_volts:{other}").reading
    assert volts == pytest.approx(expected, rel=0.01)
    resistor = shown(circuit, f"substitute:{own}:68", fault)
    assert stands(resistor, other) == pytest.approx(
        stands(shown(circuit, f"substitute:{other}:68"), other), abs=LITTLE
    )
    assert stands(resistor, own) == pytest.approx(stands(before, own), abs=LITTLE)


@pytest.mark.parametrize(("name", "part"), CROSSED)
@pytest.mark.parametrize("turned", [False, True])
def test_the_lead_off_a_gauge_is_off_that_gauge(name: str, part: str, turned: bool) -> None:
    circuit = find(name)
    own, other = circuit.sheet.parts[part].crosses[:: -1 if turned else 1]
    fault = f"{part}=crossed"
    loose = shown(circuit, f"unplug_at_gauge:{own}", fault)
    assert stands(loose, own) == pytest.approx(
        stands(shown(circuit, f"unplug_at_gauge:{own}"), own), abs=LITTLE
    )
    assert stands(loose, other) == pytest.approx(stands(shown(circuit, fault=fault), other), abs=LITTLE)


@pytest.mark.parametrize("name", sorted({name for name, part in CROSSED if part == "sender_leads"}))
def test_exchanged_by_hand_crossed_leads_are_right(name: str) -> None:
    circuit = find(name)
    first, second = circuit.sheet.parts["sender_leads"].crosses
    swap = f"swap_sender_leads:{first}:{second}"
    sound, cured = shown(circuit), shown(circuit, swap, "sender_leads=crossed")
    swapped, crossed = shown(circuit, swap), shown(circuit, fault="sender_leads=crossed")
    for gauge in circuit.sheet.gauges:
        assert stands(cured, gauge) == pytest.approx(stands(sound, gauge), abs=LITTLE)
        assert stands(swapped, gauge) == pytest.approx(stands(crossed, gauge), abs=LITTLE)
    assert abs(stands(crossed, first) - stands(sound, first)) > 0.05


@pytest.mark.parametrize("name", sorted({name for name, part in CROSSED if part == "sender_leads"}))
def test_a_wire_that_ends_elsewhere_has_no_continuity_and_its_joints_are_sound(name: str) -> None:
    circuit = find(name)
    for gauge in circuit.sheet.parts["sender_leads"].crosses:
        wire = shown(circuit, f"ohms_across:{gauge}_sender_wire", "sender_leads=crossed")
        assert wire.reading is not None
        assert wire.reading[0] == OPEN_READING
        for part in ("sender_connector", "stud_sender"):
            joint, sound = (
                shown(circuit, f"ohms_across:{gauge}_{part}", fault) for fault in ("sender_leads=crossed", "")
            )
            assert joint.reading == pytest.approx(sound.reading, rel=SAME)


def test_gauges_on_one_sender_have_no_leads_to_exchange() -> None:
    circuit = find("boat_two_station")
    assert not any(check.startswith("swap_sender_leads") for check in check_ids(circuit))
    with pytest.raises(CaseError, match="are on one sender; name gauges with senders of their own"):
        find_check(circuit, "swap_sender_leads")
    offered = [check for check in check_ids(find("boat_panel")) if check.startswith("swap_sender_leads")]
    assert len(offered) == 3
    assert np.all([find_check(find("boat_panel"), check).reads == "needle" for check in offered])
