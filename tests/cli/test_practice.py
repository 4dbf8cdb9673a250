"""The command ``practice``: its JSON, its save file, its sheets, and what it refuses."""

import json
from pathlib import Path

import pytest

START = ("practice", "temp_opposed_coil", "--seed", "35", "--level", "1")
DONE = ("--do", "unplug_sender", "--do", "sender_lead_volts")


def test_the_hidden_fault_is_told_at_the_end_only(ask) -> None:
    first = ask(*START, *DONE)
    assert first["debrief"] is None
    assert [step["what"] for step in first["steps"]] == ["unplug_sender", "sender_lead_volts"]
    assert all(step["cautions"] for step in first["steps"])
    last = ask(*START, *DONE, "--do", "verdict fuse=open")
    debrief = last["debrief"]
    assert debrief["fault"] not in json.dumps(first)
    assert last["over"]
    assert not debrief["fault_right"]
    assert ask(*START, "--do", f"verdict {debrief['fault']}")["debrief"]["fault_right"]


def test_minutes_run_and_a_place_is_opened_once(ask) -> None:
    first, second = ask(*START, *DONE)["steps"]
    assert first["opened"]
    assert "opened" not in second
    assert ask(*START, *DONE)["minutes"] == first["minutes"] + second["minutes"]


def test_checks_are_counted_by_place_and_listed_by_a_word(tell) -> None:
    def shown(line: str) -> list[str]:
        return tell(*START, "--do", line).split(f"> {line}\n")[1].splitlines()

    everything = shown("checks all")
    numbered = [line.split() for line in everything if line.strip()[:1].isdigit()]
    assert [int(row[0]) for row in sorted(numbered, key=lambda row: int(row[0]))] == [
        *range(1, len(numbered) + 1)
    ]
    brief = shown("checks")
    assert len(brief) < 30 < len(everything)
    counts = [int(line.rpartition(": ")[2]) for line in brief if line.rpartition(": ")[2].isdigit()]
    assert sum(counts) == len(numbered)
    fuse = [line.split() for line in shown("checks fuse panel") if line.strip()[:1].isdigit()]
    # a lamp on the same fuse is looked at where it is
    assert fuse == [row for row in numbered if "fuse" in row[1] and not row[1].startswith("see_consumer")]
    assert "no check has 'zzz' in it" in shown("checks zzz")[0]


def test_a_part_is_replaced_a_joint_mended_and_the_engine_seen_to(tell) -> None:
    words = ("sender", "stud_bias", "process")
    text = tell(*START, *(word for part in words for word in ("--do", f"replace {part}")))
    for short in ("replace sender, ", "mend nut on stud B (bias), ", "see to coolant temperature, "):
        assert short in text
    debrief = tell(*START, "--do", "replace sender", "--do", "verdict fuse=open")
    assert "replace sender: no change" in debrief
    assert "mend nut on stud B (bias): a cure" in debrief


def test_it_is_taken_up_where_it_was_left(ask, tmp_path: Path) -> None:
    file = tmp_path / "save.json"
    begun = ask(*START, "--file", str(file), "--do", "unplug_sender")
    text = file.read_text()
    assert "stud_bias" not in text
    assert "open" not in text.replace("opposed", "")
    gone_on = ask("practice", "--file", str(file), "--do", "sender_lead_volts")
    assert gone_on["steps"][0] == begun["steps"][0]
    assert gone_on["steps"] == ask(*START, *DONE)["steps"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("temp_two_coil",), "holds a task with circuit temp_opposed_coil, not temp_two_coil"),
        (("--seed", "4"), "holds a task with seed 35, not 4; leave seed out to go on with it"),
        (("--level", "2"), "holds a task with level 1, not 2"),
    ],
)
def test_another_task_is_not_written_over_a_save_file(
    ask, fail, tmp_path: Path, words: tuple[str, ...], message: str
) -> None:
    file = tmp_path / "save.json"
    ask(*START, "--file", str(file), "--do", "unplug_sender")
    before = file.read_bytes()
    status, line = fail("practice", *words, "--file", str(file), "--do", "hint", "--json")
    assert status == 2
    assert message in line
    assert file.read_bytes() == before


def test_sheets_are_the_same_for_a_seed_and_the_key_lies_apart(tell, tmp_path: Path) -> None:
    words = ("practice", "temp_opposed_coil", "--sheet", "2", "--seed", "5", "--page")
    tell(*words, str(tmp_path / "class.html"))
    tell(*words, str(tmp_path / "again.html"))
    page, key = (tmp_path / name for name in ("class.html", "class_key.html"))
    assert page.read_text() == (tmp_path / "again.html").read_text()
    assert key.read_text() == (tmp_path / "again_key.html").read_text()
    assert page.read_text().count("Sheet ") == 2
    for loaded in ('src="http', 'href="http', "@import", "<script", "<link"):
        assert loaded not in page.read_text()
    assert "Key to sheet 2 of 2" in key.read_text()
    assert "planner" not in page.read_text()


def test_sheets_write_over_nothing_unless_told(fail, tell, tmp_path: Path) -> None:
    page = tmp_path / "class.html"
    page.write_text("mine")
    words = ("practice", "temp_opposed_coil", "--sheet", "1", "--seed", "5", "--page", str(page))
    assert fail(*words) == (2, f"{page}: is there already; name another file, or add --replace")
    assert page.read_text() == "mine"
    tell(*words, "--replace")
    assert page.read_text() != "mine"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--level", "6"), "there are 1, 2, 3, 4, 5"),
        (("--seed", "-1"), "is no seed"),
        (("--do", "unplug_sendr"), "did you mean unplug_sender"),
        (("--do", "replace fuze"), "did you mean fuse"),
        (("--sheet", "2"), "--page is missing"),
        (("--replace",), "--replace goes with --sheet"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(fail, words: tuple[str, ...], message: str) -> None:
    status, line = fail("practice", "temp_opposed_coil", *words, "--json")
    assert status == 2
    assert message in line
