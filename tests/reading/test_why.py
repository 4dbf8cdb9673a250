"""Why a needle stands there: no current vanishes, and the arrows' sum is where the needle lies."""

from dataclasses import replace

import numpy as np
import pytest

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit, find
from gaugesim.reading import Situation, respond
from gaugesim.reading.reason_words import in_short, steps
from gaugesim.reading.reasons import FLOWS_AMPERES, GaugeWhy, Why, why
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import all_faults, change, parse_faults
from gaugesim.scenario.scenarios import stack

FAULTS = 20  # of each circuit, drawn anew for each


def told_of(name: str, *faults: str, state: str | None = None, check: str = "") -> Why:
    situation = Situation.of(find(name), state, find_check(find(name), check) if check else NO_CHECK)
    _, together = parse_faults(situation.circuit, faults, situation.parameters)
    return why(situation, stack([together]) if faults else None)


def follows(own: GaugeWhy) -> float | None:
    """Where the needle belongs by the arrows, the heat or the current told, worked out anew."""
    gauge = own.gauge
    if own.heat:
        share = (own.heat.watts - own.heat.low) / (own.heat.high - own.heat.low)
    elif own.turn:
        share = (own.turn.amperes - own.turn.low) / (own.turn.high - own.turn.low)
    else:
        field = complex(*gauge.rest)
        for arrow in own.arrows:
            field += arrow.amperes * arrow.turns * np.exp(1j * np.radians(arrow.degrees))
            assert complex(arrow.x, arrow.y) == pytest.approx(
                arrow.amperes * arrow.turns * np.exp(1j * np.radians(arrow.degrees)), abs=1e-9
            )
        assert complex(*own.total) == pytest.approx(field, abs=1e-9)
        if abs(field) < gauge.friction:
            return None
        # the way round that stays nearest to the middle of the scale
        middle = (gauge.degrees_low + gauge.degrees_high) / 2
        away = (np.degrees(np.angle(field)) - middle + 180) % 360 - 180
        share = 0.5 + away / (gauge.degrees_high - gauge.degrees_low)
    return float(np.clip(share, *gauge.stops))


def unbalanced(told: Why) -> dict[str, float]:
    """At each node what the told runs leave over [A]."""
    left: dict[str, float] = {}
    for run in told.runs:
        left[run.nodes[0]] = left.get(run.nodes[0], 0.0) - run.amperes
        left[run.nodes[-1]] = left.get(run.nodes[-1], 0.0) + run.amperes
    return left


def posts_of(told: Why) -> set[str]:
    """Where the supply itself joins in: battery and alternator."""
    return {"0", told.situation.circuit.sheet.points["battery_positive"].node, "engine_block"}


def places(circuit: Circuit, random: np.random.Generator) -> list[Situation]:
    reads = [each for each in check_ids(circuit) if find_check(circuit, each).reads in ("volts", "lamp")]
    state = str(random.choice(list(circuit.sheet.states)))
    check = find_check(circuit, str(random.choice(reads)))
    return [Situation.of(circuit), Situation.of(circuit, state, check)]


@pytest.mark.parametrize("name", circuits.available())
def test_every_current_goes_on_and_every_needle_follows(name: str) -> None:
    circuit = find(name)
    random = np.random.default_rng(len(name))
    faults = all_faults(circuit)
    for place in places(circuit, random):
        for k in random.choice(len(faults), FAULTS, replace=False):
            made = change(circuit, faults[k], np.array([faults[k].mode.severity.typical]), place.parameters)
            scenarios = stack([made])
            told, sees = why(place, scenarios), respond(place, scenarios)
            slack = FLOWS_AMPERES * len(told.currents)
            assert max(map(abs, unbalanced(told).values()), default=0.0) < slack, faults[k].id
            in_runs = [branch for run in told.runs for branch in run.branches]
            flowing = {each for each, amperes in told.currents.items() if abs(amperes) >= FLOWS_AMPERES}
            assert len(in_runs) == len(set(in_runs))
            assert set(in_runs) == flowing, faults[k].id
            for run in told.runs:
                for branch in run.branches:
                    assert abs(told.currents[branch]) == pytest.approx(run.amperes, abs=slack)
            for gauge, own in told.gauges.items():
                seen = float(sees.positions[gauge][0])
                assert own.position == (None if np.isnan(seen) else seen)
                if not own.stuck:
                    assert follows(own) == pytest.approx(own.position, abs=1e-6), (faults[k].id, gauge)


