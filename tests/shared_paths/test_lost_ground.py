"""With the ground that gauges share lost, one needle moves with another's sender and with the panel lamps.

Hand calculation by Millman's theorem (1940): where resistances R_k meet that come from voltages E_k, the
node stands at sum(E_k/R_k)/sum(1/R_k). Contacts and wires of a few hundredths of an ohm are left out of it.
Copper at 25 degC has 1 + 0.00393*5 = 1.01965 times its ohms at 20 degC (IEC 60028).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, degrees, radians, sin

import pytest
from shared_paths.bench import bench, coolant_ohms, scale

from gaugesim.circuit import find

NAME = "cluster_air_core"
GAUGES = find(NAME).sheet.gauges
COPPER = 1.01965
VOLTS = 12.5  # the battery's, engine off
# what the wires and contacts that are left out may move a needle by
LEFT_OUT = 0.01
FUEL_OHMS = {0.0: 240.0, 0.5: 103.0, 1.0: 33.0}  # the track's table
OIL_OHMS = 10.0  # no pressure
LAMPS = 8.0


@dataclass(frozen=True)
class Floating:
    """The three gauges of the cluster, their studs G and the lamps' return joined, and to nothing else.

    Volts cancel in every angle: all is told for 1 V at the studs I.
    """

    fuel_level: float
    celsius: float
    lamps: bool

    @property
    def common(self) -> float:
        """The floating node: the fuel and oil gauges are dividers behind their coils to stud G."""
        low, behind = 80 * COPPER, (90 + 110) * COPPER
        sender = FUEL_OHMS[self.fuel_level]
        fuel = sender / (sender + low), sender * low / (sender + low) + behind
        coil_e, coil_f = 90 * COPPER, 400 * COPPER
        oil = OIL_OHMS / (OIL_OHMS + coil_e), OIL_OHMS * coil_e / (OIL_OHMS + coil_e) + coil_f
        temperature = 1.0, 150 * COPPER
        branches = [fuel, oil, temperature] + ([(1.0, LAMPS)] if self.lamps else [])
        return sum(volts / ohms for volts, ohms in branches) / sum(1 / ohms for _, ohms in branches)

    @property
    def temperature(self) -> float:
        """Fixed coil, 300 turns at 0 degrees, to the floating node; sensing, 200 at 120, to the engine."""
        fixed = 300 * (1 - self.common) / (150 * COPPER)
        sensing = 200 / (70 * COPPER + coolant_ohms(self.celsius))
        x = fixed + sensing * cos(radians(120))
        y = sensing * sin(radians(120))
        return scale(GAUGES["temperature"], degrees(atan2(y, x)))

    @property
    def fuel(self) -> float:
        """Low-ohm coil, 350 turns at 0 degrees, I to S; bucking, 700 at 180, and high, 500 at 90, S to G."""
        low, behind, sender = 80 * COPPER, 200 * COPPER, FUEL_OHMS[self.fuel_level]
        stud = (1 / low + self.common / behind) / (1 / low + 1 / behind + 1 / sender)
        feed, through = (1 - stud) / low, (stud - self.common) / behind
        return scale(GAUGES["fuel"], degrees(atan2(500 * through, 350 * feed - 700 * through)))


def test_what_the_fuel_sender_does_to_the_temperature_needle() -> None:
    # by hand, tank empty: fuel 240/(240 + 81.57) = 0.7463 behind 60.88 + 203.93 = 264.8 ohm, oil 10/(10 +
    # 91.77) = 0.0983 behind 9.02 + 407.86 = 416.9 ohm, temperature 1 behind 152.95 ohm, so the node is at
    # (2.818 + 0.236 + 6.538)/(3.776 + 2.399 + 6.538) = 0.7545 of the volts; full: 0.6030
    empty, full = Floating(0.0, 60.0, False), Floating(1.0, 60.0, False)
    assert (empty.common, full.common) == pytest.approx((0.7545, 0.6030), abs=1e-4)
    seen = [
        bench(NAME, "lights_off", "", "panel_ground=open", free=True, fuel_level=level, coolant_celsius=60.0)
        for level in (0.0, 1.0)
    ]
    moved = seen[0].needles["temperature"] - seen[1].needles["temperature"]
    assert moved == pytest.approx(empty.temperature - full.temperature, abs=LEFT_OUT)
    assert moved > 0.3
    sound = [bench(NAME, "lights_off", fuel_level=level, coolant_celsius=60.0) for level in (0.0, 1.0)]
    assert sound[0].needles["temperature"] == pytest.approx(sound[1].needles["temperature"], abs=1e-3)


@pytest.mark.parametrize("level", FUEL_OHMS)
def test_the_lamps_drive_both_needles(level: float) -> None:
    # 12.5 V comes through 8 ohm of lamps to the floating node, and leaves it through coils and senders
    given = {"fuel_level": level, "coolant_celsius": 60.0}
    dark, lit = (
        bench(NAME, state, "", "panel_ground=open", free=True, **given)
        for state in ("lights_off", "lights_on")
    )
    for lights, seen in ((False, dark), (True, lit)):
        expected = Floating(level, 60.0, lights)
        assert seen.needles["temperature"] == pytest.approx(expected.temperature, abs=LEFT_OUT)
        assert seen.needles["fuel"] == pytest.approx(expected.fuel, abs=LEFT_OUT)
    assert lit.needles["temperature"] - dark.needles["temperature"] > 0.5
    assert lit.needles["fuel"] - dark.needles["fuel"] > 0.08
    sound = [bench(NAME, state, **given) for state in ("lights_off", "lights_on")]
    for gauge in ("temperature", "fuel"):
        # sound, the lamps' 1.5 A lifts the ground by 0.05 V over 0.03 ohm, 0.4 % of what drives the coils
        assert sound[0].needles[gauge] == pytest.approx(sound[1].needles[gauge], abs=6e-3)


def test_the_floating_node_on_the_meter() -> None:
    for state, lights in (("lights_off", False), ("lights_on", True)):
        given = {"fuel_level": 0.5, "coolant_celsius": 60.0}
        seen = bench(NAME, state, "volts_at:panel_ground", "panel_ground=open", **given)
        # the meter's 10 megohm does not count beside a hundred ohms
        assert seen.reading == pytest.approx(VOLTS * Floating(0.5, 60.0, lights).common, rel=0.01)


def test_on_the_boat_the_harness_plug_is_that_ground() -> None:
    # fuel 240 ohm (empty), temperature and oil at 93 ohm (80 degC) and 240 ohm (no pressure): three dividers
    # behind 90 + 110 ohm of copper, and the voltmeter's 900 + 100*1.01965 = 1001.965 ohm from 1 V
    low, behind = 80 * COPPER, 200 * COPPER
    dividers = [(ohms / (ohms + low), ohms * low / (ohms + low) + behind) for ohms in (240.0, 93.0, 240.0)]
    branches = [*dividers, (1.0, 900 + 100 * COPPER)]
    common = sum(volts / ohms for volts, ohms in branches) / sum(1 / ohms for _, ohms in branches)
    assert common == pytest.approx(0.6979, abs=1e-4)
    given = {"fuel_level": 0.0, "coolant_celsius": 80.0, "oil_bar": 0.0}
    seen = bench("boat_panel", "lights_off", "volts_at:panel_ground", "harness_plug_ground=open", **given)
    assert seen.reading == pytest.approx(VOLTS * common, rel=0.01)
    # the voltmeter, 10 V to 16 V, is left with 12.5*(1 - 0.698) = 3.8 V
    free = bench("boat_panel", "lights_off", "", "harness_plug_ground=open", free=True, **given)
    assert free.needles["voltmeter"] == pytest.approx((VOLTS * (1 - common) - 10) / 6, abs=LEFT_OUT)
