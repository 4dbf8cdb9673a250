"""What a learner does and what comes of it: knowledge, minutes, regrets, hints, the save file."""

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from lessons.conftest import circuit

from gaugesim.advice.remedy import repair_cautions
from gaugesim.cli.practice_text import task_lines
from gaugesim.cli.shown_cautions import Warned
from gaugesim.errors import GaugesimError
from gaugesim.front.practice_data import course_data
from gaugesim.lessons.commands import command
from gaugesim.lessons.course import (
    BURNT,
    CHANGED,
    CHECKED,
    CURED,
    EXPLAIN,
    GAVE_UP,
    HINT,
    NO_CHANGE,
    REPLACED,
    VERDICT,
    Course,
    LearnerAction,
    find_option,
    numbered_checks,
    perform,
    possible_checks,
)
from gaugesim.lessons.debriefing import debrief, decisive_check, planner_course
from gaugesim.lessons.draws import draw_vehicle
from gaugesim.lessons.judge import decisions
from gaugesim.lessons.knowledge import Knowledge
from gaugesim.lessons.save import read, save_text, saved, take_up
from gaugesim.lessons.task import Difficulty, Task, set_task
from gaugesim.lessons.teach import explained, hint, hints_given
from gaugesim.lessons.vehicle import Shown
from gaugesim.scenario.check import Check, find_check

Act = Callable[..., Course]
LEAD = LearnerAction(CHECKED, "sender_lead_volts", "key_on_cold")
SENDER, FUSE, CURE = (LearnerAction(REPLACED, name) for name in ("sender", "fuse", "stud_bias"))
RIGHT = LearnerAction(VERDICT, "stud_bias=open")


def proving(task: Task) -> tuple[LearnerAction, ...]:
    """What the planner does up to the cure."""
    return tuple(step.action for step in planner_course(task).steps if step.action.kind != VERDICT)


def chances(course: Course) -> dict[str, float]:
    known = course.knowledge
    return {
        entry.fault: float(p) for entry, p in zip(known.work.hypotheses, known.weight, strict=True) if p > 0
    }


def test_a_reading_counts_by_the_rule_of_bayes(loose: Task, act: Act) -> None:
    before, course = Course(loose), act(loose, LEAD)
    option = find_option(loose, LEAD.what, LEAD.state)
    shown = course.steps[0].shown
    assert shown is not None
    likely = option.table[:, option.classes.index(shown.outcome)]
    product = [w * k for w, k in zip(before.knowledge.weight.tolist(), likely.tolist(), strict=True)]
    assert course.knowledge.weight == pytest.approx([value / sum(product) for value in product])
    assert not np.allclose(course.knowledge.weight, before.knowledge.weight)
    told = {one.fault: one for one in explained(course.steps[0])}
    most = max(told.values(), key=lambda one: one.before / max(one.after, 1e-300))
    assert most.excluded
    assert most.would_show != shown.outcome


def test_the_same_check_again_tells_nothing_and_is_lost(loose: Task, act: Act) -> None:
    course = act(loose, LEAD, LEAD)
    first, second = course.steps
    assert second.shown == first.shown
    assert second.after.weight == pytest.approx(first.after.weight)
    assert second.minutes == pytest.approx(first.minutes - loose.circuit.sheet.places["engine"].setup_minutes)
    once, again = decisions(course)
    assert not once.redundant
    assert again.redundant
    assert again.bits == 0
    # nothing is known after it that was not known before, so all its minutes are lost
    assert again.regret == pytest.approx(second.minutes)


def test_a_sound_part_replaced_changes_nothing_and_is_out_of_the_question(loose: Task, act: Act) -> None:
    course = act(loose, FUSE)
    assert course.steps[0].result == NO_CHANGE
    before, after = chances(Course(loose)), chances(course)
    assert before["fuse=open"] > 0
    assert "fuse=open" not in after
    assert after["stud_bias=open"] > before["stud_bias=open"]
    assert sum(after.values()) == pytest.approx(1)
    part = loose.circuit.part("fuse", loose.gauge)
    assert course.price == part.price > 0
    setup = loose.circuit.sheet.places[part.place].setup_minutes
    assert course.minutes == pytest.approx(part.repair_minutes + setup)


