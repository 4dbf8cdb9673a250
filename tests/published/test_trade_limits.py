"""Limits of the trade and of its instruments."""

from __future__ import annotations

import pytest

from gaugesim.physics.lamp import filament_ohms, operating_volts
from gaugesim.physics.meter import VOLTMETER_OHMS, loading_error_percent, ohmmeter_ohms, voltmeter_volts
from gaugesim.physics.supply import VOLTAGE_DROP_LIMITS


def test_voltage_drop_limits() -> None:
    """Workshop texts, which attribute them to the SAE (its document was not found): 0, 0.1, 0.2 and 0.3 V.

    Other workshop texts: ground below 0.1, wire below 0.2, switch below 0.3 V, above 0.5 V suspect.
    """
    assert dict(VOLTAGE_DROP_LIMITS) == {
        "small_wire_connection": 0.0,
        "high_current_connection": 0.1,
        "high_current_cable": 0.2,
        "switch": 0.3,
    }
    assert max(VOLTAGE_DROP_LIMITS.values()) < 0.5


@pytest.mark.parametrize(("sender_ohms", "percent"), [(73.0, 2.3), (10.0, 17.0)])
def test_a_permitted_drop_does_not_clear_a_gauge_circuit(sender_ohms: float, percent: float) -> None:
    """Consequence of the 0.1 V limit at a gauge's 60 mA: 1.67 ohm, next to senders of 73 to 10 ohm."""
    joint = ohmmeter_ohms(VOLTAGE_DROP_LIMITS["high_current_connection"], 0.060)
    assert joint == pytest.approx(1.67, abs=0.005)
    assert 100 * joint / sender_ohms == pytest.approx(percent, abs=0.5 if percent > 10 else 0.05)


def test_voltmeter_loading() -> None:
    """Two bench multimeter manuals: at least 10 megohm; error 100·R_s/(R_s + R_i)."""
    assert VOLTMETER_OHMS >= 10e6
    assert loading_error_percent(10e3) == pytest.approx(0.0999, abs=5e-5)
    for source in (1.0, 10e3, 3.3e6):
        assert loading_error_percent(source, 10e6) == pytest.approx(100 * source / (source + 10e6), rel=1e-6)


@pytest.mark.parametrize("source_ohms", [240, 10_000, 3_300_000])
def test_the_loaded_voltmeter_is_the_exact_divider(source_ohms: int, exact_volts) -> None:
    """lcapy, exact fractions."""
    exact = exact_volts(f"V1 1 0 {{14}}\nR1 1 2 {{{source_ohms}}}\nR2 2 0 {{10000000}}", 2)
    assert voltmeter_volts(14.0, source_ohms) == pytest.approx(float(exact), rel=1e-12)


def test_the_test_lamp_draws_a_fifth_of_an_ampere_to_one_ampere() -> None:
    """A filament of 3 to 4 W takes 0.25 to 0.33 A at 12 V (from memory); one weak page says 0.75 to 1 A.

    The range is therefore 0.2 to 1 A; beside it Joule's law at the rated voltage, P = V·I.
    """
    for watts in (3.0, 4.0, 12.0):
        volts = operating_volts(12.0, 0.0, 12.0, watts)
        amperes = volts / filament_ohms(volts, 12.0, watts)
        assert volts * amperes == pytest.approx(watts, rel=1e-12)
        assert 0.2 < amperes <= 1.0 + 1e-12
