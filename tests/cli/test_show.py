"""``gaugesim show CASE.toml --page FILE.html``: the page is written, and nothing else."""

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def case(repository: Path, tmp_path: Path) -> Path:
    file = tmp_path / "case.toml"
    file.write_bytes((repository / "netlists" / "cases" / "stuck_at_half.toml").read_bytes())
    return file


def test_it_writes_one_page(ask: Any, case: Path, tmp_path: Path) -> None:
    page = tmp_path / "out.html"
    answer = ask("show", str(case), "--page", str(page))
    assert answer == {"page": str(page), "bytes": page.stat().st_size, "history": None}
    assert 100_000 < answer["bytes"] < 1_000_000
    text = page.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert "temp_opposed_coil" in text
    assert sorted(file.name for file in tmp_path.iterdir()) == ["case.toml", "out.html"]


def test_a_person_gets_nothing_on_standard_output(tell: Any, case: Path, tmp_path: Path) -> None:
    assert tell("show", str(case), "--page", str(tmp_path / "out.html")) == ""


def test_the_case_is_never_written_over(fail: Any, case: Path) -> None:
    before = case.read_bytes()
    status, line = fail("show", str(case), "--page", str(case))
    assert status == 2
    assert "is the case file itself" in line
    assert case.read_bytes() == before


def test_a_folder_that_is_not_there(fail: Any, case: Path, tmp_path: Path) -> None:
    status, line = fail("show", str(case), "--page", str(tmp_path / "nowhere" / "out.html"))
    assert status == 2
    assert "nowhere" in line


def test_a_wrong_case_writes_no_page(fail: Any, case: Path, tmp_path: Path) -> None:
    case.write_text('circuit = "temp_opposed_coil"\n[[seen]]\nneedle = "haf"\n')
    status, line = fail("show", str(case), "--page", str(tmp_path / "out.html"))
    assert status == 2
    assert "needle: no word is called 'haf'; did you mean half" in line
    assert not (tmp_path / "out.html").exists()
