"""Every check of every circuit in the states it is proposed in: nothing sparks, burns, scalds or misleads."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim.advice.hazard import CAUTION
from gaugesim.advice.jobs import Job, check_states, job
from gaugesim.advice.resistor import best_resistor
from gaugesim.circuit import Circuit, available, find, of_words
from gaugesim.cli.advice_text import refused_lines
from gaugesim.consultation import consult
from gaugesim.diagnosis import diagnose
from gaugesim.errors import CaseError
from gaugesim.planning.decide import next_action
from gaugesim.planning.problem import BELIEVED, CHECK, REPAIR, Belief, Step, after_check, after_repair, start
from gaugesim.planning.trees import NOT_MENDED, Node, tree
from gaugesim.reading import Situation
from gaugesim.scenario.apparatus import LAMP, METER, Check
from gaugesim.scenario.caution import STOPPED, check_cautions, mending_cautions
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.order_of_work import OFF, ON, sequence, sequence_words
from gaugesim.sheet import CAN, ENGINE
from gaugesim.solve import nodal

SHIPPED = available()
GROUNDS = ("battery_negative", "engine_block", "body", "panel_ground")
# what belongs to a land vehicle, and to a boat, in the words of people who work on them
OF_LAND = r"airbag|trim\b|fuse box|ground post|road dirt|\bhood\b"
OF_BOATS = r"\bboat|blower|bilge|hatch|deck|negative bus"


# vehicles of a few words: a heater gauge without a regulator; the other pole earthed
DESCRIBED: dict[str, dict[str, Any]] = {
    "six volts": {"temperature": {"movement": "bimetal"}, "volts": 6, "regulator": 0},
    "positive earth": {"fuel": {}, "temperature": {}, "regulator": 10, "volts": 24, "earth": "positive"},
}


@pytest.fixture(scope="module", params=[*SHIPPED, *DESCRIBED])
def circuit(request: pytest.FixtureRequest) -> Circuit:
    said = DESCRIBED.get(request.param)
    return of_words(said)[0] if said else find(request.param)


def proposed(circuit: Circuit) -> list[tuple[Check, str]]:
    checks = [find_check(circuit, name) for name in check_ids(circuit)]
    return [(check, state) for check in checks for state in check_states(circuit, check)]


def ids(circuit: Circuit, check: Check, state: str) -> set[str]:
    return {caution.id for caution in check_cautions(circuit, check, state)}


def places_with(circuit: Circuit, check: Check, caution: str) -> bool:
    return any(caution in circuit.sheet.places[place].cautions for place in check.places)


def test_cautions_come_the_worst_first_and_each_has_a_name(circuit: Circuit) -> None:
    for check, state in proposed(circuit):
        told = check_cautions(circuit, check, state)
        ranks = [CAN.index(caution.can) for caution in told]
        assert ranks == sorted(ranks), check.id
        assert len({caution.short for caution in told}) == len(told), check.id
    for caution in circuit.sheet.cautions.values():
        assert len(caution.short) < 45
        assert len(caution.short) < len(caution.words)


def test_where_vapour_is_joints_are_made_with_the_key_off_and_the_engine_stopped(circuit: Circuit) -> None:
    states = circuit.sheet.states
    seen = 0
    for check, state in proposed(circuit):
        if not any(circuit.sheet.places[place].vapour for place in check.places):
            continue
        seen += 1
        assert not states[state].running, f"{check.id}@{state}"
        assert not any(path.name == LAMP for path in check.setup.paths), check.id
        first = check.words.split(":")[0].split(";")[0].split(",")[0]
        assert first in ("Key off", "Battery off") or check.words.startswith("Key on, see where"), check.words
        if "ey on" in check.words:
            # made with the key off, and undone with the key off
            assert re.search(r"key off[^;]*$", check.words), check.words
        assert ids(circuit, check, state) & {"tank_joints", "engine_space"}, check.id
    assert seen or circuit.sheet.craft != "boat"


def test_what_wants_the_engine_stopped_says_so_where_it_runs(circuit: Circuit) -> None:
    for check in (find_check(circuit, name) for name in check_ids(circuit)):
        for state in circuit.sheet.states:
            told = check_cautions(circuit, check, state)
            running = circuit.sheet.states[state].running
            assert (STOPPED in {caution.id for caution in told}) == (check.stopped and running), check.id


def test_the_hazards_of_the_work_are_told(circuit: Circuit) -> None:
    for check, state in proposed(circuit):
        told, where = ids(circuit, check, state), f"{check.id}@{state}"
        engine = ENGINE.index(circuit.sheet.states[state].engine)
        assert ("fuel_vapour" in told) == (
            places_with(circuit, check, "fuel_vapour") or check.kind.id == "float_by_hand"
        ), where
        # a cold engine is not hot, and nothing turns on a still one
        assert ("hot_engine" in told) == (places_with(circuit, check, "hot_engine") and engine >= 1), where
        assert "moving_parts" not in told or engine == 2, where
        assert {"exhaust", "moving_parts"} <= told or engine < 2, where
        assert "oil_hot" not in told, where
        if circuit.sheet.craft == "land" and {"panel_connector", "behind_panel"} & {*check.places}:
            assert "airbag" in told, where
        if check.reads == "ohms" and check.setup.dead and check.kind.id not in ("sender_ohms", "head_ohms"):
            assert "dead_circuit" in told or check.meter, where
        if check.kind.id == "sender_in_water":
            assert {"scald", "drain_first", "boil_altitude"} <= told, where
        if check.kind.id in ("sender_in_water", "float_by_hand"):
            assert "clip lead" in check.words, where
            assert engine < 2, where
        if check.id in ("jumper_across:engine_strap", "jumper_across:battery_ground"):
            assert "no_cranking" in told, where


def test_two_questions_tell_what_it_is_not_for(circuit: Circuit) -> None:
    scope = circuit.sheet.own_scope
    assert len([entry for entry in scope if entry.asks]) == 2
    assert all(len(entry.short) < len(entry.words) for entry in scope)
    words = " ".join(entry.words for entry in scope)
    told = ("5 V", "stepper", "24 V", "high voltage", "petrol or diesel", "alone", "engine running")
    own = ("Shore power", "gas detector") if circuit.sheet.craft == "boat" else ("propped",)
    assert [text for text in (*told, *own) if text not in words] == []


def test_replacing_carries_its_own(circuit: Circuit) -> None:
    for part in circuit.sheet.parts.values():
        told = {caution.id for caution in mending_cautions(circuit, [part])}
        if part.kind in ("battery", "charging") or part.id in (
            "engine_strap",
            "battery_ground",
            "battery_feed",
        ):
            assert "battery_order" in told, part.id
        assert ("oil_hot" in told) == part.id.startswith("oil_pressure_sender") * (
            part.kind == "pressure_sender" or "ground" in part.id
        ), part.id
        assert ("battery_gas" in told) == (part.place == "battery"), part.id


def test_power_comes_off_to_open_and_back_to_measure(circuit: Circuit) -> None:
    for check, state in proposed(circuit):
        told = {caution.id: caution.words for caution in check_cautions(circuit, check, state)}
        for name in {"panel_out", "airbag"} & told.keys():
            # the same caution says when the battery is off and when it is on again
            pole = circuit.sheet.earthed_pole.removeprefix("battery_")
            off, on = told[name].lower().find(f"{pole} off"), told[name].lower().find("on again")
            assert 0 <= off < on, told[name]
        if "airbag" in told:
            assert "never battery on again while an airbag plug is parted" in told["airbag"]


def test_steps_are_told_in_order_with_power_off_to_get_there_and_back_to_measure(circuit: Circuit) -> None:
    places = circuit.sheet.places
    for check, _ in proposed(circuit):
        steps = sequence(circuit, check)
        shut = [name for name in check.places if places[name].battery_off]
        assert bool(sequence_words(circuit, check)) == bool(shut), check.id
        assert sequence_words(circuit, check, check.places) == "", check.id
        keys = [i for i, text in enumerate(steps) if text.startswith("key on")]
        joins = [i for i, text in enumerate(steps) if text.startswith("key off,")]
        # no joint is made with the key on, and where one was made the key goes off before it is undone
        assert not joins or not keys or joins[0] < keys[0] or check.kind.id == "wiggle", steps
        assert not joins or not keys or any(text.startswith("key off") for text in steps[keys[-1] :]), steps
        if not shut:
            continue
        assert steps[0].startswith(OFF)
        assert [f"get {places[name].words}" for name in shut] == [*steps[1 : 1 + len(shut)]]
        back = [i for i, text in enumerate(steps) if text.startswith(ON)]
        if keys:
            assert back[0] < keys[0], steps
            assert not joins or joins[0] < back[0], steps
            assert steps[-1] == f"{OFF} before it is closed"
        else:
            assert not back or check.kind.id == "feed_direct", steps
        if "airbag" in check.cautions:
            assert "airbag" in steps[0]
            assert all("airbag" in steps[i] for i in back)


def test_each_craft_is_spoken_of_in_its_own_words(circuit: Circuit) -> None:
    sheet = circuit.sheet
    wrong = OF_LAND if sheet.craft == "boat" else OF_BOATS
    said = [place.words for place in sheet.places.values()]
    said += [point.words for point in sheet.points.values()]
    said += [group.words for group in sheet.groups.values()]
    said += [f"{part.words} {part.repair}" for part in sheet.parts.values()]
    said += [scope.words for scope in sheet.scope.values() if scope.craft in ("", sheet.craft)]
    cranking = find_check(circuit, "crank"), sheet.default_state
    for check, state in (*proposed(circuit), cranking):
        said += [check.words, *(caution.words for caution in check_cautions(circuit, check, state))]
    for part in sheet.parts.values():
        said += [caution.words for caution in mending_cautions(circuit, [part])]
    assert [text for text in dict.fromkeys(said) if re.search(wrong, text, re.IGNORECASE)] == []


def test_leads_resistors_and_supplies_say_what_they_must_bear_and_do(circuit: Circuit) -> None:
    for check, state in proposed(circuit):
        leads = [path for path in check.setup.paths if path.name not in (METER, LAMP)]
        if check.setup.dead or not leads:
            continue
        situation = Situation.of(circuit, state, check)
        solution = nodal.solve(situation.network)
        for path in leads:
            amperes = abs(float(solution.current(path.name)))
            assert amperes <= check.leads.limits[path.name] * (1 + 1e-9), f"{check.id}@{state}"
        if check.kind.id == "swap_sender_leads":
            continue
        words = check.words
        if any(path.volts for path in leads):
            assert f"{circuit.gauge(check.gauge).bench_volts:g} V" in words
            assert f"limited to {check.leads.supply_amperes:g} A" in words
        else:
            assert f"{check.leads.fuse:g} A fuse" in words, words
        assert not any(path.name == "resistor" for path in leads) or f"{check.leads.watts:g} W" in words


def test_a_gauge_fed_by_itself_feeds_no_other() -> None:
    for circuit in (find(name) for name in SHIPPED if find(name).sheet.regulator):
        for gauge in circuit.sheet.gauges.values():
            check = find_check(circuit, f"feed_direct:{gauge.id}")
            solution = nodal.solve(Situation.of(circuit, "key_off", check).network)
            for other in circuit.sheet.gauges.values():
                watts = float(solution.current(other.element)) ** 2 * float(
                    circuit.values(circuit.parameters("key_off"))[other.element]
                )
                assert (watts > 1e-3) == (other is gauge)
                assert other is gauge or watts < 1e-9
                assert watts < 1.2 * gauge.high


def shorts(circuit: Circuit) -> list[str]:
    points = circuit.sheet.points
    leads = [name for name in points if name.endswith(("sender_lead", "stud_sender"))]
    pole, earth = circuit.sheet.live_pole, circuit.sheet.earthed_pole
    grounds = [name for name in (earth, "engine_block", "body", "panel_ground") if name in points]
    live = [name for name in (pole, "fuse_out") if name in points]
    return [f"ground_at:{name}" for name in live] + [
        f"jumper_between:{name}:{to}" for name in (pole,) for to in (*grounds, *leads)
    ]


def test_a_dead_short_is_no_check(circuit: Circuit) -> None:
    for name in shorts(circuit):
        with pytest.raises(CaseError, match="would burn"):
            find_check(circuit, name)


def told_job(circuit: str, text: str) -> Job:
    return job(diagnose(cases.parse(cases_data(circuit, text), Path("case.toml"))))


def cases_data(circuit: str, text: str) -> dict[str, object]:
    import tomllib

    return tomllib.loads(f'circuit = "{circuit}"\n{text}')


LIVE = """
[[seen]]
state = "running_warm"
needle = "pegged_low"
[[measured]]
check = "sender_lead_volts"
state = "{state}"
volts = 12.4
"""


@pytest.mark.parametrize("state", ["key_on_cold", "key_off"])
def test_a_lead_that_may_be_live_is_touched_with_a_meter_only(state: str) -> None:
    work = told_job("temp_three_coil", LIVE.format(state=state))
    assert work.refused
    along = {"stud_sender", "foil_sender_far", "foil_sender_near", "panel_sender"}
    along |= {"sender_lead", "sender_terminal"}
    for option in work.options:
        joins = [path for path in option.check.setup.paths if path.name not in (METER, LAMP)]
        joined = {node for path in joins for node in (path.node_a, path.node_b)}
        alone = option.check.setup.kept is not None
        # along the same lead nothing flows
        assert alone or joined <= along or not joined & along, option.id
        if option.check.setup.branches:
            assert CAUTION in option.check.cautions, option.id
    assert not any(option.check.kind.id in ("ground_sender_lead", "substitute") for option in work.options)
    assert best_resistor(work) is None
    if state != "key_off":
        asked = [option.check.words for option in work.options if option.state == "key_off"]
        assert any("still live" in words for words in asked)


def test_no_step_of_the_way_burns_what_is_believed_there() -> None:
    work = told_job("boat_panel", 'gauge = "fuel"\n[[seen]]\nstate = "lights_off"\nneedle = "pegged_low"')
    walked = [*steps(work, tree(work.problem, least_probability=0.02), start(work.problem))]
    assert len(walked) > 20
    for step, state in walked:
        called = work.options[step.number].id if step.kind == CHECK else work.repairs[step.number]
        assert not work.would_burn(called, state.weight), called


@pytest.mark.parametrize("name", ["temp_three_coil", "fuel_four_coil"])
def test_no_new_sender_on_a_lead_that_may_be_live(name: str) -> None:
    work = told_job(name, LIVE.format(state="key_on_cold"))
    mends = {entry.name for entry in work.refused if not entry.state}
    assert "sender" in mends
    assert Step(REPAIR, work.repairs.index("sender")) not in {
        choice.step for choice in next_action(work.problem, every=True).alternatives
    }
    # the mend that takes the fault away is not held back
    assert "sender_wire" not in mends


def steps(work: Job, node: Node, state: Belief) -> Iterator[tuple[Step, Belief]]:
    """The steps of a plan, with what is believed where each is taken."""
    if node.action is None:
        return
    step = node.action.step
    yield step, state
    for outcome, child in node.children.items():
        if step.kind == CHECK:
            yield from steps(work, child, after_check(work.problem, state, step.number, outcome))
        elif outcome == NOT_MENDED:
            yield from steps(work, child, after_repair(work.problem, state, step.number))


def test_what_is_refused_burns_and_what_is_proposed_does_not() -> None:
    work = told_job("fuel_four_coil", LIVE.format(state="key_on_cold"))
    part = work.suspects[0]
    weight = part.weight[part.row_of] * part.row_weight / part.weight.sum()
    cut = {(entry.name, entry.state): entry.probability for entry in work.refused}
    for option in work.options:
        limits = option.check.leads.limits
        if not limits or option.check.setup.kept is not None or option.check.setup.parameters:
            continue
        over = np.zeros(len(weight), dtype=bool)
        for row in range(len(weight)):
            over[row] = burns(part, option.check, option.state, row + 1)
        assert over @ weight <= BELIEVED + 1e-12, option.id
    assert max(cut.values()) > BELIEVED


def burns(part, check: Check, state: str, row: int) -> bool:
    from gaugesim.reading.exact import with_faults

    situation = Situation.of(part.entry.cells.circuit, state, check)
    network = with_faults(
        situation.network, part.scenarios(situation.parameters), row, situation.decided(situation.network)
    )
    solution = nodal.solve(network)
    return any(abs(float(solution.current(name))) > most for name, most in check.leads.limits.items())


@pytest.mark.parametrize("earth", ["negative", "positive"])
def test_a_point_measured_live_is_left_alone_whatever_is_believed_and_whichever_pole_is_earthed(
    earth: str,
) -> None:
    """A needle that speaks against a live lead does not make it safe."""
    data = {
        "gauge": "fuel",
        "vehicle": {"earth": earth, "fuel": {"ohms": "240-33", "movement": "three_coil"}},
        "seen": [{"state": "tank_half", "needle": "pegged_high"}],
        "measured": [{"check": "sender_lead_volts", "state": "key_off", "volts": 12.4}],
    }
    work = job(diagnose(cases.parse(data, Path("case.toml"))))
    refused = {(entry.name, entry.state): entry.probability for entry in work.refused}
    assert refused["ground_sender_lead", "key_on_cold"] == pytest.approx(1.0)
    assert not any(option.check.kind.id == "ground_sender_lead" for option in work.options)


def test_what_is_refused_in_one_state_alone_is_said_to_be() -> None:
    """On 5 V and a wire that is always live 68 ohm bear the battery's volts, not those of charging."""
    live = {"check": "sender_lead_volts", "state": "key_off", "volts": 12.4}
    low = {"state": "running_warm", "needle": "pegged_low"}
    said = {"circuit": "cluster_bimetal_5v", "gauge": "temperature", "measured": [live], "seen": [low]}
    one = consult(cases.parse(said))
    may = {option.check.id for option in one.job.options}
    [state] = {entry.state for entry in one.refused if entry.name == "substitute:temperature:68"}
    assert "substitute:temperature:68" in may
    assert "substitute:temperature:33" not in may
    text = " ".join(line.strip() for line in refused_lines(one))
    sender, words = "ohm for the temperature sender", one.circuit.sheet.states[state].words
    assert f"33 {sender}; 68 {sender} ({words})" in text
