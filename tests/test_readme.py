"""What the README shows is what one sees: its commands are run and its sessions compared line by line."""

import doctest
import os
import re
import subprocess
import sys
import tomllib

import pytest
from outputs import CASE, ROOT, printed, sessions
from outputs import README as FILE

from gaugesim.case import parse
from gaugesim.diagnosis import candidates
from gaugesim.fitting import parse_points

README = FILE.read_text(encoding="utf-8")


def test_there_are_sessions_to_compare():
    assert len(sessions(README)) >= 4


@pytest.mark.parametrize(("command", "shown"), sessions(README), ids=lambda value: value[:60].strip())
def test_a_session_is_as_shown(command, shown):
    """Where it is not any more, ``python tests/outputs.py`` puts there what the program prints."""
    now = printed(command)
    if shown.strip():
        assert now.splitlines() == shown.splitlines()


BLOCKS = re.findall(r"```python\n(.*?)```", README, re.DOTALL)


def test_a_sweep_a_monte_carlo_and_a_hand_over_are_shown():
    shown = "".join(BLOCKS)
    assert all(f"gs.{name}(" in shown for name in ("see", "plan", "sweep", "monte_carlo", "find_circuit"))


@pytest.mark.parametrize(
    "block",
    [pytest.param(block, marks=[pytest.mark.ngspice] * ("to_pyspice" in block)) for block in BLOCKS],
    ids=lambda block: block.splitlines()[1][4:60],
)
def test_an_example_runs(block, monkeypatch):
    monkeypatch.chdir(ROOT)
    test = doctest.DocTestParser().get_doctest(block, {}, "README block", "README.md", 0)
    assert test.examples
    assert doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(test).failed == 0


def test_the_case_shown_is_the_shipped_one():
    shown = re.search(r"```toml\n(.*?)```", README, re.DOTALL)
    assert shown
    assert shown.group(1) == CASE.read_text(encoding="utf-8")


def test_the_vehicle_and_the_points_shown_are_read():
    *_, vehicle, points = re.findall(r"```toml\n(.*?)```", README, re.DOTALL)
    case = parse(tomllib.loads(vehicle))
    chosen = candidates(case)
    assert chosen
    assert all(one.sheet.gauges.keys() == {"temperature", "fuel"} for one in chosen)
    assert parse_points(tomllib.loads(points)).needle


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
    assert "ground pin of the engine harness plug makes no contact" in " ".join(done.stdout.split())


def test_links_lead_somewhere():
    links = re.findall(r"\]\(([^)#]+)\)", README)
    assert links
    for link in links:
        assert link.startswith("http") or (ROOT / link).exists(), link
