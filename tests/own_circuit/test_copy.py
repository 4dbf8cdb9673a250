"""A circuit of one's own begun as a copy: complete, found, equal to the original, nothing overwritten."""

import json
from pathlib import Path

import pytest

from gaugesim import circuit as circuits
from gaugesim.cli import main
from gaugesim.errors import CaseError
from gaugesim.paths import shipped_netlists
from gaugesim.reading import Situation, respond
from gaugesim.shortcomings import review
from gaugesim.template import copy_circuit

SHIPPED = sorted(path.stem for path in shipped_netlists().glob("*.cir"))


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(list(words))
    out, err = capsys.readouterr()
    return status, out, err


@pytest.mark.parametrize("name", SHIPPED)
def test_a_copy_does_what_the_original_does(name: str, tmp_path: Path) -> None:
    original = circuits.find(name)
    copied = copy_circuit(original, "mine", tmp_path)
    mine = circuits.find("mine", tmp_path)
    assert mine.netlist.path == copied.netlist
    # nothing is read from outside the folder
    assert all(path.resolve().is_relative_to(tmp_path.resolve()) for path in mine.netlist.files)
    for state in original.sheet.states:
        expected = respond(Situation.of(original, state)).positions
        for gauge, positions in respond(Situation.of(mine, state)).positions.items():
            assert positions == pytest.approx(expected[gauge], nan_ok=True)


# the originals are reviewed beside this file
@pytest.mark.parametrize("name", ["temp_bridge", "cluster_air_core"])
def test_a_fresh_copy_does_not_say_yet_what_it_is(name: str, tmp_path: Path) -> None:
    copy_circuit(circuits.find(name), "mine", tmp_path)
    found = review(circuits.find("mine", tmp_path))
    assert [(one.subject, one.words) for one in found] == [
        ("words", f"words are still those of {name}: say what this circuit is")
    ]


def test_a_copy_says_what_to_change(tmp_path: Path) -> None:
    copied = copy_circuit(circuits.find("temp_two_coil"), "mine", tmp_path)
    netlist = copied.netlist.read_text(encoding="utf-8").splitlines()
    assert netlist[0].endswith("(copy of temp_two_coil)")
    assert netlist[1] == "* Begun as a copy of temp_two_coil. What to change:"
    assert any("gaugesim circuits mine.cir" in line for line in netlist[:14])
    assert copied.sheet.read_text(encoding="utf-8").startswith(
        "# Sheet of mine.cir, begun as a copy of temp_two_coil"
    )


def test_the_command_copies_and_the_copy_is_found(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "own"
    words = ("circuits", "--copy", "fuel_four_coil", "pump", "--to", str(folder), "--json")
    status, out, err = asked(capsys, *words)
    assert (status, err) == (0, "")
    assert json.loads(out)["files"][:2] == [str(folder / "pump.cir"), str(folder / "pump.toml")]
    status, out, _ = asked(capsys, "--netlists", str(folder), "circuits", "--json")
    assert status == 0
    assert "pump" in [one["id"] for one in json.loads(out)["circuits"]]
    monkeypatch.setenv("GAUGESIM_NETLISTS", str(folder))
    status, out, _ = asked(capsys, "read", "pump", "--json")
    assert status == 0
    assert json.loads(out)["circuit"] == "pump"


def test_the_folder_of_netlists_takes_the_copy_where_no_other_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert asked(capsys, "--netlists", str(tmp_path), "circuits", "--copy", "temp_bridge", "mine")[0] == 0
    assert (tmp_path / "mine.cir").is_file()
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    assert asked(capsys, "circuits", "--copy", "temp_bridge", "mine")[0] == 0
    assert (here / "mine.toml").is_file()
    # and a copy of one's own circuit is a circuit of one's own
    words = ("--netlists", str(here), "circuits", "--copy", "mine", "other", "--to", str(tmp_path / "far"))
    assert asked(capsys, *words)[0] == 0
    assert circuits.find("other", tmp_path / "far").id == "other"


@pytest.mark.parametrize("there", ["mine.cir", "mine.toml", "senders/ntc.cir", "kinds/parts.toml"])
def test_nothing_is_overwritten(there: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / there
    path.parent.mkdir(exist_ok=True)
    path.write_text("my own work")
    status, out, err = asked(
        capsys, "circuits", "--copy", "temp_two_coil", "mine", "--to", str(tmp_path), "--json"
    )
    assert (status, out) == (2, "")
    assert err.count("\n") == 1
    assert str(path) in err
    assert "is there already" in err
    # nothing else was begun either
    assert [one for one in tmp_path.rglob("*") if one.is_file()] == [path]
    assert path.read_text() == "my own work"


def test_several_copies_share_their_includes(tmp_path: Path) -> None:
    for name in SHIPPED:
        copy_circuit(circuits.find(name), f"my_{name}", tmp_path)
    assert {f"my_{name}" for name in SHIPPED} <= set(circuits.available(tmp_path))


@pytest.mark.parametrize("name", ["", "My", "a-b", "../up", "a/b", "1st", "a.cir"])
def test_a_name_that_will_not_do(name: str, tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="small letters, digits and _"):
        copy_circuit(circuits.find("temp_two_coil"), name, tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("circuits", "--copy", "temp_two_coi", "mine"), "did you mean temp_two_coil"),
        (("circuits", "--copy", "temp_two_coil"), "expected 2 arguments"),
        (("circuits", "temp_bridge", "--copy", "temp_two_coil", "mine"), "--copy stands alone"),
    ],
)
def test_bad_input_is_one_line(
    words: tuple[str, ...],
    expected: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    status, out, err = asked(capsys, *words)
    assert (status, out) == (2, "")
    assert err.count("\n") == 1
    assert expected in err
    assert list(tmp_path.iterdir()) == []
