"""Every view of a job: a step shows its cautions, once in full, and what must come first comes first."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import cache
from html import unescape
from pathlib import Path

import pytest

from gaugesim.advice.danger import scopes
from gaugesim.advice.jobs import check_states
from gaugesim.advice.remedy import repair_cautions
from gaugesim.circuit import Circuit, available, find
from gaugesim.cli import diagnose, main, plan
from gaugesim.cli.conversation import converse
from gaugesim.cli.practice_text import before_lines, task_lines
from gaugesim.cli.shown_cautions import Warned
from gaugesim.consultation import Consultation, consult
from gaugesim.front.fault_sweeps import sweep
from gaugesim.front.job_data import diagnosis_data, plan_data
from gaugesim.front.jobs import Plan, Ranking
from gaugesim.front.snapshots import see
from gaugesim.lessons import class_sheets
from gaugesim.lessons.class_sheets import worksheet
from gaugesim.lessons.course import CHECKED, REPLACED, Course, LearnerAction, perform, possible_checks
from gaugesim.lessons.draws import draw_vehicle
from gaugesim.lessons.task import Difficulty, Task
from gaugesim.report.tables import page_data
from gaugesim.report.wiring import Pictures
from gaugesim.scenario.caution import check_cautions, in_order
from gaugesim.scenario.check import Check, find_check
from gaugesim.scenario.check_list import check_ids

# a lead at a hot engine, a tank, heater-type gauges on one regulator, a boat's panel; the last in danger
JOBS = {
    "temp_three_coil": '[[seen]]\nstate = "key_on_cold"\nneedle = "pegged_high"\n',
    "fuel_two_coil_0_90": '[[seen]]\nstate = "tank_half"\nneedle = "pegged_high"\n',
    "cluster_bimetal_5v": 'gauge = "fuel"\n[[seen]]\nstate = "tank_half"\nneedle = "pegged_low"\n',
    "boat_panel": 'gauge = "oil_pressure"\n[[seen]]\nstate = "running_warm"\nneedle = "pegged_low"\n',
}
EVERY = pytest.mark.parametrize("name", available())
# of the other circuits
USUAL = JOBS["temp_three_coil"]


def text_of(name: str) -> str:
    told = JOBS.get(name, USUAL)
    gauge = "" if "gauge" in told else f'gauge = "{next(iter(find(name).sheet.gauges))}"\n'
    return f'circuit = "{name}"\n{gauge}{told}'


@cache
def consulted(name: str, folder: Path) -> Consultation:
    path = folder / f"{name}.toml"
    path.write_text(text_of(name), encoding="utf-8")
    return consult(path)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Consultation]:
    folder = tmp_path_factory.mktemp("jobs")
    return lambda name: consulted(name, folder)


def of_each_kind(circuit: Circuit, gauge: str | None = None) -> list[Check]:
    """One check of every kind that a circuit has."""
    checks = (find_check(circuit, name, gauge) for name in check_ids(circuit, gauge))
    return [*{check.kind.id: check for check in checks}.values()]


def flat(text: str) -> str:
    """Without the folds of lines and the marks in front of cautions."""
    return " ".join(text.replace("\n", " ").split())


def named_after_told(circuit: Circuit, text: str) -> int:
    """See that what is called by its name was told in full before, and count the names."""
    told = {caution.short: flat(caution.words) for caution in circuit.sheet.cautions.values()}
    named = [*re.finditer(r"As above: ([^.]*)\.", text), *re.finditer(r"\[mind: ([^\]]*)\]", text)]
    for match in named:
        for name in match[1].split("; "):
            assert 0 <= text.find(told[name]) < match.start(), name
    return len(named)


def seen_to_hold(job: Consultation, shown: str) -> None:
    """No caution is told twice in full, and what cannot wait, then the scope, come before the first check."""
    text = flat(shown)
    named_after_told(job.circuit, text)
    for caution in job.circuit.sheet.cautions.values():
        assert text.count(flat(caution.words)) <= 1, caution.id
    [scope] = job.scope
    at = text.index(flat(scope))
    assert all(0 <= text.find(flat(danger.words)) < at for danger in job.first)
    assert job.next_check is not None
    assert at < text.index(flat(job.next_check.words))
    for words in job.next_check.cautions:
        assert flat(words) in text, words


@EVERY
def test_a_diagnosis_a_plan_and_its_tree(job, name: str) -> None:
    one = job(name)
    shown = "\n".join(diagnose.as_text(one))
    seen_to_hold(one, shown)
    planned = "\n".join(plan.as_text(one, drawn=True, outside=False))
    seen_to_hold(one, planned)
    text = flat(planned)
    told = {caution.words: caution.short for caution in one.circuit.sheet.cautions.values()}
    for words in plan.way_cautions(one):
        # in full once, and by its name beside each step
        assert text.count(flat(words)) == 1
        assert re.search(rf"\[mind: [^\]]*{re.escape(told[words])}", text), words
    best = one.best_resistor
    for words in best.cautions if best and best.bits >= 0.05 else ():
        assert flat(words) in text


@EVERY
def test_the_conversation(job, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On to the checks, past what is asked of the vehicle, and then each kind of check, asked for by name."""
    one = job(name)
    path = tmp_path / "case.toml"
    path.write_text(text_of(name), encoding="utf-8")
    wanted = [check.id for check in of_each_kind(one.circuit, one.gauge)]
    typed, shown = [""], []

    def read(_: str) -> str:
        shown.append(flat(capsys.readouterr().out))
        if "Before anything is touched" in shown[-1]:
            typed.append("no")
        elif len(shown) == 1:
            typed.append("c")
        elif typed[-1] == "o":
            typed.append("b")
        elif typed[-1] == "b":
            raise EOFError
        elif not typed[-1] or "at hand?" in shown[-1]:
            typed.append(f"o {wanted.pop(0)}" if wanted else "o")
        else:
            typed.append("")
        return typed[-1]

    converse(path, None, read)
    shown.append(flat(capsys.readouterr().out))
    short = {caution.words: caution.short for caution in one.circuit.sheet.cautions.values()}
    asked = [entry for entry in zip(typed, shown, strict=False) if entry[0].startswith("o ")]
    assert not wanted
    for answer, text in asked:
        check = find_check(one.circuit, answer.removeprefix("o "), one.gauge)
        assert flat(check.words) in text, answer
        for caution in check_cautions(one.circuit, check, check_states(one.circuit, check)[0]):
            assert flat(caution.words) in text or short[caution.words] in text, (answer, caution.id)
    seen_to_hold(one, " ".join(shown))
    # where others are listed, what is to be minded at them comes first
    listed = shown[typed.index("o")]
    assert "As above: " in listed[: listed.index("Which check?")]


