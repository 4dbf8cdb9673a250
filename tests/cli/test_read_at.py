"""``gaugesim read --at``: the needles and the circuit some time after the key was turned."""

from __future__ import annotations

import math
from typing import Any

import pytest

from gaugesim.circuit import available, find

BIMETAL = ("cluster_bimetal_5v", "cluster_bimetal_10v")
# too weak for the regulator ever to open
WEAK = ("--state", "key_on_cold", "--set", "battery_volts=4")


@pytest.mark.parametrize("name", BIMETAL)
def test_a_heated_needle_goes_its_way_with_the_lags_of_winding_and_strip(ask: Any, name: str) -> None:
    # two lags in series, from the cold strip, which lies below the stop, to its end
    settled = ask("read", name, *WEAK)["needles"]
    compared = 0
    for gauge in find(name).sheet.gauges.values():
        final, cold = settled[gauge.id]["position"], -gauge.low / (gauge.high - gauge.low)
        for lags in (1.0, 2.0):
            answer = ask("read", name, *WEAK, "--at", repr(lags * gauge.lag_seconds))
            needle = answer["needles"][gauge.id]
            assert answer["at"] == lags * gauge.lag_seconds
            assert (needle["low"], needle["high"]) == (None, None)
            winding, strip = gauge.winding_seconds, gauge.lag_seconds
            left = strip * math.exp(-lags) - winding * math.exp(-lags * strip / winding)
            expected = final + left / (strip - winding) * (cold - final)
            if expected > gauge.stops[0]:
                assert needle["position"] == pytest.approx(expected, abs=1e-9)
                compared += 1
            else:
                assert needle["word"] == "pegged_low"
    assert compared > 1


@pytest.mark.parametrize("name", BIMETAL)
def test_the_circuit_is_that_of_the_moment_contact_closed_or_open(ask: Any, name: str) -> None:
    node = find(name).sheet.points["regulator_out"].node
    volts = [ask("read", name, "--at", f"{20 + k / 4}")["nodes"][node] for k in range(24)]
    # it passes the whole supply or nothing, and the settled circuit shows the mean
    assert {round(value / 13.4) for value in volts} == {0, 1}
    assert all(abs(value) < 0.1 or value > 12.5 for value in volts)
    assert 0.5 < ask("read", name)["nodes"][node] < 12


@pytest.mark.parametrize("name", sorted({*available()} - {*BIMETAL}))
def test_a_damped_needle_is_there_soon(ask: Any, name: str) -> None:
    settled, soon = ask("read", name), ask("read", name, "--at", "60")
    assert {key: needle["position"] for key, needle in soon["needles"].items()} == pytest.approx(
        {key: needle["position"] for key, needle in settled["needles"].items()}, abs=1e-9
    )
    assert soon["nodes"] == pytest.approx(settled["nodes"], abs=1e-9)
    assert "at" not in settled


def test_a_fault_is_there_from_the_start(ask: Any) -> None:
    for fault in ("fuel_sender=open", "fuel_sender_connector=intermittent"):
        answer = ask("read", "cluster_bimetal_5v", "--at", "60", "--fault", fault)
        assert answer["faults"] == [fault]
        assert answer["needles"]["fuel"]["word"] == "pegged_low"
        assert answer["needles"]["temperature"]["word"] != "pegged_low"


def test_a_person_is_told_the_time(tell: Any) -> None:
    out = tell("read", "cluster_bimetal_5v", "--at", "12")
    assert "At:    12 s after the key was turned" in out
    assert ", means" not in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--at", "0"), "--at is 0 s; give a time above zero, 3600 s at most"),
        (("--at", "-3"), "--at is -3 s; give a time above zero"),
        (("--at", "nan"), "--at is nan s; give a time above zero"),
        (("--at", "1e9"), "3600 s at most"),
        (("--at", "soon"), "invalid float value: 'soon'"),
        (("--at", "5", "--check", "unplug_sender:fuel"), "--at goes with no --check"),
        (("--at", "5", "--fault", "fuse=open", "--fault", "fuel_sender=open"), "no second --fault"),
        (("--at", "5", "--engine", "ngspice"), "no other engine; leave --at out for the settled circuit"),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_line(fail: Any, words: tuple[str, ...], said: str) -> None:
    status, line = fail("read", "cluster_bimetal_5v", *words, "--json")
    assert status == 2
    assert said in line
