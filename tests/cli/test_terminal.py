"""What strangers' files say is printed and does nothing; what nobody foresaw is one line."""

import io
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from gaugesim.cli import main

CLEAR, TURNED, NEXT_LINE = "\x1b[2J", "\N{RIGHT-TO-LEFT OVERRIDE}", "\x85"


def test_nothing_in_a_sheet_or_a_name_acts_on_the_terminal(
    netlists: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = netlists / "temp_two_coil.toml"
    old = sheet.read_text()
    assert old.startswith('words = "') or '\nwords = "' in old
    sheet.write_text(old.replace('words = "', 'words = "\\u001b[2J\\u202e\\u0085 ', 1))
    assert main(["--netlists", str(netlists), "circuits"]) == 0
    out, _ = capsys.readouterr()
    assert "\N{REPLACEMENT CHARACTER}[2J" in out
    assert main(["circuits", f"{CLEAR}{TURNED}"]) == 2
    out, err = capsys.readouterr()
    for text in (out, err):
        assert not {CLEAR[0], TURNED, NEXT_LINE} & set(text)
    assert "\N{REPLACEMENT CHARACTER}[2J" in err


def test_an_error_repeats_what_is_wrong_but_not_all_of_it(fail: Any, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(f'circuit = "{"a" * 600_000}"\n')
    status, line = fail("diagnose", str(path))
    assert status == 2
    assert "case.toml" in line
    assert len(line) < 700


def test_a_terminal_without_the_signs(netlists: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = netlists / "temp_two_coil.toml"
    sheet.write_text(sheet.read_text().replace('words = "', 'words = "caf\u00e9 \u00b1 ', 1))
    printed = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(printed, encoding="ascii"))
    assert main(["--netlists", str(netlists), "circuits"]) == 0
    assert b"caf? ?" in printed.getvalue()


@pytest.mark.parametrize("closed", ["stdin", "stdout", "stderr"])
def test_a_stream_that_is_closed(closed: str, tmp_path: Path) -> None:
    number = {"stdin": 0, "stdout": 1, "stderr": 2}[closed]
    words = f"{sys.executable} -m gaugesim circuits --json {number}{'<' if number == 0 else '>'}&-"
    done = subprocess.run(["sh", "-c", words], capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert done.stderr == ""
    assert done.stdout.startswith("{") is (closed != "stdout")


def test_a_full_disk_behind_standard_output() -> None:
    done = subprocess.run(
        ["sh", "-c", f"{sys.executable} -m gaugesim circuits > /dev/full"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (2, "gaugesim: standard output: No space left on device\n")


def test_what_nobody_foresaw_is_one_line(
    fail: Any, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: Any) -> None:
        raise ZeroDivisionError(CLEAR + 2000 * "deep ")

    monkeypatch.setattr("gaugesim.cli.read.circuit_of", fails)
    status, line = fail("read", "temp_two_coil")
    assert status == 3
    assert line.startswith("this was not foreseen: ZeroDivisionError at test_terminal.py:")
    assert line.endswith("GAUGESIM_TRACE=1 before the command shows how it came to it")
    assert len(line) < 300
    assert CLEAR not in line
    monkeypatch.setenv("GAUGESIM_TRACE", "1")
    assert main(["read", "temp_two_coil"]) == 3
    assert "Traceback" in capsys.readouterr().err
