"""A ranking that builds on the one before it is the ranking from scratch, and takes less work."""

from dataclasses import replace

import numpy as np
import pytest

from gaugesim.case import Case, parse
from gaugesim.circuit import find
from gaugesim.diagnosis import Diagnosis, diagnose
from gaugesim.evidence import cells
from gaugesim.evidence.degrees import ROUGH_SLICES, SLICES, fault_changes, grid
from gaugesim.reading import Response, Situation
from gaugesim.scenario.fault import Pair, all_faults, change, merge
from gaugesim.scenario.scenarios import Scenarios

# what is told, one thing after another; the last takes the place of the one before it, as after a step back
TOLD = (
    {"seen": [{"state": "running_warm", "needle": "reads_low"}]},
    {"measured": [{"check": "sender_lead_volts", "state": "key_on_cold", "volts": 9.1}]},
    {"measured": [{"check": "ground_sender_lead", "state": "key_on_cold", "needle": "half"}]},
)
CIRCUITS = (("temp_opposed_coil", "temp_three_coil"), ("cluster_bimetal_10v",))


def told(names: tuple[str, ...], *parts: dict[str, list[dict[str, object]]]) -> Case:
    whole: dict[str, object] = {"circuit": list(names), "gauge": "temperature"}
    for part in parts:
        whole |= {name: [*whole.get(name, []), *entries] for name, entries in part.items()}  # type: ignore[misc]
    return parse(whole)


def same(one: Diagnosis, other: Diagnosis) -> None:
    assert [suspect.fault for suspect in one.ranking] == [suspect.fault for suspect in other.ranking]
    for mine, fresh in zip(one.posteriors, other.posteriors, strict=True):
        np.testing.assert_allclose(mine.cell, fresh.cell, rtol=1e-9, atol=1e-15)
        np.testing.assert_allclose(mine.explained, fresh.explained, rtol=1e-9, atol=1e-15)


@pytest.mark.parametrize("names", CIRCUITS)
def test_it_is_the_ranking_from_scratch(names: tuple[str, ...]) -> None:
    chosen = tuple(find(name) for name in names)
    found: Diagnosis | None = None
    pairs = set()
    for some in (TOLD[:1], TOLD[:2], TOLD, (TOLD[0], TOLD[2])):
        case = told(names, *some)
        found = diagnose(case, chosen, found)
        same(found, diagnose(case, tuple(find(name) for name in names)))
        pairs.add(tuple(fault.id for fault in found.posteriors[0].cells.faults if isinstance(fault, Pair)))
    # or nothing but old cells had been looked at
    assert len(pairs) > 1


def test_only_new_pairs_are_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    names = CIRCUITS[0][:1]
    chosen = tuple(find(name) for name in names)
    asked: list[tuple[str, int]] = []
    respond = cells.respond

    def counted(situation: Situation, scenarios: Scenarios) -> Response:
        asked.append((situation.state, len(scenarios)))
        return respond(situation, scenarios)

    monkeypatch.setattr(cells, "respond", counted)
    first = diagnose(told(names, *TOLD[:1]), chosen)
    assert {state for state, _ in asked} == {"running_warm"}
    asked.clear()
    second = diagnose(told(names, *TOLD[:2]), chosen, first)
    old = {fault.id for fault in first.posteriors[0].cells.faults}
    after = second.posteriors[0].cells
    new = np.isin(after.fault, [i for i, fault in enumerate(after.faults) if fault.id not in old]).sum()
    assert [count for state, count in asked if state == "running_warm"] == [new]
    assert 0 < new < len(after.fault) / 2


def test_another_reading_of_the_circuit_is_another_circuit() -> None:
    """With other priors or values nothing of what was worked out before may be used."""
    names = CIRCUITS[1]
    case = told(names, *TOLD[:2])
    (circuit,) = (find(name) for name in names)
    before = diagnose(case, (circuit,))
    warmer = replace(circuit.sheet.states["running_warm"], set={"coolant_celsius": 60.0})
    sheet = replace(circuit.sheet, states={**circuit.sheet.states, "running_warm": warmer})
    other = replace(circuit, sheet=sheet)
    found = diagnose(case, (other,), before)
    same(found, diagnose(case, (other,)))
    assert found.ranking[0].probability != pytest.approx(before.ranking[0].probability, abs=1e-6)


@pytest.mark.parametrize("slices", [1, ROUGH_SLICES, SLICES])
def test_changes_made_together_are_those_made_one_by_one(slices: int) -> None:
    circuit = find("cluster_bimetal_10v")
    parameters = circuit.parameters("running_warm")
    faults = all_faults(circuit)
    other = next(fault for fault in faults if fault.mode.severity.quantity)
    pairs = [Pair(other, fault) for fault in faults[::5] if fault.part != other.part]
    assert any(pair.second.mode.severity.quantity for pair in pairs)
    entries = [*faults, *pairs]
    for entry, made in zip(entries, fault_changes(circuit, entries, slices, parameters), strict=True):
        severities = zip(entry.singles, grid(entry, slices), strict=True)
        alone = merge([change(circuit, fault, severity, parameters) for fault, severity in severities])
        np.testing.assert_array_equal(made.severity, alone.severity)
        for field in ("branches", "volts", "paths", "parameters", "turns", "stuck", "strength"):
            one, other = getattr(made, field), getattr(alone, field)
            # what moves at other severities alone is told as unmoved
            assert one.keys() >= other.keys()
            for name, values in other.items():
                np.testing.assert_allclose(one[name], values, rtol=1e-12)
        assert len(made.again) == len(alone.again)
        for one, other in zip(made.again, alone.again, strict=True):
            again, expected = (each.make(parameters, each.rows) for each in (one, other))
            assert again.keys() == expected.keys()
            for name, values in expected.items():
                np.testing.assert_allclose(again[name], values, rtol=1e-12)