@pytest.mark.parametrize("name", circuits.available())
def test_the_ways_lead_from_the_battery_to_the_gauge_and_back(name: str) -> None:
    told = told_of(name)
    posts = posts_of(told)
    for own in told.gauges.values():
        ways = [told.runs[k] for k in own.runs]
        assert {*own.elements} <= {branch for run in ways for branch in run.branches}
        starts, ends = {run.nodes[0] for run in ways}, {run.nodes[-1] for run in ways}
        assert starts - ends <= posts
        assert ends - starts <= posts


@pytest.mark.parametrize("name", circuits.available())
def test_the_currents_told_of_a_gauge_add_up_at_its_coils(name: str) -> None:
    """Wherever a coil ends and no other gauge joins in, as much comes as goes."""
    told = told_of(name)
    inside = {gauge: f".{own.gauge.instance}." for gauge, own in told.gauges.items()}
    for gauge, own in told.gauges.items():
        others = [each for name, each in inside.items() if name != gauge]
        joins = {
            run.nodes[i]
            for run in told.runs
            if any(each in branch for branch in run.branches for each in others)
            for i in (0, -1)
        }
        ways = [told.runs[k] for k in own.runs]
        coils = [run for run in ways if {*run.branches} & {*own.elements}]
        left = unbalanced(replace(told, runs=tuple(ways)))
        ends = {run.nodes[i] for run in coils for i in (0, -1)} - joins - posts_of(told)
        assert ends or not own.arrows
        slack = FLOWS_AMPERES * len(told.currents)
        assert max((abs(left[node]) for node in ends), default=0.0) < slack


def test_a_lost_panel_ground_is_told_with_the_way_through_the_others() -> None:
    told = told_of("cluster_air_core", "panel_ground=open")
    assert "current backwards in the bucking coil and the high-ohm coil" in in_short(told, "fuel")
    lines = next(step for step in steps(told, "temperature") if step.title == "Currents").lines
    (home,) = [line for line in lines if "high-ohm coil in the fuel gauge" in line]
    assert "the other way" in home
    assert home.endswith("the fuel gauge's stud S (sender)")


@pytest.mark.parametrize(
    ("name", "fault", "said"),
    [
        ("temp_opposed_coil", "stud_bias=open", "the reference coil alone is left: needle at half"),
        ("temp_opposed_coil", "movement=stuck", "the needle is held"),
        ("temp_two_coil", "sender=open", "no current in the sensing coil"),
        ("temp_two_coil", "sender_wire=to_ground", "more current in the sensing coil"),
        ("temp_two_coil", "lamp_ground=open", "the currents as they should be"),
        (
            "cluster_bimetal_5v",
            "fuel_sender=open",
            "no current in the heater winding: needle on the low stop",
        ),
        ("temp_two_coil", "fuse=open", "needle driven by nothing"),
        ("boat_panel", "panel_ground=open", "current backwards in the bucking coil and the high-ohm coil"),
        ("fuel_three_coil_240_33", "sender_ground=high", "needle at half, but lower: 0.38 instead of 0.50"),
        ("temp_two_coil", "coil_fixed=short", "less field for the same current"),
    ],
)
def test_what_a_fault_does_is_said_in_one_sentence(name: str, fault: str, said: str) -> None:
    told = told_of(name, fault)
    assert said in in_short(told, next(iter(told.gauges)))


def test_a_pull_off_magnet_counts() -> None:
    circuit = find("temp_two_coil")
    gauge = replace(circuit.gauge(), rest=(1.5, -4.0))
    pulled = replace(circuit, sheet=replace(circuit.sheet, gauges={gauge.id: gauge}))
    own = why(Situation.of(pulled)).gauges[gauge.id]
    assert follows(own) == pytest.approx(own.position, abs=1e-9)
    assert any(
        "pull-off magnet: 4.3 ampere-turns" in line
        for line in steps(why(Situation.of(pulled)), gauge.id)[2].lines
    )


def test_without_a_fault_nothing_is_compared() -> None:
    told = told_of("temp_bridge")
    assert told.sound is None
    assert in_short(told, "temperature") == ""
    assert not [line for step in steps(told, "temperature") for line in step.lines if "sound" in line]


def test_a_lamp_takes_its_current_along() -> None:
    told = told_of("temp_opposed_coil", check="lamp_on_sender_lead")
    (run,) = [run for run in told.runs if "test_lamp" in run.branches]
    assert run.amperes == pytest.approx(abs(told.currents["r.xtemperature.rsensing"]), rel=1e-9)
    lines = next(step for step in steps(told, "temperature") if step.title == "Currents").lines
    assert any("the sender lead" in line or "the test lamp" in line for line in lines)
