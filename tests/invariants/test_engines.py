"""The embedded engine and ngspice agree to 1e-6 wherever a shipped circuit can be taken.

Opens and dead shorts are 1e9 and 1e-6 ohm in both. Every circuit x check x fault is there, with each check in
one state of three in turn; in each state a fault has each of its severities with some check: the ends of its
range, halfway, and the typical one. All node voltages and branch currents are compared to 1e-6; what needles,
meter and lamp show, and the share of the time that the regulator's contact is closed, to 1e-7.

There the embedded engine answers by corrections of one solution; that whole solutions are right, their laws
say in `test_everything`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from invariants import engines
from invariants.anew import Batch
from invariants.engines import (
    HIDDEN,
    SAME,
    SHOWN,
    SOLVED,
    STATES,
    Faults,
    Reference,
    checks_by_place,
    compare,
    examine,
    in_turn,
    severities,
    turns,
)
from invariants.everything import Ledger, electrical_checks

from gaugesim.circuit import available, find
from gaugesim.reading import Situation
from gaugesim.scenario.check import METER, find_check

pytestmark = pytest.mark.ngspice

# a circuit's checks are shared out among workers in so many parts
PARTS = 4
# for no more than one answer in so many does ngspice have to be asked again for what is shown, `PARTED` aside
AGAIN = 300


@pytest.fixture(scope="module")
def agreement(spread: Callable[..., Iterable[tuple[Ledger, int, int]]]) -> dict[str, tuple[Ledger, int]]:
    """How far the engines are apart on each circuit, and how often ngspice was asked again."""
    work = [(name, part, PARTS) for name in available() for part in range(PARTS)]
    found = {name: (Ledger(), 0) for name in available()}
    for (name, *_), (ledger, _, again) in zip(work, spread(examine, *zip(*work, strict=True)), strict=True):
        found[name][0].add(ledger)
        found[name] = found[name][0], found[name][1] + again
    return found


@pytest.mark.parametrize("name", available())
@pytest.mark.parametrize("kind", ["needle", "duty", "volts", "lamp", "ohms", "pulses"])
def test_every_needle_and_every_reading(
    agreement: dict[str, tuple[Ledger, int]], name: str, kind: str
) -> None:
    value, where = agreement[name][0].worst[kind]
    assert value < SHOWN, where


@pytest.mark.parametrize("name", available())
@pytest.mark.parametrize("kind", SOLVED)
def test_every_voltage_and_every_current(
    agreement: dict[str, tuple[Ledger, int]], name: str, kind: str
) -> None:
    value, where = agreement[name][0].worst[kind]
    assert value < SAME, where


@pytest.mark.parametrize("name", available())
def test_it_is_the_whole_of_it(agreement: dict[str, tuple[Ledger, int]], name: str) -> None:
    circuit = find(name)
    checks = electrical_checks(circuit)
    faults = Faults(circuit)
    assert {check.id for check in checks_by_place(circuit)} == {check.id for check in checks}
    rows = 1 + len(faults.faults)
    made = sum(len(turns(circuit, number)) for number in range(len(checks)))
    ledger, again = agreement[name]
    for kind in ("needle", *SOLVED):
        assert ledger.counts[kind] == made * rows
    assert again * AGAIN < ledger.counts["needle"]


def test_severities_are_the_ends_halfway_and_the_typical_one() -> None:
    for fault in Faults(find("cluster_bimetal_5v")).faults:
        severity, tried = fault.mode.severity, severities(fault)
        if severity.quantity:
            middle = (severity.low + severity.high) / 2
            assert {severity.low, severity.high, severity.typical} <= {*tried.tolist()}
            assert np.abs(tried - middle).min() < 1e-12 * middle
        else:
            assert tried.tolist() == [0]


@pytest.mark.parametrize("name", available())
def test_every_check_has_its_states_and_every_state_every_severity(name: str) -> None:
    circuit = find(name)
    sources = Faults(circuit).rows(Situation.of(circuit)).source
    met: dict[str, set[int]] = {state: set() for state in circuit.sheet.states}
    for number in range(len(checks_by_place(circuit))):
        made = turns(circuit, number)
        assert len(made) >= len(met) // STATES > 0
        for state, turn in made.items():
            met[state] |= {*in_turn(sources, turn).tolist()}
    assert all(rows == set(range(len(sources))) for rows in met.values())


def worst_of(check: str) -> dict[str, float]:
    """How far the engines are apart with one check of a circuit, in its default state, with any fault."""
    circuit = find("temp_two_coil")
    situation = Situation.of(circuit, None, find_check(circuit, check))
    ledger = Ledger()
    compare(situation, Faults(circuit).rows(situation), Reference(), ledger, str)
    return {kind: value for kind, (value, _) in ledger.worst.items()}


def test_a_fault_that_is_a_little_worse_in_one_engine_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    assert max(worst_of("sender_lead_volts").values()) < SAME
    correction = engines.Correction
    monkeypatch.setattr(
        engines,
        "Correction",
        lambda factored, outputs, rows, *rest: correction(
            factored, outputs, replace(rows, ohms=rows.ohms * 1.00001), *rest
        ),
    )
    worst = worst_of("sender_lead_volts")
    assert 1e-6 < worst["volts"] < 1e-5
    assert 1e-6 < worst["needle"] < 1e-5
    assert 1e-6 < worst["amperes"] < 2e-5
    for kind in HIDDEN:
        assert 1e-6 < worst[kind] < 1e-4


def test_another_meter_in_one_engine_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    in_full = engines.in_full

    def with_another(*arguments: Any) -> Batch:
        batch = in_full(*arguments)
        ohms = batch.ohms.copy()
        ohms[:, batch.network.branch(METER)] = 11e6
        return replace(batch, ohms=ohms)

    monkeypatch.setattr(engines, "in_full", with_another)
    worst = worst_of("sender_lead_volts")
    assert worst["volts"] == pytest.approx(0.1, rel=0.01)
