"""What the command writes: over nothing unless it is told, and what was there outlives a full disk."""

import errno
import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from gaugesim.cli import main

CASES = Path(__file__).parents[2] / "netlists" / "cases"
CURE = '\n[[replaced]]\npart = "stud_bias"\nresult = "cured"\n'


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "case.toml"
    path.write_text((CASES / "stuck_at_half.toml").read_text() + CURE)
    return path


def words_of(writer: str, case: Path, target: Path) -> tuple[str, ...]:
    return {
        "page": ("show", str(case), "--page", str(target)),
        "save": ("show", "temp_two_coil", "--save", str(target)),
        "keep": ("diagnose", str(case), "--keep", str(target.parent)),
        "copy": ("circuits", "--copy", "temp_two_coil", target.stem, "--to", str(target.parent)),
    }[writer]


NAMES = {"page": "job.html", "save": "bench.svg", "keep": "case.toml", "copy": "mine.cir"}
REPLACING = ("page", "save")


@pytest.mark.parametrize("writer", NAMES)
def test_a_full_disk(
    writer: str,
    case: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    target = folder / NAMES[writer]
    words = words_of(writer, case, target)
    more = ()
    if writer in REPLACING:
        target.write_text("mine")
        assert main(list(words)) == 2
        assert capsys.readouterr().err.splitlines()[-1].startswith(f"gaugesim: {target}: is there already; ")
        more = ("--replace",)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    assert main([*words, *more]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    last = err.splitlines()[-1]
    assert "cannot be written (No space left on device); what was there is there still" in last
    assert str(folder) in last
    left = [path for path in folder.rglob("*") if path.is_file()]
    assert left == ([target] if more else [])
    assert not more or target.read_text() == "mine"
    monkeypatch.undo()
    assert main([*words, *more]) == 0
    assert target.stat().st_size > 100


@pytest.mark.parametrize("command", ["circuits", "conversation"])
def test_a_broken_circuit_keeps_nobody_from_the_others(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from gaugesim.cli.conversation import CircuitSource

    assert main(["circuits", "--copy", "temp_two_coil", "mine", "--to", str(tmp_path)]) == 0
    assert main(["circuits", "--copy", "temp_bridge", "half", "--to", str(tmp_path)]) == 0
    sheet = tmp_path / "half.toml"
    sheet.write_text(sheet.read_text()[:700])
    monkeypatch.setenv("GAUGESIM_NETLISTS", str(tmp_path))
    capsys.readouterr()
    if command == "circuits":
        assert main(["circuits", "--json"]) == 0
        out, err = capsys.readouterr()
        names = [circuit["id"] for circuit in json.loads(out)["circuits"]]
        assert "half" not in names
        assert {"mine", "temp_bridge"} <= set(names)
    else:
        CircuitSource(None, None).begin(tmp_path / "new.toml")
        err = capsys.readouterr().err
    assert err.startswith(f"gaugesim: circuit half is left out: {sheet}: is not TOML")
    assert err.count("\n") == 1


def test_records_that_cannot_be_read_are_told(
    case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "finished"
    folder.mkdir()
    shutil.copy(case, folder / "good.toml")
    (folder / "empty.toml").touch()
    words: list[Any] = ["diagnose", str(case), "--history", str(folder), "--json"]
    assert main(words) == 0
    out, err = capsys.readouterr()
    reason = "empty.toml: circuit: is missing"
    assert err.startswith(f"gaugesim: a record is not counted: {reason}")
    assert json.loads(out)["history"]["unreadable"][0].startswith(reason)