@EVERY
def test_practice_and_its_sheet(job, name: str) -> None:
    one = job(name)
    vehicle = draw_vehicle(one.circuit, one.gauge, 0, 1, 0)
    task = Task(0, 1, 0, vehicle, text_of(name), Difficulty(1.0, 2, 20.0, 10.0))
    course, warned = Course(task), Warned()
    lines = task_lines(task, warned)
    text = flat("\n".join(lines))
    assert flat(one.scope[0]) in text
    assert all(flat(danger.words) in text for danger in one.first)
    short = {caution.words: caution.short for caution in one.circuit.sheet.cautions.values()}
    kinds = {option.check.kind.id: option for _, option in possible_checks(course)}
    for option in kinds.values():
        if course.knowledge.would_burn(option.id):
            continue
        course = perform(course, LearnerAction(CHECKED, option.check.id, option.state))
        step = flat("\n".join(before_lines(course, course.steps[-1], warned)))
        lines.append(step)
        for caution in check_cautions(task.circuit, option.check, option.state):
            assert flat(caution.words) in step or short[caution.words] in step, option.id
    course = perform(course, LearnerAction(REPLACED, "sender"))
    step = flat("\n".join(before_lines(course, course.steps[-1], warned)))
    for caution in repair_cautions(task.circuit, course.steps[-1].repairs[0]):
        assert flat(caution.words) in step or caution.short in step
    everything = flat("\n".join([*lines, step]))
    named_after_told(task.circuit, everything)
    assert all(everything.count(flat(words)) <= 1 for words in short)


