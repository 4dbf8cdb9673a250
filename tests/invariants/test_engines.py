"""The embedded engine and ngspice agree to 1e-6 wherever a shipped circuit can be taken.

Opens and dead shorts are 1e9 and 1e-6 ohm in both. With every check there is every fault at its typical
severity, and one in eight at another. With each check a circuit of one gauge is looked at in a third of its
states, one of several in a sixth. tests/benchmarks/engines.py looks at all of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
import pytest
from invariants import engines
from invariants.engines import Engines, chosen, examine, places
from invariants.everything import TURNS, Ledger, Rows, electrical_checks

from gaugesim.circuit import available, find
from gaugesim.reading import situation
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import change
from gaugesim.scenario.stack import stack

pytestmark = pytest.mark.ngspice

# of a position from 0 to 1, of a share of the time, of volts, amperes and ohms
SAME = 1e-6
# what needles and meters show depends on no node that hangs on opens alone
SHOWN = 1e-7


@pytest.fixture(scope="module")
def agreement(spread: Callable[..., Iterable[tuple[Ledger, int]]]) -> dict[str, Ledger]:
    """How far the engines are apart on each circuit."""
    names = available()
    return {name: ledger for name, (ledger, _) in zip(names, spread(examine, names), strict=True)}


@pytest.mark.parametrize("name", available())
@pytest.mark.parametrize("kind", ["volts of nodes", "amperes of branches"])
def test_every_voltage_and_every_current(agreement: dict[str, Ledger], name: str, kind: str) -> None:
    value, where = agreement[name].worst[kind]
    assert value < SAME, where


@pytest.mark.parametrize("name", available())
@pytest.mark.parametrize("kind", ["needle", "duty", "volts", "lamp", "ohms"])
def test_every_needle_and_every_reading(agreement: dict[str, Ledger], name: str, kind: str) -> None:
    value, where = agreement[name].worst[kind]
    assert value < SHOWN, where


@pytest.mark.parametrize("name", available())
def test_everything_has_its_turn(name: str) -> None:
    circuit = find(name)
    checks = electrical_checks(circuit)
    looked = places(circuit, whole=False)
    assert {state for state, _ in looked} == {*circuit.sheet.states}
    assert {check.id for _, check in looked} == {check.id for check in checks}
    rows = Rows(circuit)
    seen = set()
    for number in range(len(looked)):
        at, names = chosen(rows, number, whole=False)
        assert {*names} == {*rows.names}
        seen |= {*at}
    assert seen == set(range(1 + TURNS * len(rows.faults)))
    whole, _ = chosen(rows, 0, whole=True)
    assert {*whole} == seen


def test_a_difference_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    circuit = find("temp_two_coil")
    place = situation(circuit, None, find_check(circuit, "sender_lead_volts"))
    sound = stack([change(circuit, Rows(circuit).faults[0], np.ones(1), place.parameters)])
    ngspice = engines.solve_batch
    monkeypatch.setattr(
        engines, "solve_batch", lambda network, ohms, volts: ngspice(network, ohms, volts * 1.00001)
    )
    ledger = Ledger()
    Engines(ledger).compare(place, sound, str)
    for kind in ("volts of nodes", "amperes of branches", "volts"):
        assert ledger.worst[kind][0] == pytest.approx(1e-5, rel=0.01)
