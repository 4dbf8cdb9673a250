"""Limits of the trade and of its instruments, and the supply of the shipped circuits within them."""

from __future__ import annotations

import pytest
from oracles import copper_factor

from gaugesim.circuit import available, find
from gaugesim.physics.lamp import filament_ohms, operating_volts
from gaugesim.physics.meter import VOLTMETER_OHMS
from gaugesim.solve.network import Network, Path
from gaugesim.solve.nodal import solve

CIRCUITS = [find(name) for name in available()]


@pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda circuit: circuit.id)
def test_the_alternator_is_regulated_as_specified(circuit) -> None:
    """A regulator's specification (names a make: source withheld, unverifiable): 13.7 to 14.6 V at 20 °C."""
    assert 13.7 <= circuit.parameter_values(circuit.parameters("running_warm"))["charging_volts"] <= 14.6


@pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda circuit: circuit.id)
def test_the_battery_may_have_any_voltage_of_the_widest_code(circuit) -> None:
    """ISO 16750-2:2010, Table 1, 12 V, code A: 6 to 16 V."""
    battery = circuit.sheet.quantities["battery_volts"]
    assert battery.low <= 6.0
    assert battery.high >= 16.0


@pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda circuit: circuit.id)
@pytest.mark.parametrize("celsius", [-40.0, 20.0, 60.0])
def test_the_coils_are_copper(circuit, celsius: float) -> None:
    """IEC 60028:1925, annealed copper: 0.00393/K at 20 degrees Celsius."""
    values = circuit.parameter_values(
        {**circuit.parameters(circuit.sheet.default_state), "ambient_celsius": celsius}
    )
    assert values["copper"] == pytest.approx(copper_factor(celsius), rel=1e-12)


@pytest.mark.parametrize("source_ohms", [240, 10_000, 3_300_000])
def test_the_loaded_voltmeter_is_the_exact_divider(source_ohms: int, exact_volts) -> None:
    """lcapy, exact fractions; two bench multimeter manuals: at least 10 megohm."""
    assert VOLTMETER_OHMS >= 10e6
    exact = exact_volts(f"V1 1 0 {{14}}\nR1 1 2 {{{source_ohms}}}\nR2 2 0 {{10000000}}", 2)
    source = Path("source", "plus", "0", float(source_ohms), 14.0)
    shown = solve(Network.of([source, Path("meter", "plus", "0", VOLTMETER_OHMS)])).voltage("plus")
    assert shown == pytest.approx(float(exact), rel=1e-12)


def test_the_test_lamp_draws_a_fifth_of_an_ampere_to_one_ampere() -> None:
    """A filament of 3 to 4 W takes 0.25 to 0.33 A at 12 V (from memory); one weak page says 0.75 to 1 A.

    The range is therefore 0.2 to 1 A; beside it Joule's law at the rated voltage, P = V·I.
    """
    for watts in (3.0, 4.0, 12.0):
        volts = operating_volts(12.0, 0.0, 12.0, watts)
        amperes = volts / filament_ohms(volts, 12.0, watts)
        assert volts * amperes == pytest.approx(watts, rel=1e-12)
        assert 0.2 < amperes <= 1.0 + 1e-12
