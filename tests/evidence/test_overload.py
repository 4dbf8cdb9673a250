"""A fuse or a regulator fails again behind which a feed touches the frame: by the current it then carries."""

import numpy as np
import pytest

from gaugesim.circuit import available, find
from gaugesim.evidence import handling
from gaugesim.evidence.overload import OVERLOAD, overloads
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import all_faults, change
from gaugesim.scenario.scenarios import stack
from gaugesim.vocabulary import RESULT


@pytest.mark.parametrize("name", available())
def test_current_is_what_a_meter_across_the_fuse_tells(name: str) -> None:
    """The drop across the fuse over its ohms, in the usual state: a meter of its own, another way there."""
    circuit = find(name)
    faults = all_faults(circuit)
    destroyed = overloads(circuit, faults, ["fuse"])
    situation = Situation.of(circuit, circuit.sheet.default_state, find_check(circuit, "drop_across:fuse"))
    typical = [
        change(circuit, fault, np.array([fault.mode.severity.typical]), situation.parameters)
        for fault in faults
    ]
    drops = respond(situation, stack(typical)).reading
    sound = respond(situation).reading
    assert drops is not None
    assert sound is not None
    beyond = np.abs(drops) > OVERLOAD * abs(float(sound[0]))
    # a fault of the fuse itself changes its drop, but destroys no new one
    own = np.array([fault.part.id == "fuse" for fault in faults])
    np.testing.assert_array_equal(destroyed, beyond & ~own)
    assert destroyed.any()


def test_a_part_that_is_destroyed_again_is_cured_for_a_while_at_best() -> None:
    circuit = find("cluster_bimetal_5v")
    faults = [
        fault for fault in all_faults(circuit) if fault.part.id in ("foil_feed", "fuel_sender", "regulator")
    ]
    rows = dict(
        zip(
            [fault.id for fault in faults],
            handling.replaced_table(circuit, faults, ["regulator"]),
            strict=True,
        )
    )
    assert rows["foil_feed=to_ground"].tolist() == [*RESULT.row("overloaded").values()]
    assert rows["fuel_sender=short"].tolist() == [*RESULT.row("wrong").values()]
    assert rows["regulator=stuck_open"].tolist() == [*RESULT.row("right").values()]
    # a contact that is cleaned is no part that burns out
    cleaned = handling.replaced_table(circuit, faults, ["regulator"], "cleaned")
    assert not np.any(np.all(np.isclose(cleaned, rows["foil_feed=to_ground"]), axis=1))
