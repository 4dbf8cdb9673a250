"""The options for past repairs and finished cases: what they change is shown, nothing is overwritten."""

import json
import re
from pathlib import Path

import pytest

from gaugesim.circuit import find
from gaugesim.cli import main
from gaugesim.cli.conversation import CircuitSource, converse
from gaugesim.scenario.fault import all_faults, find_fault

CASE = Path(__file__).parents[2] / "netlists/cases/stuck_at_half.toml"
REPAIRS = """
[[history]]
part = "stud_bias"
count = 3
[[history]]
part = "movement"
mode = "stuck"
count = 30
[[history]]
part = "regulator"
count = 2
"""
CURE = '\n[[replaced]]\npart = "stud_bias"\nresult = "cured"\n'


def told(capsys: pytest.CaptureFixture[str], *words: str, status: int = 0) -> tuple[str, str]:
    assert main(list(words)) == status
    heard = capsys.readouterr()
    return heard.out, heard.err


@pytest.fixture
def repairs(tmp_path: Path) -> Path:
    path = tmp_path / "repairs.toml"
    path.write_text(REPAIRS)
    return path


@pytest.fixture
def finished(tmp_path: Path) -> Path:
    path = tmp_path / "blue_boat.toml"
    path.write_text(CASE.read_text() + CURE)
    return path


def test_diagnose_learns_and_says_so(repairs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = json.loads(told(capsys, "diagnose", str(CASE), "--json")[0])
    after = json.loads(told(capsys, "diagnose", str(CASE), "--history", str(repairs), "--json")[0])
    assert before["history"] is None
    assert (before["ranking"][0]["fault"], after["ranking"][0]["fault"]) == (
        "stud_bias=open",
        "movement=stuck",
    )
    history = after["history"]
    assert (history["source"], history["repairs"], history["elsewhere"]) == ("repairs.toml", 33.0, 2.0)
    priors = {entry["fault"]: entry for entry in history["priors"]}
    assert history["priors"][0]["fault"] == "movement=stuck"
    # by hand: thirty of the sheet's own, thirty-three counted here
    stuck = priors["movement=stuck"]
    assert stuck["after"] == pytest.approx((30 * stuck["before"] + 30) / 63, rel=1e-9)
    fuse = priors["fuse=open"]
    assert fuse["after"] == pytest.approx(30 * fuse["before"] / 63, rel=1e-9)


@pytest.mark.parametrize("command", ["diagnose", "plan"])
def test_a_person_is_told_both_shares(
    command: str, repairs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = " ".join(told(capsys, command, str(CASE), "--history", str(repairs))[0].split())
    assert (
        "(repairs.toml: 33 repairs, and 2 of parts that this circuit has not; the sheet's own shares" in text
    )
    shares = re.search(r"(\d+) % needle of the gauge is stuck, (<?\d+) % by the sheet alone", text)
    assert shares is not None
    # thirty counted among thirty of the sheet's and thirty-three counted: 30/63 and what the sheet has of it
    assert int(shares[1]) in (48, 49)
    stuck = find_fault(circuit := find("temp_opposed_coil"), "movement=stuck")
    assert int(shares[2]) == round(100 * stuck.weight / sum(fault.weight for fault in all_faults(circuit)))


def test_plan_of_a_bare_circuit_learns_too(repairs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["plan", "temp_opposed_coil", "--history", str(repairs), "--json"]
    assert json.loads(told(capsys, *words)[0])["history"]["repairs"] == 33.0


def test_a_finished_case_is_kept_and_learnt_from(
    finished: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "finished"
    out, err = told(capsys, "diagnose", str(finished), "--keep", str(folder), "--json")
    assert json.loads(out)["ranking"]
    kept = folder / "blue_boat.toml"
    assert err == f"gaugesim: kept as {kept}\n"
    assert kept.read_bytes() == finished.read_bytes()
    told(capsys, "diagnose", str(finished), "--keep", str(folder))  # once more does no harm
    history = json.loads(told(capsys, "diagnose", str(CASE), "--history", str(folder), "--json")[0])[
        "history"
    ]
    assert (history["source"], history["elsewhere"]) == ("finished", 0.0)
    assert history["repairs"] == pytest.approx(1.0, abs=0.05)
    assert history["priors"][0]["fault"].startswith("stud_bias=")


def test_a_case_that_goes_on_is_not_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "finished"
    out, err = told(capsys, "diagnose", str(CASE), "--keep", str(folder), status=2)
    assert out == ""
    assert "stuck_at_half.toml: the case has not ended with a cure" in err
    assert not folder.exists()


def test_without_a_case_there_is_nothing_to_keep(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, err = told(capsys, "diagnose", "--keep", str(tmp_path), status=2)
    assert "--keep asks nothing; name a case file" in err


def test_the_conversation_learns_and_says_so_once(
    repairs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(CASE.read_bytes())
    heard = []
    for history in (None, repairs):
        typed = iter(["", "what?", "q"])
        assert converse(path, None, lambda _, lines=typed: next(lines), history) == 0
        heard.append(capsys.readouterr().out)
    alone, learnt = heard
    stud, movement = "nut on stud B", "needle of the gauge"
    first = [min((stud, movement), key=text.index) for text in heard]
    assert first == [stud, movement]
    assert "past repairs" not in alone
    assert learnt.count("What past repairs change") == 1
    assert f"--ask --history {repairs}" in " ".join(learnt.split())
    # what was told stays as it was; only what was passed over is kept beside it
    told_before, _, kept = path.read_text().partition("\n[conversation]\n")
    assert told_before == CASE.read_text()
    assert kept.startswith("passed = [")


def test_a_new_conversation_learns_too(repairs: Path, tmp_path: Path) -> None:
    state, effects = CircuitSource(None, repairs).begin(tmp_path / "new.toml")
    before, _ = CircuitSource(None, None).begin(tmp_path / "new.toml")
    assert len(effects) == len(state.at.circuits) == len(before.at.circuits)
    shares = [
        {fault.id: fault.weight for fault in all_faults(circuit)}
        for circuit in (both.at.circuits[0] for both in (before, state))
    ]
    assert shares[0].keys() == shares[1].keys()
    assert shares[0] != shares[1]


def test_the_page_learns_too(repairs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "job.html"
    words = ["show", str(CASE), "--page", str(page), "--replace", "--history", str(repairs)]
    answer = json.loads(told(capsys, *words, "--json")[0])
    assert answer["history"]["source"] == "repairs.toml"
    learnt = page.read_text()
    _, err = told(capsys, *words)
    assert "with the past repairs of repairs.toml counted in" in err
    told(capsys, *words[:5])
    assert page.read_text() != learnt
    _, err = told(capsys, "show", "temp_two_coil", "--history", str(repairs), status=2)
    assert "--history is for a case file, not for temp_two_coil" in err


def test_mistakes_are_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "repairs.toml"
    path.write_text(REPAIRS.replace("stud_bias", "stud_bais"))
    out, err = told(capsys, "plan", str(CASE), "--history", str(path), status=2)
    assert out == ""
    assert err.startswith(
        "gaugesim: repairs.toml: history[1].part: no part is called 'stud_bais'; did you mean"
    )
    assert err.count("\n") == 1
    empty = tmp_path / "empty"
    empty.mkdir()
    _, err = told(capsys, "diagnose", str(CASE), "--history", str(empty), status=2)
    assert "none of its cases has ended with a cure" in err