@EVERY
def test_a_sheet_numbers_its_cautions_and_begins_with_what_cannot_wait(
    job, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # the way of the planner, for the key, takes most of the time
    monkeypatch.setattr(class_sheets, "planner_course", Course)
    one = job(name)
    vehicle = draw_vehicle(one.circuit, one.gauge, 0, 1, 0)
    sheet = worksheet(Task(0, 1, 0, vehicle, text_of(name), Difficulty(1.0, 2, 20.0, 10.0)))
    assert sheet.cautions[: len(one.first)] == tuple(danger.words for danger in one.first)
    assert any(row.cautions for row in sheet.rows)
    assert one.scope[0] in sheet.cautions
    assert len({*sheet.cautions}) == len(sheet.cautions)
    for row in sheet.rows:
        carried = {sheet.cautions[number - 1] for number in row.cautions}
        beware = check_cautions(one.circuit, row.option.check, row.option.state)
        assert carried == {caution.words for caution in beware}
        assert one.may_be_had(row.option.state)


@EVERY
def test_the_page_and_json_carry_them_with_each_step(job, name: str) -> None:
    one = job(name)
    data = page_data(one, text_of(name), Pictures(one.job))
    assert data.cautions[: len(one.first)] == tuple(danger.words for danger in one.first)
    assert data.cautions[len(one.first) : data.first] == one.told_first
    assert {scope.words for scope in scopes(one.case, (one.circuit, *one.circuits))} <= {*data.cautions}
    options = {option.id: option for option in one.job.options}
    for check in data.checks:
        option = options[check.id]
        beware = check_cautions(one.circuit, option.check, option.state)
        assert check.cautions == tuple(caution.words for caution in beware)
    assert {*data.short} == {caution.words for caution in one.circuit.sheet.cautions.values()}
    for told in (diagnosis_data(one), plan_data(one)):
        assert told["first"] == [danger.words for danger in one.first]
        assert one.scope[0] in told["cautions"]
        for step in steps_within(told):
            check = find_check(one.circuit, step["check"], one.gauge)
            beware = {caution.words for caution in check_cautions(one.circuit, check, step["state"])}
            assert beware <= {*step["cautions"]}, step["check"]


def steps_within(told: object) -> Iterator[dict]:
    """Whatever is a check in a state, at any depth; what is refused is no step."""
    if isinstance(told, dict):
        if "check" in told and "state" in told:
            yield told
        for key, value in told.items():
            yield from steps_within(value) if key != "refused" else ()
    elif isinstance(told, list):
        for value in told:
            yield from steps_within(value)


@EVERY
def test_read_and_the_card(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    circuit = find(name)
    state = circuit.sheet.default_state
    assert main(["circuits", name, "--state", state]) == 0
    text = flat(capsys.readouterr().out)
    for place in circuit.sheet.places.values():
        for caution in in_order(circuit, place.cautions):
            assert text.count(flat(caution.words)) == 1, caution.id
    checks = [find_check(circuit, one) for one in check_ids(circuit)]
    for check in (one for one in checks if one.reads not in ("jump", "look")):
        assert all(flat(caution.words) in text for caution in check_cautions(circuit, check, state)), check.id
    assert named_after_told(circuit, text)
    assert text.index("BEFORE THE FIRST CHECK") < text.index("a sound circuit shows")
    assert all(flat(scope.words) in text for scope in circuit.sheet.own_scope)
    for check in ("unplug_sender", "volts_at:battery_positive"):
        assert main(["read", name, "--check", check, "--state", state]) == 0
        text = flat(capsys.readouterr().out)
        for caution in check_cautions(circuit, find_check(circuit, check), state):
            assert text.count(flat(caution.words)) == 1, caution.id
    assert main(["read", name, "--check", "ground_at:battery_positive"]) == 2
    assert "would burn" in capsys.readouterr().err


@EVERY
def test_every_kind_of_check_when_it_is_read_and_swept(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """By `read`, by `sweep`, and in Python at a prompt and in a notebook."""
    circuit = find(name)
    for check in of_each_kind(circuit):
        state = check_states(circuit, check)[0]
        beware = [flat(caution.words) for caution in check_cautions(circuit, check, state)]
        seen = see(name, state, check.id)
        swept = sweep(name, state, check.id, faults="sound")
        told = [repr(seen), unescape(seen._repr_html_()), repr(swept), unescape(swept._repr_html_())]
        for command in ("read", "sweep"):
            assert main([command, name, "--check", check.id, "--state", state]) == 0
            told.append(capsys.readouterr().out)
        for text in map(flat, told):
            assert [words for words in beware if text.count(words) != 1] == [], check.id
        burns = [circuit.sheet.cautions["would_burn"].words] * seen.burns
        assert [flat(words) for words in seen.to_dict()["cautions"]] == [*map(flat, burns), *beware]


@EVERY
def test_a_job_in_python(job, name: str) -> None:
    one = job(name)
    for view in (Ranking(one), Plan(one)):
        for text in (flat(repr(view)), flat(unescape(view._repr_html_()))):
            order = [text.index(flat(words)) for words in (*view.first, view.step)]
            assert order == sorted(order)
            assert [words for words in view.cautions if text.count(flat(words)) != 1] == []
    node = one.tree
    assert node.action
    steps = [node.action.step, *(child.action.step for child in node.children.values() if child.action)]
    assert {words for step in steps for words in one.cautions_of(step)} <= {*Plan(one).cautions}


def test_read_says_which_fault_would_make_a_check_burn(capsys: pytest.CaptureFixture[str]) -> None:
    words = flat(find("temp_three_coil").sheet.cautions["would_burn"].words)
    asked = ("read", "temp_three_coil", "--check", "ground_sender_lead")
    for fault, burns in (("sender_wire=to_feed", True), ("sender_wire=open", False)):
        assert main([*asked, "--fault", fault]) == 0
        text = flat(capsys.readouterr().out)
        assert (words in text) == burns
    assert main(asked) == 0
    assert words not in flat(capsys.readouterr().out)


def test_what_is_from_outside_never_told_apart_carries_them_too(job) -> None:
    one = job("temp_three_coil")
    text = flat("\n".join(plan.as_text(one, drawn=False, outside=True)))
    separated = [group.separated_by for group in one.from_outside.groups if group.separated_by]
    assert separated
    assert named_after_told(one.circuit, text)
    for by in separated:
        if flat(by.words) in text:
            short = {caution.words: caution.short for caution in one.circuit.sheet.cautions.values()}
            assert all(flat(words) in text or short[words] in text for words in by.cautions), by.check
