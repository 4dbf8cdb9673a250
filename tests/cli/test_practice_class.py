"""``gaugesim practice`` for a class: tasks that are not everybody's, and one table of what came back."""

import csv
import json
import re
import shutil
from pathlib import Path

import pytest

from gaugesim.cli import main

START = ("practice", "temp_opposed_coil", "--seed", "35", "--level", "1")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("written")
    assert main([*START, "--class", "Harbour", "--hand-out", "4", "--to", str(folder)]) == 0
    return folder


@pytest.fixture
def handed_out(written: Path, tmp_path: Path) -> Path:
    return shutil.copytree(written, tmp_path / "class")


def test_a_class_has_tasks_of_its_own(ask) -> None:
    faults = set()
    for word in (None, "harbour", "pump", "  Harbour "):
        own = ("--class", word) if word else ()
        faults.add((ask(*START, *own, "--do", "give up")["debrief"]["fault"], word and word.strip().lower()))
    # the word counts and how it is written does not
    assert len(faults) == 3
    assert len({fault for fault, _ in faults}) > 1


def test_what_was_hidden_is_told_with_the_word_only(ask, tell, fail, handed_out: Path) -> None:
    file = str(handed_out / "task_01.json")
    words = ("--do", "unplug_sender", "--do", "replace sender", "--do", "give up")
    over = ask("practice", "--file", file, *words)
    assert over["over"]
    assert over["debrief"] is None
    assert "DEBRIEF" not in tell("practice", "--file", file)
    assert "told with the teacher's word" in " ".join(tell("practice", "--file", file).split())
    told = ask("practice", "--file", file, "--class", "harbour")["debrief"]
    assert told["fault"] not in (handed_out / "task_01.json").read_text()
    assert told["fault"] not in json.dumps(over)
    # nor with another word, nor by the numbers in the file without it
    status, line = fail("practice", "--file", file, "--class", "pump")
    assert (status, "holds a task of another class" in line) == (2, True)
    assert "harbour" not in (handed_out / "task_01.json").read_text().lower()


def test_one_table_of_those_that_came_back(ask, tell, handed_out: Path, tmp_path: Path) -> None:
    done = {
        "task_01": ("replace sender", "give up"),
        "task_02": ("replace sender", "verdict fuse=open"),
        "task_03": ("unplug_sender",),
    }
    for name, lines in done.items():
        file = handed_out / f"{name}.json"
        ask("practice", "--file", str(file), *(word for line in lines for word in ("--do", line)))
    (handed_out / "task_04.json").write_text("{}")
    words = ("practice", "--results", str(handed_out), "--class", "harbour")
    table, page = tmp_path / "class.csv", tmp_path / "class.html"
    rows = {
        row["name"]: row for row in ask(*words, "--csv", str(table), "--page", str(page), "--json")["results"]
    }
    assert [row["state"] for row in rows.values()] == ["finished", "finished", "not finished", "not read"]
    for name in ("task_01", "task_02"):
        alone = ask("practice", "--file", str(handed_out / f"{name}.json"), "--class", "harbour")
        assert rows[name]["score"] == pytest.approx(alone["debrief"]["score"])
        assert rows[name]["minutes"] == alone["minutes"]
        lost = [rows[name][f"lost_{reason}"] for reason in ("broken", "parts", "verdict", "minutes")]
        assert sum(lost) == pytest.approx(100 - rows[name]["score"])
        assert rows[name]["wrong_turn"] == "replace sender"
    assert [rows[name]["verdict"] for name in ("task_01", "task_02")] == ["gave up", "wrong"]
    read = list(csv.DictReader(table.read_text().splitlines()))
    assert [row["name"] for row in read] == [*rows]
    assert float(read[0]["score"]) == pytest.approx(rows["task_01"]["score"])
    said = tell(*words)
    assert "Most common first wrong turn: replace sender, 2 of 2." in said
    for text in ("2 of 4 finished.", "task_04: not read"):
        assert text in said
        assert text in page.read_text()
    for loaded in ('src="http', "<script", "<link"):
        assert loaded not in page.read_text()


def test_results_need_the_word(ask, handed_out: Path) -> None:
    states = [row["state"] for row in ask("practice", "--results", str(handed_out))["results"]]
    assert states == ["needs the class's word"] * 4


def test_steps_as_a_table(ask, fail, tmp_path: Path) -> None:
    table = tmp_path / "steps.csv"
    words = (*START, "--do", "unplug_sender", "--do", "give up", "--csv", str(table))
    told = ask(*words)
    rows = list(csv.DictReader(table.read_text().splitlines()))
    assert [row["what"] for row in rows] == [step["what"] for step in told["steps"]]
    assert float(rows[0]["minutes"]) == told["steps"][0]["minutes"]
    assert float(rows[0]["lost_minutes"]) == pytest.approx(told["debrief"]["decisions"][0]["regret"])
    status, line = fail(*words)
    assert (status, "is there already" in line) == (2, True)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--hand-out", "3"), "--to is missing"),
        (("--hand-out", "0", "--to", "x"), "--hand-out 0 is no number of tasks"),
        (("--results", "nowhere"), "nowhere: is no folder"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(fail, words: tuple[str, ...], message: str) -> None:
    status, line = fail("practice", "temp_opposed_coil", *words, "--json")
    assert status == 2
    assert message in line


def test_the_key_says_why_and_how_it_is_marked(tell, tmp_path: Path) -> None:
    page, key = tmp_path / "class.html", tmp_path / "class_key.html"
    tell(*START, "--sheet", "1", "--class", "harbour", "--page", str(page))
    text = key.read_text()
    assert "Why the needle stands there" in text
    assert re.search(r"instead of [^<]*\d\.\d\d", text)
    assert "Marks for the way" in text
    assert "with --class and the word of the class" in text
    assert "harbour" not in text + page.read_text()
    assert "Marks: 25 for a vehicle that works again" in page.read_text()
    assert "Why the needle" not in page.read_text()
