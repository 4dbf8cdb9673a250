"""The table of a sheet: a dozen checks of many kinds, and none that is told by where it stands."""

from collections import Counter

import pytest
from lessons.conftest import circuit

from gaugesim.advice.jobs import check_states
from gaugesim.lessons.class_sheets import worksheet
from gaugesim.lessons.course import CHECKED, LearnerAction, numbered_checks
from gaugesim.lessons.judge import decisions
from gaugesim.lessons.task import set_task
from gaugesim.scenario.check import find_check
from gaugesim.scenario.check_list import check_ids


def test_a_table_has_a_dozen_checks_of_many_kinds_and_the_planners_among_them() -> None:
    task = set_task(circuit("temp_opposed_coil"), "temperature", 4, 1)
    sheet = worksheet(task)
    shown = [(row.option.check.id, row.option.state) for row in sheet.rows]
    path = {(step.option.check.id, step.option.state) for step in sheet.planner.steps if step.option}
    assert path
    assert path <= {*shown}
    assert 12 <= len(shown) <= 12 + len(path)
    assert [key for key in numbered_checks(task) if key in shown] == shown
    # two of a kind for what they tell; the others are whatever they are
    assert max(Counter(row.option.check.kind for row in sheet.rows).values()) < 5


def test_the_key_has_what_a_check_loses_if_it_is_made_first(act) -> None:
    task = set_task(circuit("temp_opposed_coil"), "temperature", 1, 1)
    rows = worksheet(task).rows
    for row in (rows[0], rows[-1]):
        (judged,) = decisions(act(task, LearnerAction(CHECKED, row.option.check.id, row.option.state)))
        if row.lost_first is None:
            assert judged.redundant
        else:
            assert row.lost_first == pytest.approx(judged.regret, abs=1e-6)
    assert min(row.lost_first for row in rows if row.lost_first is not None) < 1


def test_what_is_asked_with_the_key_off_for_a_live_wire_is_in_the_list() -> None:
    made = circuit("boat_panel")
    task = set_task(made, made.gauge().id, 6, 2)
    asked = {(option.check.id, option.state) for option in task.work.options}
    usual = {
        (name, state)
        for name in check_ids(made, task.gauge)
        for state in check_states(made, find_check(made, name, task.gauge))
    }
    assert asked - usual
    assert asked <= {*numbered_checks(task)}
