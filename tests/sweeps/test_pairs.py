"""Pairs of faults against every pair's own network, solved from the start."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from invariants.anew import Anew, read_off, solve_distinct, stamped

from gaugesim.arrays import Floats
from gaugesim.circuit import available, find
from gaugesim.expression import parse
from gaugesim.reading import Situation, embedded
from gaugesim.reading.response import lamp_resistance
from gaugesim.reading.situations import without_process
from gaugesim.scenario.check import NO_CHECK, OHMMETER_OHMS, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import Change, all_faults, change, combine, find_fault
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.solve.network import Integers
from gaugesim.sweeps import PairRows, PairSweep, pairs

CLOSE = 1e-9
SAMPLE = 30
FAULTS = 45
KINDS = ("", "sender_lead_volts", "lamp_on_sender_lead", "ohms_across", "sender_in_water", "bench_gauge")


def combined_rows(swept: PairSweep, first: Integers, second: Integers) -> Scenarios:
    """Each pair put together by itself."""
    changes = []
    for pair in zip(first, second, strict=True):
        makes = [one_fault(swept, row) for row in pair]
        changes.append(combine([make for make in makes if make], swept.situation.parameters))
    return stack(changes)


def one_fault(swept: PairSweep, row: int) -> Callable[..., Change] | None:
    """The fault of a row; none if it is in a process value that the check has set."""
    fault = swept.faults[swept.scenarios.source[row]]
    severity = swept.scenarios.severity[row : row + 1]
    alone = stack([change(swept.situation.circuit, fault, severity, swept.situation.parameters)])
    known = without_process(alone, frozenset(swept.situation.check.setup.parameters))
    if known is not alone:
        return None
    return lambda parameters: change(swept.situation.circuit, fault, severity, parameters)


def anew(situation: Situation, rows: Scenarios) -> Anew:
    lamp_ohms = lamp_resistance(situation, rows, embedded(situation)) if situation.has_lamp else None
    batches = [
        stamped(situation, network, situation.check.setup, rows, lamp_ohms) for network in situation.phases
    ]
    if situation.meter is not None and situation.check.meter is not None:
        batches.append(stamped(situation, situation.meter, situation.check.meter, rows))
    currents = []
    for batch in batches:
        solution, _, _, which = solve_distinct(batch)
        currents.append(solution.currents[which])
    return read_off(situation, rows, batches, currents, lamp_ohms)


def ways(swept: PairSweep, first: Integers, second: Integers) -> Integers:
    """A number for each way that a pair can be worked out, and for what its two scenarios are."""
    # how many changes they make, and whether each makes a difference by itself
    kinds = np.minimum(swept.rank, 2) * 2 + swept.bears
    low, high = (pick(kinds[first], kinds[second]) for pick in (np.minimum, np.maximum))
    source = swept.scenarios.source
    together = swept.combined[source[first], source[second]]
    limits = np.any(~np.isfinite(swept.scenarios.ohms) | (swept.scenarios.ohms == 0), axis=1)
    return np.asarray(((low * 6 + high) * 2 + together) * 2 + (limits[first] & limits[second]))


def chosen(swept: PairSweep, generator: np.random.Generator, count: int) -> PairRows:
    """Some pairs of a sweep of each way, with and without an exact open or short on both sides."""
    blocks = list(swept.blocks())
    first = np.concatenate([block.first for block in blocks])
    second = np.concatenate([block.second for block in blocks])
    # every pair, once
    assert np.all(first < second)
    assert len(np.unique(first * len(swept.scenarios) + second)) == len(first) == len(swept)
    way = ways(swept, first, second)
    take = np.concatenate(
        [
            generator.choice(of_it, min(count, len(of_it)), replace=False)
            for of_it in (np.flatnonzero(way == each) for each in np.unique(way))
        ]
    )

    def gathered(values: list[Floats]) -> Floats:
        return np.concatenate(values)[take]

    responses = [block.response for block in blocks]
    positions = {
        gauge.id: gathered([response.positions[gauge.id] for response in responses])
        for gauge in swept.situation.gauges
    }
    readings = [response.reading for response in responses if response.reading is not None]
    reading = gathered(readings) if readings else None
    pulses = gathered([response.pulses for response in responses])
    shown = type(responses[0])(positions, reading, pulses, gathered([r.duty for r in responses]))
    return PairRows(first[take], second[take], shown)


def agree(situation: Situation, rows: PairRows, fresh: Anew) -> None:
    for gauge in situation.gauges:
        mine, theirs = rows.response.positions[gauge.id], fresh.positions[gauge.id]
        # where the field is the friction to the last digit, either answer is right
        edge = np.abs(fresh.fields.get(gauge.id, np.zeros(len(mine))) - 1) < CLOSE
        np.testing.assert_array_equal(np.isnan(mine)[~edge], np.isnan(theirs)[~edge], gauge.id)
        np.testing.assert_allclose(mine[~edge], theirs[~edge], rtol=0, atol=CLOSE, err_msg=gauge.id)
    assert (rows.response.reading is None) == (fresh.reading is None)
    if rows.response.reading is not None and fresh.reading is not None:
        mine, theirs = rows.response.reading, fresh.reading
        if situation.check.reads == "ohms":
            # the share of the ohmmeter's own volts that stands across what it measures
            mine, theirs = mine / (OHMMETER_OHMS + mine), theirs / (OHMMETER_OHMS + theirs)
            supply = 1.0
        else:
            supply = float(np.abs(situation.network.volts).max())
        np.testing.assert_allclose(mine, theirs, rtol=0, atol=CLOSE * supply)


def places(name: str) -> list[Situation]:
    """The needles alone, and one check of each kind of reading."""
    circuit = find(name)
    found = [Situation.of(circuit)]
    known = check_ids(circuit)
    for number, kind in enumerate(KINDS[1:]):
        of_kind = [check for check in known if check.partition(":")[0] == kind]
        if of_kind:
            state = [*circuit.sheet.states][number % len(circuit.sheet.states)]
            found.append(Situation.of(circuit, state, find_check(circuit, of_kind[-1])))
    return found


@pytest.mark.parametrize("name", available())
def test_a_sample_of_pairs_is_what_each_gives_by_itself(name: str) -> None:
    generator = np.random.default_rng(20)
    for place in places(name):
        faults = all_faults(place.circuit)
        some = np.sort(generator.choice(len(faults), min(FAULTS, len(faults)), replace=False))
        swept = pairs(place, [faults[k] for k in some], count=3)
        rows = chosen(swept, generator, SAMPLE)
        agree(place, rows, anew(place, combined_rows(swept, rows.first, rows.second)))


def test_every_pair_of_one_circuit() -> None:
    situation = Situation.of(find("temp_opposed_coil"), "running_warm", NO_CHECK)
    swept = pairs(situation, count=1)
    seen = set()
    for rows in swept.blocks():
        agree(situation, rows, anew(situation, combined_rows(swept, rows.first, rows.second)))
        seen |= set(zip(rows.first.tolist(), rows.second.tolist(), strict=True))
    assert len(seen) == len(swept)


def every_pair_agrees(swept: PairSweep) -> None:
    for rows in swept.blocks():
        agree(swept.situation, rows, anew(swept.situation, combined_rows(swept, rows.first, rows.second)))


@pytest.mark.parametrize("state", ["tank_full", "tank_empty"])
def test_a_fault_that_shows_only_beside_another_is_worked_out_with_it(state: str) -> None:
    circuit = find("cluster_air_core")
    names = ("fuel_process=real_low", "fuel_process=real_high", "fuel_sender=dead_spot", "fuel_sender=stuck")
    every_pair_agrees(
        pairs(Situation.of(circuit, state), [find_fault(circuit, name) for name in names], count=3)
    )


def test_a_fault_that_reads_what_another_sets_is_worked_out_with_it() -> None:
    circuit = find("cluster_air_core")
    hot, low = (
        find_fault(circuit, f"{name}_process=real_{end}")
        for name, end in (("temperature", "high"), ("fuel", "low"))
    )
    reading = replace(low.mode, set={"fuel_level": parse("max(fuel_level - x*coolant_celsius/100, 0)")})
    every_pair_agrees(pairs(Situation.of(circuit), [hot, replace(low, mode=reading)], count=3))


def by_pair(swept: PairSweep, size: int) -> dict[tuple[int, int], tuple[float, ...]]:
    found: dict[tuple[int, int], tuple[float, ...]] = {}
    for rows in swept.blocks(size):
        shown = zip(*(stand.tolist() for stand in rows.response.positions.values()), strict=True)
        for one, other, values in zip(rows.first.tolist(), rows.second.tolist(), shown, strict=True):
            assert one < other
            assert (one, other) not in found
            found[one, other] = values
    return found


def test_the_size_of_a_block_makes_no_difference() -> None:
    situation = Situation.of(find("boat_two_station"))
    swept = pairs(situation, count=2)
    large, small = by_pair(swept, 1 << 16), by_pair(swept, 300)
    assert large.keys() == small.keys()
    assert len(large) > 10_000
    np.testing.assert_allclose(list(small.values()), [large[key] for key in small], rtol=0, atol=1e-12)


def test_a_part_does_not_fail_in_one_place_in_two_ways() -> None:
    swept = pairs(Situation.of(find("fuel_two_coil_0_90")))
    number = {fault.id: k for k, fault in enumerate(swept.faults)}
    wire = [number[f"sender_wire={mode}"] for mode in ("open", "high", "to_ground")]
    assert not swept.apart[wire[0], wire[1]]
    assert swept.apart[wire[0], wire[2]]
    assert not np.any(np.diag(swept.apart))
    assert np.array_equal(swept.apart, swept.apart.T)
