"""What the README shows is what one sees: its commands are run and its sessions compared line by line."""

import contextlib
import doctest
import io
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from gaugesim.cli import main

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def sessions() -> list[tuple[str, str]]:
    """Commands of the console blocks, each with what is shown below it."""
    found = []
    for block in re.findall(r"```console\n(.*?)```", README, re.DOTALL):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, _, shown = part.partition("\n")
            found.append((command.strip(), shown))
    return found


def test_there_are_sessions_to_compare():
    assert len(sessions()) >= 4


@pytest.mark.parametrize(("command", "shown"), sessions(), ids=lambda value: value[:60].strip())
def test_a_session_is_as_shown(command, shown, monkeypatch):
    program, *words = shlex.split(command)
    assert program == "gaugesim"
    monkeypatch.chdir(ROOT)
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        status = main(words)
    assert status == 0
    if shown.strip():
        assert printed.getvalue().splitlines() == shown.splitlines()


def test_the_notebook_example_runs():
    blocks = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    assert blocks
    for number, block in enumerate(blocks):
        test = doctest.DocTestParser().get_doctest(block, {}, f"README block {number}", "README.md", 0)
        assert test.examples
        outcome = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(test)
        assert outcome.failed == 0


def test_the_case_shown_is_the_shipped_one():
    shown = re.search(r"```toml\n(.*?)```", README, re.DOTALL)
    assert shown
    assert shown.group(1) == (ROOT / "netlists/cases/cured_for_a_week.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("fragment", ["pip install -q .", "bash tests/run"])
def test_the_two_commands_stand_there(fragment):
    assert fragment in README


def test_the_main_command_works_as_a_real_process(tmp_path):
    """The last part of the first command; its installation is tested with the package."""
    command = re.search(r"\.venv/bin/gaugesim (diagnose \S+)", README)
    assert command
    words = [str(ROOT / word) if "/" in word else word for word in command.group(1).split()]
    environment = {**os.environ, "GAUGESIM_NETLISTS": ""}
    run = [sys.executable, "-m", "gaugesim", *words]
    done = subprocess.run(run, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "nut on stud B (bias) is loose" in done.stdout


def test_links_lead_somewhere():
    links = re.findall(r"\]\(([^)#]+)\)", README)
    assert links
    for link in links:
        assert link.startswith("http") or (ROOT / link).exists(), link
