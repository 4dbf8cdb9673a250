"""A probe held beside a bad joint: on the stud, or on the ring under its loose nut."""

import numpy as np
import pytest

from gaugesim.circuit import find
from gaugesim.evidence import probe_sides
from gaugesim.evidence.cells import Cells
from gaugesim.scenario.check import find_check

STUDS = ["stud_feed", "stud_sender", "stud_ground"]


@pytest.fixture(scope="module")
def cells() -> Cells:
    return Cells(find("temp_two_coil"), slices=3)


@pytest.mark.parametrize("stud", STUDS)
def test_both_sides_of_a_loose_nut_are_read(cells: Cells, stud: str) -> None:
    """In half the draws what the stud shows, in the others what the ring does."""
    situation = cells.situation("key_on_cold", f"volts_at:{stud}")
    shown = cells.reading(situation)
    number = [fault.id for fault in cells.faults].index(f"{stud}=open")
    row = int(np.flatnonzero(cells.fault == number)[0])
    joint = cells.circuit.netlist.element(f"r{stud}")
    sides = [
        float(cells.reading(cells.situation("key_on_cold", "volts_at:battery_positive")).mean[row]),
        0.0,
    ]
    drawn = shown.own_draws()[row]
    near = np.abs(drawn[:, None] - np.array(sides)).argmin(axis=1)
    if stud == "stud_feed":
        # the wire's side is live, the stud hangs on grounded coils
        assert 0.3 < near.mean() < 0.7
    beyond = dict(probe_sides.beyond_joints(cells.circuit, find_check(cells.circuit, f"volts_at:{stud}")))
    assert {path.node_a for path in beyond[stud].setup.paths} <= {joint.node_a, joint.node_b}
    other = int(np.flatnonzero(cells.fault == [fault.id for fault in cells.faults].index("fuse=open"))[0])
    assert not np.isnan(shown.mean[other])


def test_only_bad_contacts_of_that_joint(cells: Cells) -> None:
    faults = {fault.id: fault for fault in cells.faults}
    assert probe_sides.is_in(faults["stud_feed=high"], "stud_feed")
    assert not probe_sides.is_in(faults["stud_feed=to_ground"], "stud_feed")
    assert not probe_sides.is_in(faults["stud_sender=open"], "stud_feed")
    assert not list(probe_sides.beyond_joints(cells.circuit, find_check(cells.circuit, "sender_lead_volts")))
