"""The command, run in this process."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gaugesim.cli import main

Run = Callable[..., Any]


def refuse(constant: str) -> None:
    raise AssertionError(f"{constant} is no JSON")


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command with --json, which must do, and returns what it printed."""

    def run(*words: str) -> Any:
        status = main([*words, "--json"])
        out, err = capsys.readouterr()
        assert status == 0, err
        return json.loads(out, parse_constant=refuse)

    return run


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command for a person, which must do, and returns what it printed."""

    def run(*words: str) -> str:
        status = main(list(words))
        out, err = capsys.readouterr()
        assert status == 0, err
        return out

    return run


@pytest.fixture
def fail(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command that must not do; returns its status and its one line on standard error."""

    def run(*words: str) -> tuple[int, str]:
        status = main(list(words))
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("gaugesim: ")
        assert err.endswith("\n")
        assert err.count("\n") == 1, err
        return status, err.removeprefix("gaugesim: ").strip()

    return run


@pytest.fixture
def netlists(tmp_path: Path, repository: Path) -> Path:
    """A copy of the shipped circuits, to be spoilt."""
    import shutil

    return Path(shutil.copytree(repository / "netlists", tmp_path / "netlists"))
