"""A circuit read a second time is the first one, until one of its files changes."""

import shutil
from pathlib import Path

import pytest

from gaugesim.circuit import find
from gaugesim.errors import SheetError


@pytest.fixture
def folder(tmp_path: Path, repository: Path) -> Path:
    return Path(shutil.copytree(repository / "netlists", tmp_path / "netlists"))


def test_it_is_the_same_one(folder: Path) -> None:
    assert find("temp_bridge", folder) is find("temp_bridge", folder)
    assert find("temp_bridge", folder) is not find("temp_bridge")


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("temp_bridge.cir", "fuse=0.01", "fuse=0.02"),
        ("temp_bridge.toml", "bench_volts = 12", "bench_volts = 11"),
        ("kinds/parts.toml", "repair_minutes = 40", "repair_minutes = 41"),
        ("senders/ntc.cir", "* thermistor", "* Thermistor"),
    ],
)
def test_whatever_changes_is_seen(folder: Path, file: str, old: str, new: str) -> None:
    before = find("temp_bridge", folder)
    text = (folder / file).read_text()
    assert old in text
    (folder / file).write_text(text.replace(old, new))
    after = find("temp_bridge", folder)
    assert after is not before
    assert (after.netlist.lines, after.sheet) != (before.netlist.lines, before.sheet)


def test_a_file_that_is_gone_is_missed(folder: Path) -> None:
    find("temp_bridge", folder)
    (folder / "kinds" / "parts.toml").unlink()
    for _ in range(2):
        with pytest.raises(SheetError, match="is not there"):
            find("temp_bridge", folder)