def test_a_part_that_nothing_spoke_against_is_not_warranted(loose: Task, act: Act) -> None:
    course = act(loose, SENDER)
    (judged,) = decisions(course)
    assert judged.unwarranted
    (first, *_) = proving(loose)
    assert (judged.best, judged.best_kind) == ((f"{first.what}@{first.state}",), CHECKED)
    (told,) = debrief(perform(course, LearnerAction(GAVE_UP))).unwarranted
    assert told.number == judged.number == 0


def test_after_the_cure_whatever_is_done_is_lost(loose: Task, act: Act) -> None:
    course = act(loose, *proving(loose), LEAD, SENDER)
    assert [step.result for step in course.steps[-3:]] == [CURED, "", NO_CHANGE]
    assert course.cured
    *proof, check, swap = decisions(course)
    assert [one.regret for one in proof] == [0] * len(proof)
    assert check.regret == course.steps[-2].minutes > 0
    assert check.redundant
    assert not check.unwarranted
    assert swap.regret == course.steps[-1].minutes > 0
    assert swap.unwarranted
    verdict = perform(course, LearnerAction(VERDICT, "stud_bias=open")).steps[-1]
    assert (verdict.minutes, verdict.price, verdict.repairs) == (0, 0, ())


def test_luck_is_not_judged(loose: Task, act: Act) -> None:
    """The right verdict by guess on a dear path loses as much as the same decision would on any vehicle."""
    right = act(loose, SENDER, LearnerAction(VERDICT, "stud_bias=open"))
    wrong = act(loose, SENDER, LearnerAction(VERDICT, "stud_sender=open"))
    assert decisions(right)[0].regret == decisions(wrong)[0].regret > 1
    assert debrief(right).fault_right
    assert not debrief(wrong).part_right
    assert debrief(act(loose, LearnerAction(VERDICT, "stud_bias=high"))).part_right


def test_marks_are_kept_for_what_a_good_search_needs_against_what_was_lost(loose: Task, act: Act) -> None:
    told = debrief(act(loose, *proving(loose), LEAD, RIGHT))
    lost = sum(one.regret for one in told.decisions)
    assert told.regret_minutes == pytest.approx(lost)
    assert lost > 1
    assert told.score == pytest.approx(25 + 75 / (1 + lost / told.search_minutes / 2))
    assert told.first_loss is not None
    assert told.first_loss.regret > 1


def test_a_vehicle_left_broken_costs_most_then_a_part_for_nothing_then_a_verdict_by_guess(
    loose: Task, act: Act
) -> None:
    found = proving(loose)
    proved = debrief(act(loose, *found, RIGHT))
    left = debrief(act(loose, LEAD, LearnerAction(GAVE_UP)))
    wrong = debrief(act(loose, LEAD, LearnerAction(VERDICT, "stud_sender=open")))
    part = debrief(act(loose, SENDER, *found, RIGHT))
    verdict = debrief(act(loose, *found, LearnerAction(VERDICT, "fuse=open")))
    assert proved.score == 100
    assert debrief(act(loose, LearnerAction(GAVE_UP))).score == 0
    assert left.marks.broken > part.marks.parts > verdict.marks.verdict > 0
    assert max(left.score, wrong.score) < part.score < verdict.score < proved.score
    for told in (proved, left, wrong, part, verdict):
        assert told.score + sum(told.marks.lost.values()) == pytest.approx(100)


def test_a_verdict_before_the_cure_is_as_doubtful_as_the_evidence_leaves_it(loose: Task, act: Act) -> None:
    guess, told = act(loose, RIGHT), act(loose, LEAD, RIGHT)
    for course in (guess, told):
        known = course.steps[-1].before
        mended = [entry.repair == "stud_bias" for entry in known.work.hypotheses]
        assert decisions(course)[-1].doubt == pytest.approx(1 - float(known.weight[np.array(mended)].sum()))
    assert guess.works
    assert decisions(act(loose, CURE, RIGHT))[-1].doubt == 0


