"""Points measured on every shipped gauge: the right movement wins, the needle is predicted between them."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.fitting import Fit, write
from gaugesim.paths import shipped_netlists
from gaugesim.reading import Situation, respond

SHIPPED = {path.stem: circuits.read(path) for path in sorted(shipped_netlists().glob("*.cir"))}
GAUGES = [(circuit, gauge) for circuit in SHIPPED.values() for gauge in circuit.sheet.gauges]
SENDERS = [(circuit, gauge) for circuit, gauge in GAUGES if gauge != "voltmeter"]
# what the user of this program is promised
PREDICTED = 0.02

Fitted = Callable[..., Fit]
Stands = Callable[[Circuit, str, float], float]


def name(value: object) -> str:
    return value.id if isinstance(value, Circuit) else str(value)


@pytest.mark.parametrize(("circuit", "gauge"), GAUGES, ids=name)
def test_the_right_movement_wins(circuit: Circuit, gauge: str, fitted: Fitted) -> None:
    found = fitted(circuit, gauge, coils=True, sender=True)
    assert found.movement == circuit.gauge(gauge).topology
    assert not found.bad.any()


@pytest.mark.parametrize(("circuit", "gauge"), GAUGES, ids=name)
def test_without_the_case_opened_the_right_movement_is_never_ruled_out(
    circuit: Circuit, gauge: str, fitted: Fitted
) -> None:
    found = fitted(circuit, gauge)
    right = circuit.gauge(gauge).topology
    assert right in found.remaining
    # at the studs three coils in two branches are four coils in two branches
    assert found.movement == right or {found.movement, right} == {"three-coil", "four-coil"}


@pytest.mark.parametrize(("circuit", "gauge"), SENDERS, ids=name)
@pytest.mark.parametrize("coil", [True, False], ids=["coils_measured", "needle_alone"])
def test_the_needle_is_predicted_between_the_points(
    circuit: Circuit, gauge: str, coil: bool, fitted: Fitted, stands: Stands
) -> None:
    found = fitted(circuit, gauge) if coil else fitted(circuit, gauge, coil=False)
    ohms = [point.ohms for point in found.points.needle]
    between = np.geomspace(min(ohms), max(ohms), 21)
    positions, widths = found.band(between)
    truth = np.array([stands(circuit, gauge, value) for value in between])
    low, high = circuit.gauge(gauge).stops
    assert np.abs(np.clip(positions, low, high) - truth).max() < PREDICTED
    assert np.all(widths > 0)


@pytest.mark.parametrize(("circuit", "gauge"), GAUGES, ids=name)
def test_the_written_circuit_shows_what_the_original_shows(
    circuit: Circuit, gauge: str, fitted: Fitted, tmp_path: Path
) -> None:
    found = fitted(circuit, gauge, coils=True, sender=True)
    written = write(found, "mine", tmp_path)
    assert written.notes == ()
    mine = circuits.find("mine", tmp_path)
    assert mine.netlist.path == written.files.netlist
    reads, marks = circuit.gauge(gauge).reads, circuit.gauge(gauge).marks
    for true_value in np.linspace(marks[0].at, marks[-1].at, 13):
        given = {reads: float(true_value)}
        seen = respond(Situation.of(mine, "key_on_cold", given=given)).positions[found.points.gauge][0]
        truth = respond(Situation.of(circuit, "key_on_cold", given=given)).positions[gauge][0]
        assert seen == pytest.approx(truth, abs=PREDICTED), f"{reads} = {true_value}"
    entry = mine.sheet.gauges[found.points.gauge]
    assert len(entry.marks) >= 3
    for mark in entry.marks:
        situation = Situation.of(mine, given={entry.reads: mark.at})
        assert respond(situation).positions[entry.id][0] == pytest.approx(mark.position, abs=PREDICTED)
