"""Dead shorts side by side: the second makes no difference, in whole networks as in small corrections."""

from __future__ import annotations

import numpy as np
import pytest

from gaugesim.circuit import find
from gaugesim.errors import UnsolvableError
from gaugesim.reading import Situation, one_by_one, operating_point, respond
from gaugesim.reading.exact import Solver
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import parse_faults
from gaugesim.scenario.scenarios import stack
from gaugesim.solve import nodal
from gaugesim.solve.network import Network

SAME = 1e-9
RINGS = {
    "resistor beside a chafe": ("substitute:0", ("sender_wire=to_ground", "battery_ground=0")),
    "chafe beside the sender": (
        "sender_lead_volts",
        ("sender_wire=to_ground", "sender=0", "sender_ground=0", "engine_strap=0", "battery_ground=0"),
    ),
    "chafe beside a sound path": ("unplug_sender", ("sender_wire=to_ground", "battery_ground=0")),
}


def ngspice(network: Network) -> nodal.Solution:
    from gaugesim.solve import spice

    return spice.solve(network)


@pytest.mark.parametrize(("check", "faults"), RINGS.values(), ids=RINGS)
@pytest.mark.parametrize("solve", [nodal.solve, pytest.param(ngspice, marks=pytest.mark.ngspice)])
def test_every_engine_takes_the_second_for_none(check: str, faults: tuple[str, ...], solve: Solver) -> None:
    circuit = find("temp_two_coil")
    situation = Situation.of(circuit, None, find_check(circuit, check))
    scenarios = stack([parse_faults(circuit, faults, situation.parameters)[1]])
    small, whole = respond(situation, scenarios), respond(situation, scenarios, one_by_one(situation, solve))
    assert whole.positions["temperature"] == pytest.approx(small.positions["temperature"], abs=SAME)
    if small.reading is not None:
        assert whole.reading == pytest.approx(small.reading, abs=SAME)
    point = operating_point(situation, scenarios, small, solve)
    assert point.voltages["sender_lead"] == pytest.approx(0, abs=SAME)
    # what flows through the sensing coil comes out of the shorts, by whichever of them
    assert np.isfinite([*point.currents.values()]).all()


def test_a_dead_short_across_a_bare_source_is_refused() -> None:
    circuit = find("temp_two_coil")
    situation = Situation.of(circuit)
    faults = ("battery=0", "battery_ground=0", "battery_feed=0", "fuse=0", "ignition_switch=0", "feed_wire=0")
    more = ("panel_connector_feed=0", "foil_feed=0", "stud_feed=0", "stud_sender=0", "foil_sender=0")
    last = ("coil_sensing=0", "panel_connector_sender=0", "sender_wire=0", "sender_wire=to_ground")
    scenarios = stack([parse_faults(circuit, (*faults, *more, *last), situation.parameters)[1]])
    with pytest.raises(UnsolvableError, match="sources fight"):
        respond(situation, scenarios, one_by_one(situation, nodal.solve))