def test_a_replacement_costs_by_what_was_known_and_not_by_what_came_of_it(loose: Task, act: Act) -> None:
    """The likely repair that the planner makes too is free, whether it was needed or not."""
    sender, fuse = (decisions(act(loose, action))[0].wasted for action in (SENDER, FUSE))
    needs = dict.fromkeys(("sender", "fuse", "stud_bias"), 0.0)
    begun = Course(loose).knowledge
    for entry, weight in zip(begun.work.hypotheses, begun.weight, strict=True):
        for name in entry.repair.split("+"):
            needs[name] = needs.get(name, 0.0) + float(weight)
    assert needs["sender"] > 0
    assert sender == pytest.approx(min(1, (1 - needs["sender"]) / needs["sender"]))
    # a fuse is work on what is there: it costs its minutes
    assert fuse == 0
    path = act(loose, *proving(loose), SENDER)
    *proof, swap = decisions(path)
    doubtful = [entry.repair != "stud_bias" for entry in begun.work.hypotheses]
    assert proof[-1].wasted == 0 < path.steps[-2].before.weight[np.array(doubtful)].sum()
    assert swap.wasted == 1


def test_a_lucky_repair_is_a_guess_and_one_that_was_warranted_is_none(loose: Task, act: Act) -> None:
    lucky, *_ = decisions(act(loose, CURE, RIGHT))
    known = Course(loose).knowledge
    needs = ["stud_bias" in entry.repair.split("+") for entry in known.work.hypotheses]
    assert lucky.unwarranted
    assert lucky.doubt == pytest.approx(1 - float(known.weight[np.array(needs)].sum()))
    assert decisions(act(loose, *proving(loose), RIGHT))[-2].doubt == 0
    assert decisions(act(loose, SENDER, LearnerAction(GAVE_UP)))[0].doubt == 0


def test_no_decision_loses_more_than_it_took(loose: Task, act: Act) -> None:
    """Whoever makes a check and does not heed it has lost its minutes, and no more."""
    looks = [LearnerAction(CHECKED, option.check.id, option.state) for option in loose.work.options[::9]]
    course = act(loose, *looks, SENDER)
    for one in decisions(course):
        assert one.regret <= course.steps[one.number].minutes
        assert one.expected_minutes == pytest.approx(one.best_minutes + one.regret)


def chance(known: Knowledge, task: Task) -> float:
    faults = [entry.fault == task.fault for entry in known.work.hypotheses]
    return float(known.weight[np.array(faults)].sum())


def test_the_decisive_check_is_the_one_that_told_most() -> None:
    task = set_task(circuit("temp_two_coil"), "temperature", 0, 2)
    path = planner_course(task)
    checks = [step for step in path.steps if step.option is not None]
    assert len(checks) > 1
    gains = [math.log2(chance(step.after, task) / chance(step.before, task)) for step in checks]
    told = debrief(path).decisive
    assert told is not None
    best = checks[gains.index(max(gains))]
    assert (told.check, told.state) == (best.action.what, best.action.state)
    assert told.after / told.before == pytest.approx(2 ** max(gains))
    # Bayes' rule: odds after it are odds before it times the ratio of the two chances
    odds = told.before / (1 - told.before) * told.expected_true / told.expected_others
    assert told.after == pytest.approx(odds / (1 + odds))


def test_a_way_without_a_check_has_no_decisive_one(loose: Task, act: Act) -> None:
    assert decisive_check(act(loose, CURE, RIGHT)) is None


@pytest.mark.parametrize(
    ("level", "expected"),
    [(1, "wwwwww"), (2, "wwpppp"), (3, "ppp---"), (4, "p-----"), (5, "------")],
)
def test_hints_fade_with_the_level_and_with_their_number(loose: Task, level: int, expected: str) -> None:
    task = replace(loose, level=level)
    course = Course(task)
    told = ""
    for _ in expected:
        one = hint(course)
        told += "w" if one.worked else "p" if one.place else "-"
        assert bool(one.check or one.repairs) == one.worked
        course = perform(course, LearnerAction(HINT))
    assert told == expected
    assert hints_given(course) == len(expected.replace("-", ""))


def test_a_hint_brings_the_cautions_of_its_step(loose: Task) -> None:
    steps = planner_course(loose).steps
    hints = [hint(Course(loose, steps[:count])) for count in range(len(steps))]
    first, repair = hints[0], next(each for each in hints if each.repairs)
    assert first.cautions == first.check.cautions != ()
    beware = {each.words for own in repair.repairs for each in repair_cautions(loose.circuit, own)}
    assert {*repair.cautions} == beware != set()


def test_a_hint_refused_is_not_a_hint_taken(loose: Task, act: Act) -> None:
    asked = LearnerAction(HINT)
    assert hints_given(act(loose, asked, CURE, asked)) == 1
    assert hints_given(act(replace(loose, level=5), asked)) == 0


