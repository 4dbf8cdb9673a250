"""The markers of conftest.py, tried in a pytest of their own."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

SAMPLE = """
import pytest

@pytest.mark.ngspice
def test_needs_the_library():
    pass

def test_needs_nothing():
    pass
"""


@pytest.fixture
def project(tmp_path: Path, repository: Path) -> Path:
    tests = tmp_path / "tests"
    tests.mkdir()
    for name in ("conftest.py", "requirements.py"):
        shutil.copy(repository / "tests" / name, tests)
    (tests / "test_sample.py").write_text(SAMPLE)
    (tmp_path / "pytest.ini").write_text("[pytest]\npythonpath = tests\naddopts = --strict-markers\n")
    return tmp_path


def run(project: Path, **environment: str) -> tuple[int, list[str]]:
    inherited = {key: value for key, value in os.environ.items() if not key.startswith("GAUGESIM_")}
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider"],
        cwd=project,
        env=inherited | environment,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, (done.stdout + done.stderr).strip().splitlines()


def library(project: Path) -> str:
    """A file where the library should be; nothing in the sample loads it."""
    path = project / "libngspice.so.0"
    path.touch()
    return str(path)


def test_a_missing_library_skips_and_the_last_line_says_so(project: Path) -> None:
    status, lines = run(project, GAUGESIM_NGSPICE="nowhere/libngspice.so")
    assert status == 0
    assert "1 passed, 1 skipped" in lines[-2]
    assert lines[-1] == (
        "NOT TESTED: 1 test skipped, ngspice is missing: GAUGESIM_NGSPICE: there is no ngspice library at "
        "'nowhere/libngspice.so'; name the file of the shared library, or leave the variable unset"
    )


def test_a_missing_library_that_is_required_stops_the_run(project: Path) -> None:
    status, lines = run(project, GAUGESIM_NGSPICE="nowhere/libngspice.so", GAUGESIM_REQUIRE="ngspice")
    assert status == pytest.ExitCode.USAGE_ERROR
    assert lines[-1].startswith("ERROR: GAUGESIM_REQUIRE asks for ngspice, which is missing here: ")


def test_a_library_that_is_there_is_used(project: Path) -> None:
    status, lines = run(project, GAUGESIM_NGSPICE=library(project), GAUGESIM_REQUIRE="ngspice")
    assert status == 0
    assert "2 passed" in lines[-1]


def test_a_misspelt_requirement_is_refused(project: Path) -> None:
    status, lines = run(project, GAUGESIM_REQUIRE="ngspise")
    assert status == pytest.ExitCode.USAGE_ERROR
    assert lines[-1] == ("ERROR: GAUGESIM_REQUIRE: no requirement is called 'ngspise'; did you mean ngspice?")


def test_a_missing_browser_that_is_required_stops_the_run(project: Path) -> None:
    status, lines = run(project, PATH=str(project), GAUGESIM_REQUIRE="browser")
    assert status == pytest.ExitCode.USAGE_ERROR
    assert "browser, which is missing here: chromium and chromedriver not found" in lines[-1]
