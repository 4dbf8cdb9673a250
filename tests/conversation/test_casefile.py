"""The case file: the person's own text stays, and at any moment a whole file is there."""

import os
import stat
import tomllib
from pathlib import Path

import pytest

from gaugesim.case import read
from gaugesim.conversation import Kept
from gaugesim.conversation.casefile import case_of, with_entry, with_top
from gaugesim.files import replace_file

WRITTEN = """\
# Harbour workboat, hull 3. Owner says: since the winter.
circuit = [ "temp_bridge",   "temp_opposed_coil" ]   # four studs
gauge   =   "temperature"

[[seen]]   # at the quay
state = "key_on_cold"
needle = "half"      # dead centre

[[measured]]
check = "sender_lead_volts"
volts = 12.4

# to do: look at the engine strap
"""


def test_a_new_file_says_what_it_is_and_can_be_read(tmp_path: Path) -> None:
    text = with_entry(with_top("", circuit=["temp_bridge"], gauge="temperature"), "seen", {"needle": "half"})
    path = tmp_path / "case.toml"
    path.write_text(text)
    assert text.startswith("# ")
    case = read(path)
    assert (case.circuits, case.gauge, case.entries[0].needle) == (("temp_bridge",), "temperature", "half")


def test_an_entry_leaves_all_that_was_written_as_it_was() -> None:
    text = with_entry(WRITTEN, "seen", {"state": "running_warm", "needle": (0.4, 0.6), "stage": 2})
    assert text.startswith(WRITTEN)
    assert text[len(WRITTEN) :] == '\n[[seen]]\nstate = "running_warm"\nneedle = [0.4, 0.6]\nstage = 2\n'
    assert [entry["needle"] for entry in tomllib.loads(text)["seen"]] == ["half", [0.4, 0.6]]


def test_a_key_at_the_top_is_changed_in_its_place() -> None:
    text = with_top(WRITTEN, circuit=["temp_opposed_coil"])
    assert text == WRITTEN.replace('[ "temp_bridge",   "temp_opposed_coil" ]', '"temp_opposed_coil"')


def test_a_missing_key_is_added_above_the_tables() -> None:
    text = with_top(WRITTEN.replace('gauge   =   "temperature"\n', ""), gauge="fuel")
    assert tomllib.loads(text)["gauge"] == "fuel"
    for line in WRITTEN.splitlines():
        assert line in text or line.startswith("gauge")


@pytest.mark.parametrize("kept", [[], [{"needle": "half"}]])
def test_entries_written_on_one_line_are_added_to(kept: list[dict[str, str]]) -> None:
    inside = ", ".join('{ needle = "half" }' for _ in kept)
    text = with_entry(f'circuit = "a"\nseen = [{inside}] # short\n', "seen", {"needle": "low"})
    assert tomllib.loads(text)["seen"] == [*kept, {"needle": "low"}]
    assert "# short" in text


def test_line_ends_stay_those_of_the_file() -> None:
    text = with_entry(WRITTEN.replace("\n", "\r\n"), "seen", {"needle": "low", "state": "key_off"})
    assert text.count("\n") == text.count("\r\n")


def test_every_kind_of_value_comes_back() -> None:
    fields = {"check": "volts_at:stud_feed", "state": 'odd "name"', "volts": 12.5, "ohms": float("inf")}
    text = with_entry('circuit = "a"', "measured", fields)
    assert tomllib.loads(text)["measured"] == [fields]
    assert case_of(text, Path("x.toml")).entries[0].ohms == float("inf")


def test_keeping_writes_all_of_it_and_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    kept = Kept(path, None)
    kept.keep('circuit = "a"\n')
    kept.keep('circuit = "b"\n')
    assert path.read_text() == 'circuit = "b"\n'
    assert os.listdir(tmp_path) == ["case.toml"]


def test_going_back_to_the_beginning_brings_back_what_was_there(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    kept = Kept(path, None)
    kept.keep('circuit = "a"\n')
    kept.keep("")
    assert not path.exists()
    path.write_bytes(b"# mine\r\n")
    kept = Kept(path, path.read_bytes())
    kept.keep('circuit = "a"\n')
    kept.keep("")
    assert path.read_bytes() == b"# mine\r\n"


def test_a_change_from_elsewhere_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    kept = Kept(path, None)
    assert not kept.changed_elsewhere
    kept.keep('circuit = "a"\n')
    assert not kept.changed_elsewhere
    path.write_text('circuit = "b"\n')
    assert kept.changed_elsewhere


def test_a_file_that_was_taken_away_is_written_again(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    kept = Kept(path, None)
    kept.keep('circuit = "a"\n')
    path.unlink()
    assert not kept.changed_elsewhere
    kept.keep('circuit = "a"\n')
    assert path.read_text() == 'circuit = "a"\n'


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_write_that_fails_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    path = tmp_path / "case.toml"
    path.write_text("old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, failing, full)
    with pytest.raises(OSError, match="No space"):
        replace_file(path, b"new and longer")
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["case.toml"]


def test_the_new_content_is_on_the_disk_before_it_takes_the_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    for name in ("fsync", "replace"):
        real = getattr(os, name)
        monkeypatch.setattr(os, name, lambda *given, real=real, name=name: (order.append(name), real(*given)))
    replace_file(tmp_path / "case.toml", b"x")
    assert order == ["fsync", "replace", "fsync"]


def test_permissions_and_links_stay(tmp_path: Path) -> None:
    real = tmp_path / "real.toml"
    real.write_text("old")
    real.chmod(0o640)
    link = tmp_path / "link.toml"
    link.symlink_to(real)
    replace_file(link, b"new")
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_a_new_file_has_the_usual_permissions(tmp_path: Path) -> None:
    usual = tmp_path / "usual"
    usual.touch()
    replace_file(tmp_path / "case.toml", b"x")
    assert (tmp_path / "case.toml").stat().st_mode == usual.stat().st_mode