def test_hints_and_explanations_take_no_minutes(loose: Task, act: Act) -> None:
    course = act(loose, LEAD, LearnerAction(EXPLAIN), LearnerAction(HINT))
    assert course.minutes == course.steps[0].minutes
    assert len(decisions(course)) == 1


def test_a_look_that_misled_is_told_and_a_true_one_is_not(loose: Task) -> None:
    vehicle, circuit_ = loose.vehicle, loose.circuit
    stud, sound = (find_check(circuit_, f"look_at:{part}", "temperature") for part in ("stud_bias", "fuse"))

    def told(check: Check, word: str, reads: str = "look") -> str:
        return vehicle.misleads(check, Shown(reads, word, None, ""))

    assert told(sound, "loose") == "the look misled: the part is sound"
    assert told(sound, "sound") == told(stud, "loose") == ""
    assert told(stud, "sound") == "the look misled: its fault was not seen"
    assert told(stud, "chafed") == "the look misled: that is not its fault"
    assert vehicle.without(["stud_bias"]).misleads(stud, Shown("look", "sound", None, "")) == ""
    wiggle = find_check(circuit_, "wiggle:sender_connector", "temperature")
    assert told(wiggle, "jumps", "jump") == "the hand misled: nothing is loose there"
    assert told(wiggle, "steady", "jump") == ""


def test_nothing_is_done_after_the_end(loose: Task, act: Act) -> None:
    course = act(loose, LearnerAction(GAVE_UP))
    with pytest.raises(GaugesimError, match="the task is over"):
        perform(course, LEAD)


@pytest.mark.parametrize(
    ("action", "message"),
    [
        (LearnerAction("chek", "fuse"), "did you mean check"),
        (LearnerAction(CHECKED, "sender_lead_volt"), "did you mean sender_lead_volts"),
        (LearnerAction(CHECKED, "sender_lead_volts", "key_on"), "no state is called 'key_on'"),
        (LearnerAction(CHECKED, "sender_lead_volts", "", ("fuze",)), "did you mean fuse"),
        (LearnerAction(REPLACED, "sendr"), "did you mean sender"),
        (LearnerAction(VERDICT, "sender"), "is not PART=MODE"),
        (LearnerAction(VERDICT, "sender=opn"), "did you mean open"),
        (LearnerAction(VERDICT, "sendr=open"), "did you mean sender"),
    ],
)
def test_what_cannot_be_done_is_said_and_leaves_all_as_it_was(
    loose: Task, action: LearnerAction, message: str
) -> None:
    course = Course(loose)
    with pytest.raises(GaugesimError, match=message):
        perform(course, action)
    assert course.steps == ()


def test_a_course_comes_back_from_its_file(loose: Task, act: Act, tmp_path: Path) -> None:
    guess = replace(LEAD, suspects=("stud_bias", "sender"), predicted="none")
    course = act(loose, LearnerAction(HINT), guess, SENDER)
    path = tmp_path / "save.json"
    path.write_text(save_text(saved(course, "temp_opposed_coil", True)))
    content = read(path)
    assert content.predict
    again = take_up(content, path)
    assert [step.action for step in again.steps] == [step.action for step in course.steps]
    assert again.steps[1].shown == course.steps[1].shown
    assert again.minutes == course.minutes
    assert again.knowledge.weight == pytest.approx(course.knowledge.weight)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"practice": 2}, "is no save file of practice"),
        ({"level": 9}, "level: is no level"),
        ({"level": True}, "level: is not a whole number"),
        ({"draw": -1}, "draw: is no level or draw"),
        ({"seed": -3}, "seed: is not between 0"),
        ({"predict": 1}, "predict: is not true or false"),
        ({"circuit": None}, "circuit: is missing"),
        ({"circuit": "temp_opposed_col"}, "did you mean temp_opposed_coil"),
        ({"lgo": []}, "did you mean log"),
        ({"log": ["hint"]}, r"log\[1\]: is no table"),
        ({"log": [{"kind": "hint"}, {"what": "fuse"}]}, r"log\[2\]\.kind: is missing"),
        ({"log": [{"kind": "check", "what": "sender_ohm"}]}, r"log\[1\]: .*did you mean sender_ohms"),
        ({"log": [{"kind": "check", "suspects": [1]}]}, r"log\[1\]\.suspects: is not a list"),
    ],
)
def test_a_spoilt_file_is_refused_by_its_key(
    loose: Task, tmp_path: Path, change: dict[str, object], message: str
) -> None:
    content = json.loads(save_text(saved(Course(loose), "temp_opposed_coil", False)))
    path = tmp_path / "save.json"
    path.write_text(json.dumps({key: v for key, v in (content | change).items() if v is not None}))
    before = path.read_bytes()
    with pytest.raises(GaugesimError, match=message) as raised:
        take_up(read(path), path)
    assert str(raised.value).startswith(str(path)) or "circuit" in change
    assert path.read_bytes() == before


