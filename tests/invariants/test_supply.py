"""What cancels the supply, and which parts in the feed cannot move a needle: from the topology.

An air-core needle stands in the direction of a sum of currents (LM1819 data sheet, 1995: the arctangent of
a ratio), and in a network of resistances all currents grow with the sources: no rest field, no dependence.
A moving coil shows the current itself. A heated strip shows its square, or what its regulator makes of it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from invariants.everything import SHARE, Rows, electrical_checks

from gaugesim.circuit import Circuit, available, find
from gaugesim.physics import air_core
from gaugesim.reading import Situation, respond
from gaugesim.reading.situations import without_process
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.sheet import Gauge
from gaugesim.solve import nodal
from gaugesim.solve.network import Network

WEAKER, STRONGER = 0.75, 1.2
ENGINE_OFF = ("key_on_cold", "lights_off", "lights_on")
# parts that stand in every feed, whatever the circuit
FEED = ("fuse", "ignition_switch", "feed_wire")


def is_ratio(gauge: Gauge) -> bool:
    return gauge.movement == "air_core" and gauge.rest == (0.0, 0.0)


def scaled(situation: Situation, factor: float) -> Situation:
    """The situation with every source that many times as strong; a regulator still holds what it did."""
    networks = [replace(network, volts=network.volts * factor) for network in situation.phases]
    return replace(situation, network=networks[0], phases=tuple(networks))


def stronger(rows: Scenarios, factor: float) -> Scenarios:
    return replace(rows, volts={name: volts * factor for name, volts in rows.volts.items()})


@pytest.mark.parametrize("name", available())
def test_only_movements_that_are_no_ratio_show_the_supply(name: str) -> None:
    circuit = find(name)
    rows = Rows(circuit)
    compared = dict.fromkeys(circuit.sheet.gauges, 0)
    checks = electrical_checks(circuit)
    for number, state in enumerate(circuit.sheet.states):
        for turn, check in enumerate(checks):
            if check.reads != "needle" or (number + turn) % SHARE:
                continue
            situation = Situation.of(circuit, state, check)
            weak = without_process(rows.turn(situation.parameters, turn), situation.pinned)
            low = respond(scaled(situation, WEAKER), stronger(weak, WEAKER))
            high = respond(scaled(situation, STRONGER), stronger(weak, STRONGER))
            for gauge in situation.gauges:
                ends = low.positions[gauge.id], high.positions[gauge.id]
                free = [(end > gauge.stops[0]) & (end < gauge.stops[1]) for end in ends]
                # stuck needles stand still whatever drives them
                free_of_both = free[0] & free[1] & np.isnan(weak.stuck.get(gauge.id, np.array(np.nan)))
                steady = low.duty == high.duty  # a regulator that does not regulate, or none
                rule = [end * (gauge.high - gauge.low) + gauge.low for end in ends]
                if is_ratio(gauge):
                    seen = ~np.isnan(ends[0]) & ~np.isnan(ends[1])
                    assert np.all(np.abs(ends[0] - ends[1])[seen] < 1e-9), (state, check.id, gauge.id)
                elif gauge.movement == "moving_coil":
                    seen = free_of_both
                    assert rule[1][seen] / rule[0][seen] == pytest.approx(STRONGER / WEAKER, rel=1e-9)
                else:
                    seen = free_of_both & steady & (rule[0] > 1e-6)
                    assert rule[1][seen] / rule[0][seen] == pytest.approx((STRONGER / WEAKER) ** 2, rel=1e-6)
                compared[gauge.id] += int(np.sum(seen))
    assert min(compared.values()) > 0


@pytest.mark.parametrize("name", ["cluster_bimetal_5v", "cluster_bimetal_10v"])
def test_a_regulator_takes_the_supply_away_from_heated_gauges(name: str) -> None:
    circuit = find(name)
    rows = Rows(circuit)
    compared = 0
    for state in ENGINE_OFF:
        situation = Situation.of(circuit, state)
        faults = rows.turn(situation.parameters, 0)
        low = respond(scaled(situation, 0.95), stronger(faults, 0.95))
        high = respond(scaled(situation, STRONGER), stronger(faults, STRONGER))
        regulates = (low.duty < 1) & (low.duty > 0) & (high.duty > 0)
        # a live wire on the foil, or on a sender's lead, feeds the gauges past the contact, and no regulator
        # regulates a battery that is the wrong way round
        elsewhere = ("=to_feed", "=to_battery", "=second_gauge", "=reversed")
        past = np.array([fault.endswith(elsewhere) for fault in rows.names])
        bound = regulates & ~past
        # what a feed that touches the frame takes lifts the ground, contact open or closed: a little
        reach = np.where([fault.endswith("_feed=to_ground") for fault in rows.names], 1e-5, 1e-9)
        if state == "lights_on":
            # and so does the lamps' current where the ground is sound
            bound[1:], reach[0] = False, 1e-4
        for gauge in situation.gauges:
            ends = low.positions[gauge.id], high.positions[gauge.id]
            assert np.all(np.abs(ends[0] - ends[1])[bound] < reach[bound]), (state, gauge.id)
        compared += int(np.sum(bound))
        # the same mean square by a smaller share of the time
        assert np.all(high.duty[regulates] < low.duty[regulates])
    assert compared > len(rows.names)


@pytest.mark.parametrize("name", available())
def test_the_battery_alone_cancels_with_the_engine_off(name: str) -> None:
    circuit = find(name)
    rows = Rows(circuit)
    fixed = np.array(["volts" in fault for fault in rows.names])  # a flat battery has volts of its own
    for state in ENGINE_OFF:
        ends = []
        for volts in (9.0, 16.0):
            situation = Situation.of(circuit, state, given={"battery_volts": volts})
            ends.append(respond(situation, rows.turn(situation.parameters, 1)))
        for gauge in circuit.sheet.gauges.values():
            if is_ratio(gauge):
                low, high = (end.positions[gauge.id] for end in ends)
                seen = ~np.isnan(low) & ~np.isnan(high) & ~fixed
                assert np.sum(seen) > len(seen) / 2
                # the alternator's 1e9 ohm still passes 14 nanoamperes
                assert np.all(np.abs(low - high)[seen] < 1e-8), (state, gauge.id)


def alone_on_battery(circuit: Circuit) -> Network:
    """Key on, engine off, and nothing but the battery that could drive anything."""
    network = circuit.network(circuit.values(circuit.parameters("key_on_cold")))
    away = [
        part
        for part, volts in zip(network.names, network.volts, strict=True)
        if volts != 0 and part != "vbattery"
    ]
    return network.with_ohms(dict.fromkeys([*away, "rcharging", "rlights_switch", "rloads"], np.inf))


def direction(network: Network, gauge: Gauge) -> tuple[float, float]:
    """Direction and strength of the field."""
    solution = nodal.solve(network)
    x, y = air_core.field(
        [float(solution.current(coil.element)) for coil in gauge.coils],
        [coil.turns for coil in gauge.coils],
        [coil.degrees for coil in gauge.coils],
    )
    return float(air_core.needle_degrees(x, y)), float(np.hypot(x, y))


@pytest.mark.parametrize("name", available())
def test_what_all_coils_are_fed_through_cannot_turn_the_needle(name: str) -> None:
    """If a gauge has no current with a branch open, all its currents are in proportion to the branch's.

    The branch replaced by a source of its current (substitution theorem), the gauge's currents are linear in
    that source alone, since without it there are none: their ratios do not know the branch's ohms.
    """
    circuit = find(name)
    network = alone_on_battery(circuit)
    for gauge in circuit.sheet.gauges.values():
        if not is_ratio(gauge):
            continue
        sound = direction(network, gauge)[0]
        through = set()
        for part in circuit.sheet.parts.values():
            if not part.element or part.element == "rcharging":
                continue
            if direction(network.with_ohms({part.element: np.inf}), gauge)[1] > 1e-9:
                continue
            through.add(part.id)
            for ohms in (3.0, 300.0):
                behind = direction(network.with_ohms({part.element: ohms}), gauge)[0]
                assert behind == pytest.approx(sound, abs=1e-9), (gauge.id, part.id)
        assert {*FEED} <= through
        # and what is not so placed does turn it
        sender = circuit.part("sender", gauge.id)
        ohms = 2 * float(network.ohms[network.branch(sender.element)])
        assert sender.id not in through
        assert abs(direction(network.with_ohms({sender.element: ohms}), gauge)[0] - sound) > 1.0
