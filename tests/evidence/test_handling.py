"""What is told of the handling of parts and tools, by hand."""

import numpy as np
import pytest

from gaugesim import vocabulary
from gaugesim.case import parse
from gaugesim.circuit import find
from gaugesim.diagnosis import diagnose
from gaugesim.evidence import handling
from gaugesim.evidence.bind import asked
from gaugesim.evidence.cells import Cells
from gaugesim.evidence.observable import Observable
from gaugesim.scenario.fault import find_fault
from gaugesim.sheet import FOUND


def test_cleaning_mends_contacts_and_a_used_part_is_no_new_one() -> None:
    """What is done to a part, by hand: cured by cleaning it was its contact, not that it was open inside."""
    circuit = find("temp_two_coil")
    faults = [find_fault(circuit, name) for name in ("sender_ground=high", "sender=open", "fuse=open")]
    cured = vocabulary.RESULT.classes.index("cured")
    new, used, cleaned = (
        handling.replaced_table(circuit, faults, ("sender_ground", "sender"), how)
        for how in ("new", "used", "cleaned")
    )
    np.testing.assert_allclose(np.stack([new, used, cleaned]).sum(axis=2), 1.0, rtol=1e-12)
    assert new[0, cured] > cleaned[0, cured] > 5 * cleaned[1, cured]
    assert new[1, cured] > used[1, cured] > 5 * used[2, cured]
    # before the next stage it is gone only where it is mended by that
    assert [handling.mends("cleaned", fault) for fault in faults] == [True, False, False]
    assert all(handling.mends("new", fault) for fault in faults)


def test_a_fault_that_nobody_can_see_looks_sound() -> None:
    """A sender of another range is a good sender: to look at it tells nothing, to see rust on it a little."""
    circuit = find("fuel_two_coil_0_30")
    faults = [find_fault(circuit, f"sender={mode}") for mode in ("wrong_range", "stuck")]
    elsewhere = find_fault(circuit, "fuse=open")
    other, stuck, sound = handling.found_table([*faults, elsewhere], "sender", "looked")
    np.testing.assert_allclose(other, sound, rtol=1e-12)
    assert stuck[FOUND.index("sound")] < 0.1 * sound[FOUND.index("sound")]


def observable(cells: Cells, told: dict[str, object], **tools: str) -> Observable:
    case = parse({"circuit": cells.circuit.id, "measured": [told], **tools})
    ((found, _, _),) = asked(case.entries[0], cells, next(iter(cells.circuit.sheet.gauges)))
    return found


def chance(cells: Cells, found: Observable, fault: str, word: str) -> float:
    """Of a word under a fault that is as bad as three quarters of its kind."""
    number = next(i for i, one in enumerate(cells.faults) if one.id == fault)
    rows = np.flatnonzero(cells.fault == number)
    return float(found.slipped[rows[3 * len(rows) // 4], found.classes.index(word)])


def test_a_diode_shines_through_a_poor_joint_that_starves_a_filament() -> None:
    """Ohm's law: 3.6 W at 12 V are 40 ohms hot, a diode's thousand ohms lose next to nothing in ten."""
    cells = Cells(find("temp_two_coil"))
    told = {"check": "lamp_at:panel_feed", "state": "key_on_cold", "lamp": "bright"}
    unknown, filament, diode = (
        observable(cells, told, **tools) for tools in ({}, {"lamp": "filament"}, {"lamp": "led"})
    )
    np.testing.assert_array_equal(unknown.slipped, filament.slipped)
    assert chance(cells, filament, "fuse=high", "bright") < 0.5 < chance(cells, diode, "fuse=high", "bright")
    for lamp in (filament, diode):
        assert chance(cells, lamp, "fuse=open", "out") > 0.9


def test_a_pointer_swings_where_digits_wander() -> None:
    cells = Cells(find("cluster_bimetal_5v"), slices=1)
    told = {"check": "volts_at:regulator_out", "state": "key_on_cold", "volts": "pulsing"}
    pulsing = {
        kind: float(observable(cells, told, **({"meter": kind} if kind else {})).slipped[0, -1])
        for kind in ("", "digital", "analogue")
    }
    assert pulsing["digital"] < pulsing[""] < pulsing["analogue"]
    steady = {**told, "volts": 5.0}
    wide = [observable(cells, steady, meter=kind).noise for kind in ("digital", "analogue")]
    assert wide[0] is not None
    assert wide[1] is not None
    assert np.all(wide[1] > wide[0])


def test_what_is_remembered_is_a_slip_more_often_than_what_was_measured() -> None:
    """In 71 public complaints 13 of 165 things remembered contradict the fault found, of 74 checks 2."""
    circuit = find("temp_two_coil")
    cells = Cells(circuit, slices=1, tolerant=False)
    told = {
        "seen": [{"state": "running_warm", "needle": "high"}],
        "measured": [{"check": "ground_sender_lead", "state": "key_on_cold", "needle": "high"}],
    }
    entries = parse({"circuit": circuit.id, **told}).entries
    slips = [found[0].statement.slip for entry in entries for found in asked(entry, cells, "temperature")]
    assert len(slips) == 2
    assert max(slips) > 2 * min(slips) > 0


def test_what_changed_nothing_has_not_mended_the_fault() -> None:
    """A ground cleaned in vain is bad still or was never bad: its ohms afterwards tell which."""
    measured = [{"state": "key_off", "check": "ohms_across:sender_ground", "ohms": 0.3, "stage": 2}]
    case = {
        "circuit": "fuel_two_coil_0_30",
        "seen": [{"state": "running_warm", "needle": "pegged_high"}],
        "replaced": [{"part": "sender_ground", "result": "no_change"}],
    }
    before, after = (diagnose(parse(one)) for one in (case, {**case, "measured": measured}))
    ground = [
        sum(one.probability for one in found.ranking if one.fault == "sender_ground=open")
        for found in (before, after)
    ]
    assert ground[1] < 0.2 * ground[0]


@pytest.mark.parametrize("name", ["temp_two_coil", "boat_panel", "cluster_air_core", "boat_two_station"])
def test_a_new_thermostat_speaks_of_the_coolant_and_of_nothing_else(name: str) -> None:
    """Cured by it, the coolant was at fault; in vain, that is half as likely: other pieces are left."""
    circuit = find(name)
    part = circuit.part("thermostat", "temperature")
    assert part == circuit.part("process", "temperature")
    faults = [find_fault(circuit, f"{part.id}={mode}") for mode in ("real_high", "real_low", "misjudged")]
    table = handling.replaced_table(circuit, [*faults, find_fault(circuit, "fuse=open")], [part.id])
    cured, vain = (vocabulary.RESULT.classes.index(word) for word in ("cured", "no_change"))
    assert table[0, cured] == table[1, cured] > 5 * table[2, cured] == 5 * table[3, cured]
    assert 0.4 < table[0, vain] / table[3, vain] < 0.6