def test_of_two_faults_both_have_to_be_mended(act: Act) -> None:
    tasks = (set_task(circuit("temp_opposed_coil"), "temperature", seed, 4) for seed in range(20))
    task = next(task for task in tasks if "+" in task.fault)
    first, second = task.vehicle.fault.singles
    one, both = (LearnerAction(REPLACED, fault.part.id) for fault in (first, second))
    course = act(task, one, both)
    assert [step.result for step in course.steps] == [CHANGED, CURED]
    assert [step.result for step in act(task, both, one).steps] == [CHANGED, CURED]
    half = task.vehicle.without([first.part.id])
    assert [fault.part.id for fault, _ in half.left] == [second.part.id]


def told_task(name: str, gauge: str, told: str) -> Task:
    """A task with a complaint of our own."""
    known = circuit(name)
    vehicle = draw_vehicle(known, gauge, 0, 1, 0)
    text = f'circuit = "{name}"\ngauge = "{gauge}"\n{told}'
    return Task(0, 1, 0, vehicle, text, Difficulty(1.0, 2, 20.0, 10.0))


def test_a_dead_short_ends_the_task_with_what_would_burn_and_no_marks(
    loose: Task, act: Act, tmp_path: Path
) -> None:
    said = command(Course(loose), "ground_at:battery_positive")
    assert said.action == LearnerAction(BURNT, "ground_at:battery_positive")
    course = act(loose, CURE, said.action)
    assert course.cured
    assert course.over
    assert not course.works
    assert "would burn the lead" in course.steps[-1].shown.words
    found = debrief(course)
    assert found.score == 0
    assert found.marks.lost["something burnt"] == 100
    path = tmp_path / "burnt.json"
    path.write_text(save_text(saved(course, "temp_opposed_coil", False)), encoding="utf-8")
    assert take_up(read(path), path).burnt
    with pytest.raises(GaugesimError, match="burns nothing"):
        perform(Course(loose), LearnerAction(BURNT, "ground_sender_lead"))


def test_a_check_that_may_burn_waits_until_a_meter_has_asked() -> None:
    told = '[[seen]]\nstate = "running_warm"\nneedle = "pegged_low"\n'
    task = told_task("temp_three_coil", "temperature", told)
    course = Course(task)
    refused = {entry.name for entry in task.work.refused if entry.state}
    offers = {option.check.id for _, option in possible_checks(course)}
    assert {name for name, _ in numbered_checks(task)} - offers
    name = min(refused - offers)
    with pytest.raises(GaugesimError, match="may be live"):
        perform(course, LearnerAction(CHECKED, name))
    # with what a meter shows on a sound lead nothing speaks for a live one any more
    option = find_option(task, "sender_lead_volts", "key_on_cold")
    cold = course.knowledge.after_check(option, "low")
    assert not cold.would_burn("ground_sender_lead@key_on_cold")


def test_what_cannot_wait_comes_first_and_the_engine_is_not_run() -> None:
    told = '[[seen]]\nstate = "running_warm"\nneedle = "pegged_low"\n'
    task = told_task("cluster_air_core", "oil_pressure", told)
    lines = task_lines(task, Warned())
    assert "stop the engine" in " ".join(lines[1:4])
    running = {name for name, state in task.circuit.sheet.states.items() if state.running}
    assert {state for _, state in numbered_checks(task)}.isdisjoint(running)
    with pytest.raises(GaugesimError, match="not with the engine running: stop the engine"):
        perform(Course(task), LearnerAction(CHECKED, "unplug_sender:oil_pressure", min(running)))
    assert course_data(Course(task), None)["first"]
