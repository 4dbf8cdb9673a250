"""One job from the complaint to the proven repair, and what every view of it owes to whoever works by it."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim.advice.answer_entries import entry_of
from gaugesim.advice.danger import engine_runs
from gaugesim.advice.next_step import way
from gaugesim.advice.remedy import repair_costs, repair_named
from gaugesim.cli import main
from gaugesim.consultation import Consultation, consult
from gaugesim.conversation import resume, step
from gaugesim.diagnosis import Conflict, diagnose
from gaugesim.report.tables import page_data

CASES = Path(__file__).parents[1] / "netlists/cases"
NO_PRESSURE = {"state": "running_warm", "gauge": "oil_pressure", "needle": "pegged_low"}
HEAT = {"engine": "signs_of_heat"}
# complaints of every kind of circuit: one gauge, several on a regulator, several in a boat
COMPLAINTS = {
    "temp_bridge": ("temperature", "running_warm", "pegged_high"),
    "cluster_bimetal_5v": ("fuel", "tank_half", "reads_high"),
    "boat_panel": ("temperature", "running_warm", "low"),
    "fuel_two_coil_0_90": ("fuel", "tank_full", "half"),
}


def case_of(circuit: str, *seen: dict, **more: object) -> cases.Case:
    return cases.parse({"circuit": circuit, "seen": list(seen), **more})


@cache
def complaint(circuit: str) -> Consultation:
    gauge, state, needle = COMPLAINTS[circuit]
    return consult(case_of(circuit, {"state": state, "needle": needle}, gauge=gauge))


def written(folder: Path, text: str) -> str:
    path = folder / "job.toml"
    path.write_text(text)
    return str(path)


# --- the object ---


def test_an_answer_more_is_the_same_as_the_whole_case_at_once() -> None:
    before = complaint("temp_bridge")
    _ = before.diagnosis
    answer = {"check": "sender_lead_volts", "state": "key_on_cold", "volts": "none"}
    after = before.with_answer("measured", **answer)
    gauge, state, needle = COMPLAINTS["temp_bridge"]
    whole = case_of("temp_bridge", {"state": state, "needle": needle}, gauge=gauge, measured=[answer])
    expected = diagnose(whole, before.circuits)
    assert [one.fault for one in after.diagnosis.ranking] == [one.fault for one in expected.ranking]
    ours = np.array([one.probability for one in after.diagnosis.ranking])
    assert ours == pytest.approx(np.array([one.probability for one in expected.ranking]), abs=1e-9)
    assert before.case.entries != after.case.entries


def test_what_has_just_been_checked_is_not_proposed_again() -> None:
    now = complaint("fuel_two_coil_0_90")
    for _ in range(2):
        option = now.next_option
        assert option is not None
        word = option.classes[int(np.argmax(now.job.weight @ option.table))]
        table, fields = entry_of(now.circuit, option.check, option.state, word)
        now = now.with_answer(table, **fields)
        assert option.id not in {one.id for one in now.job.options}


@pytest.mark.parametrize("count", [1, 2])
def test_the_one_complaint_is_never_called_a_slip(count: int) -> None:
    states = ("running_warm", "key_on_cold")[:count]
    seen = [{"state": state, "gauge": "temperature", "needle": "high"} for state in states]
    case = case_of("boat_panel", *seen, {"gauge": "fuel", "needle": "normal"}, gauge="temperature")
    now = replace(consult(case))
    first = now.case.entries[0].where
    odd = Conflict("", "", first, 0.01, "", "", "", True)
    now.__dict__["diagnosis"] = replace(now.diagnosis, gauge="temperature", conflicts=(odd,))
    assert now.conflicts == ((odd,) if count > 1 else ())


@pytest.mark.parametrize(
    "told", [{"moves": "jumps"}, {"needle": "low", "often": "sometimes"}, {"needle": "low"}]
)
def test_what_comes_and_goes_is_not_to_be_taken_again(told: dict[str, str]) -> None:
    high = {"state": "running_warm", "needle": "high"}
    now = consult(case_of("temp_two_coil", {"state": "running_warm", **told}, high))
    odd = Conflict("", "", now.case.entries[0].where, 0.01, "", "", "", True)
    now.__dict__["diagnosis"] = replace(now.diagnosis, conflicts=(odd,))
    assert now.conflicts == ((odd,) if told == {"needle": "low"} else ())


# --- what cannot wait ---


@pytest.mark.parametrize("circuit", ["cluster_air_core", "cluster_bimetal_5v", "boat_panel"])
@pytest.mark.parametrize("needle", ["pegged_low", "dead", "low", 0.0, "undriven", "2 psi"])
@pytest.mark.parametrize("gauge", ["oil_pressure", "temperature"])
def test_oil_pressure_that_is_gone_is_a_danger(circuit: str, needle: object, gauge: str) -> None:
    now = consult(case_of(circuit, {**NO_PRESSURE, "needle": needle}, gauge=gauge))
    [danger] = now.first
    assert "stop the engine; oil level and a mechanical gauge before it runs again" in danger.words


@pytest.mark.parametrize(
    "seen",
    [
        {**NO_PRESSURE, "needle": "half"},
        {**NO_PRESSURE, "needle": "20 psi"},
        {**NO_PRESSURE, "state": "key_on_cold"},
        {**NO_PRESSURE, "gauge": "temperature"},
        {"engine": "no_signs_of_heat"},
    ],
)
def test_what_is_no_danger_is_none(seen: dict) -> None:
    assert consult(case_of("cluster_air_core", seen, gauge="oil_pressure")).first == ()


def test_the_last_that_is_told_of_the_engine_counts() -> None:
    told = [HEAT, {"engine": "no_signs_of_heat", "stage": 2}]
    assert consult(case_of("temp_two_coil", HEAT)).first
    assert not consult(case_of("temp_two_coil", *told)).first


@pytest.mark.parametrize(
    "circuit", ["temp_three_coil", "temp_opposed_coil", "cluster_bimetal_5v", "boat_panel"]
)
def test_steam_beats_the_needle(circuit: str) -> None:
    for needle in ("low", "pegged_low", "reads_low", "quarter"):
        seen = {"state": "running_warm", "needle": needle}
        ranking = consult(case_of(circuit, seen, HEAT, gauge="temperature")).diagnosis.ranking
        believed = {suspect.fault: suspect.probability for suspect in ranking}
        assert believed["process=real_low"] < 0.02
        assert believed["sender=uncovered"] > 3 * believed["process=real_low"]


@pytest.mark.parametrize(("circuit", "seen"), [("cluster_air_core", NO_PRESSURE), ("temp_two_coil", HEAT)])
def test_while_there_is_danger_nothing_asks_to_run_the_engine(circuit: str, seen: dict) -> None:
    gauge = seen.get("gauge", "temperature")
    now = consult(case_of(circuit, seen, gauge=gauge))
    assert now.first
    runs = {name for name in now.circuit.sheet.states if engine_runs(now.circuit, name)}
    assert {"running_warm", "loads_on"} <= runs
    assert not runs & {"key_off", "key_on_cold", "lights_on", "lights_off"}
    assert now.job.options
    assert not runs & {option.state for option in now.job.options}
    assert not any(now.may_be_had("key_on_cold", check) for check in ("crank", "ride:panel_feed"))
    assert now.proof.must_see
    assert not runs & {need.state for need in now.proof.must_see}
    lines = "\n".join(f"{key} = {json.dumps(value)}" for key, value in seen.items())
    text = f'circuit = "{circuit}"\ngauge = "{gauge}"\n[[seen]]\n{lines}\n'
    state = resume(Path("case.toml"), text, now.circuits)
    for line in ("c", "s"):
        state, _ = step(state, line)
    offered = [choice.value for choice in (*state.question.choices, *state.question.more)]
    assert offered
    assert not any(value.endswith(tuple(f"@{name}" for name in runs)) for value in offered)
    assert not any(value.startswith("crank") for value in offered)


@pytest.mark.parametrize("words", [["diagnose"], ["plan", "--tree"], ["show", "--page"]])
def test_the_danger_is_the_first_that_a_view_says(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = 'circuit = "temp_two_coil"\n[[seen]]\nstate = "running_warm"\nneedle = "low"\n'
    case = written(tmp_path, text + '[[seen]]\nengine = "signs_of_heat"\n')
    page = tmp_path / "page.html"
    assert main([words[0], case, *words[1:], *([str(page)] if words[0] == "show" else [])]) == 0
    shown = page.read_text() if words[0] == "show" else " ".join(capsys.readouterr().out.split())
    said = shown.index("stop the engine, let it cool, do not open it")
    for later in ("Likeliest", "none of these", "Next check", "Proof of the repair"):
        assert later not in shown[:said]
    if words[0] != "show":
        assert main([words[0], case, "--json"]) == 0
        assert "let it cool" in json.loads(capsys.readouterr().out)["first"][0]


# --- a finished case ---


def test_a_finished_case_is_finished(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = written(
        tmp_path,
        'circuit = "fuel_two_coil_0_90"\n[[seen]]\nstate = "tank_half"\nneedle = "pegged_high"\n'
        '[[replaced]]\npart = "sender_wire"\nresult = "cured"\n',
    )
    now = consult(Path(case))
    assert now.cured == "sender_wire"
    assert (now.next_check, now.mend, now.best_resistor, now.neighbours) == (None, None, None, ())
    for words in (["diagnose"], ["plan", "--tree", "--outside"]):
        assert main([words[0], case, *words[1:]]) == 0
        shown = " ".join(capsys.readouterr().out.split())
        assert "Mended: sender wire" in shown
        assert "Proof of the repair: the fuel needle must be" in shown
        assert "Next check" not in shown
        assert "mend this at once" not in shown
        assert main([words[0], case, "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert (told["next_check"], told["cured"]) == (None, "sender_wire")


MENDED = {"part": "sender_wire", "result": "cured"}


def mended(*after: dict) -> Consultation:
    seen = [{"state": "tank_half", "needle": "pegged_high"}, *({**one, "stage": 2} for one in after)]
    return consult(case_of("fuel_two_coil_0_90", *seen, replaced=[MENDED]))


def test_a_cure_is_proven_state_by_state_and_undone_by_a_needle_that_is_wrong() -> None:
    states = [need.state for need in mended().proof_left]
    assert {"tank_half"} < {*states}
    half = mended({"state": "tank_half", "needle": "normal"})
    assert half.cured
    assert "tank_half" not in {need.state for need in half.proof_left}
    whole = mended(*({"state": state, "needle": "normal"} for state in half.circuit.sheet.states))
    assert whole.cured
    assert whole.proof_left == ()
    again = mended({"state": "tank_half", "needle": "reads_high"})
    assert again.cured == ""
    assert again.next_check is not None


def test_a_conversation_asks_for_the_proof_one_by_one_and_ends() -> None:
    text = 'circuit = "fuel_two_coil_0_90"\n[[seen]]\nstate = "tank_half"\nneedle = "pegged_high"\n'
    text += '[[replaced]]\npart = "sender_wire"\nresult = "cured"\n'
    state = resume(Path("case.toml"), text, mended().circuits)
    asked = []
    while state.question.id.startswith("proof:"):
        asked.append(state.question.id)
        assert "To prove it" in state.question.text
        state, notes = step(state, "yes")
        assert notes[0] == "Noted: yes, there."
    assert len(asked) == len({*asked}) >= 2
    assert state.over
    assert "The job is done" in state.question.text
    assert state.at.text.count('needle = "normal"') == len(asked)
    wrong, _ = step(resume(Path("case.toml"), text, mended().circuits), "too high")
    assert wrong.question.id.startswith(("check:", "tools"))


def test_a_page_of_a_finished_case_asks_for_the_proof_only() -> None:
    now = mended()
    data = page_data(now, "")
    assert data.cured is not None
    assert data.cured.words == "sender wire"
    assert [need.state for need in data.cured.proof] == [need.state_words for need in now.proof_left]
    assert (data.plan.check, data.plan.mend) == (-1, "")
    assert {*now.proof_cautions} <= {*data.cautions}
    assert page_data(complaint("fuel_two_coil_0_90"), "").cured is None


def test_a_fuel_gauge_is_proven_where_the_truth_is_known() -> None:
    for circuit in ("fuel_two_coil_0_90", "cluster_bimetal_5v"):
        now = complaint(circuit)
        for need in now.proof.must_see:
            assert "fuel_level" in now.circuit.sheet.states[need.state].set
        words = {need.state: need.word for need in now.proof.must_see}
        assert words.get("tank_half", "at half") == "at half"


# --- mending at once ---


@pytest.mark.parametrize("circuit", COMPLAINTS)
def test_what_is_mended_at_once_stands_out_and_is_decided_by_no_cheaper_check(circuit: str) -> None:
    work = complaint(circuit).job
    problem, parts = work.problem, work.circuit.sheet.parts
    for number, name in enumerate(work.repairs):
        # the plan would mend this one: nearly all of the probability is its
        mended = problem.repair_of == number
        weight = np.where(mended, 0.9 / mended.sum(), 0.1 / max((~mended).sum(), 1))
        now = way(work, state=start_with(work, weight))
        if now.mend is None:
            continue
        repair = work.remedies[name]
        assert not now.mend.process
        assert {parts[part].gauge for part in now.mend.parts} <= {"", work.diagnosis.gauge}
        if now.mend == repair:
            opening = sum(
                work.circuit.sheet.places[place].setup_minutes
                for place in repair.places
                if place not in work.opened
            )
            for option in work.options:
                took = option.minutes + sum(
                    work.circuit.sheet.places[place].setup_minutes
                    for place in option.check.places
                    if place not in work.opened
                )
                apart = (
                    0.5 * np.abs(option.table[mended].mean(axis=0) - option.table[~mended].mean(axis=0)).sum()
                )
                assert took >= opening or apart < 0.5 + 1e-9, (name, option.id)


def start_with(work, weight):
    from gaugesim.planning.problem import Belief

    return Belief(weight, work.problem.opened, frozenset(range(work.problem.checks)))


# --- a repair once ---


@pytest.mark.parametrize("circuit", ["temp_bridge", "boat_panel"])
def test_a_gauge_stands_once_among_the_repairs(circuit: str) -> None:
    work = complaint(circuit).job
    single = [work.remedies[name] for name in work.repairs if "+" not in name]
    for i, repair in enumerate(single):
        assert not any(repair.parts & other.parts for other in single[:i]), repair.name


def test_what_is_inside_a_gauge_is_replaced_with_it() -> None:
    circuit = complaint("temp_bridge").circuit
    inside = repair_named(circuit, "gauge", "temperature").parts
    kinds = {circuit.sheet.parts[part].kind for part in inside}
    assert {"coil", "movement", "series_resistor"} <= kinds
    for part in inside:
        assert repair_named(circuit, part, "temperature").name == "gauge"


def test_two_repairs_open_both_places() -> None:
    circuit = complaint("temp_bridge").circuit
    setup = {place.id: place.setup_minutes for place in circuit.sheet.places.values()}
    both = repair_named(circuit, "sender_wire+stud_feed", "temperature")
    one, other = (repair_named(circuit, name, "temperature") for name in ("sender_wire", "stud_feed"))
    assert {*both.places} == {*one.places, *other.places}
    assert len(both.places) == 2
    for opened in ((), one.places, other.places, both.places):
        [minutes], [place] = repair_costs([both], setup, opened)
        own = 0.0 if list(setup)[place] in opened else setup[list(setup)[place]]
        closed = sum(setup[name] for name in both.places if name not in opened)
        assert minutes + own == pytest.approx(one.minutes + other.minutes + closed)


# --- cautions ---


# on every circuit, of the plan, its tree and the other views: tests/invariants/test_views.py
@pytest.mark.parametrize("case", ["all_read_high", "cured_for_a_week"])
def test_each_caution_is_told_in_full_once(case: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = CASES / f"{case}.toml"
    assert main(["diagnose", str(path)]) == 0
    shown = " ".join(line.strip().lstrip("! ") for line in capsys.readouterr().out.splitlines())
    now = consult(path)
    assert now.next_check is not None
    expected = {*now.next_check.cautions, *now.cautions}
    expected |= {*now.cautions_of(now.mend)} if now.mend else set()
    assert len(expected) >= 2
    for text in expected:
        assert shown.count(text) == 1, text


def test_a_case_taken_up_twice_is_worked_out_once(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text('circuit = "temp_two_coil"\n[[seen]]\nstate = "running_warm"\nneedle = "pegged_low"\n')
    first = consult(path)
    assert consult(path) is first
    assert consult(path, rate_per_hour=60.0) is not first
    path.write_text(path.read_text().replace("pegged_low", "pegged_high"))
    other = consult(path)
    assert other is not first
    assert other.diagnosis.ranking[0].fault != first.diagnosis.ranking[0].fault


def test_what_proves_a_repair_stays_the_same_from_the_cure_to_the_end() -> None:
    """Each answer leaves one state less, and adds none."""
    case = {
        "circuit": "fuel_two_coil_0_30",
        "seen": [{"state": "running_warm", "needle": "pegged_high"}],
        "replaced": [{"part": "sender_ground", "result": "cured"}],
    }
    job = consult(cases.parse(case))
    wanted = [need.state for need in job.proof.must_see]
    assert len(wanted) > 1
    for count, state in enumerate(wanted, start=1):
        job = job.with_answer("seen", state=state, needle="normal")
        assert [need.state for need in job.proof.must_see] == wanted
        assert [need.state for need in job.proof_left] == wanted[count:]


@pytest.mark.parametrize(("volts", "warned"), [(16.4, True), (13.9, False)])
def test_who_may_have_an_overcharged_battery_is_told_before_anything_else(volts: float, warned: bool) -> None:
    """Whatever gauge is complained of: it gasses, and can burst."""
    high = {"check": "volts_at:fuse_out", "state": "running_warm", "volts": volts}
    now = consult(case_of("temp_two_coil", {"needle": "reads_low"}, measured=[high]))
    assert ("overcharged" in now.cautions[0]) == warned
    mended = now.with_answer("replaced", part="charging", result="cured")
    assert not any("overcharged" in words for words in mended.cautions)


def test_what_changed_nothing_leaves_what_was_looked_at_as_it_was_seen() -> None:
    """A look that was made before a repair in vain is no news after it; a repair that did something is."""
    seen = [{"state": "running_warm", "needle": "reads_low"}, {"state": "key_on_cold", "needle": "low"}]
    now = consult(case_of("temp_two_coil", *seen))
    same, other = (
        now.with_answer("replaced", part="sender", result=result) for result in ("no_change", "changed")
    )
    assert now.past
    assert now.past <= same.past
    assert not other.past & now.past
