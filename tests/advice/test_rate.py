"""Prices of parts turned into minutes by what an hour of work costs, and what swapping parts would take."""

import json
from pathlib import Path

import numpy as np
import pytest

from gaugesim import case as cases
from gaugesim import circuit as circuits
from gaugesim.advice.jobs import Job, job
from gaugesim.advice.next_step import rate_per_hour, swapping_minutes
from gaugesim.cli import main
from gaugesim.diagnosis import diagnose
from gaugesim.errors import SheetError
from gaugesim.planning.comparison import compare
from gaugesim.template import copy_circuit

CASE = Path(__file__).parents[2] / "netlists/cases/stuck_at_half.toml"
FAST = 0.05  # states reached less often are finished by a simple rule


def parts_price(work: Job, name: str) -> float:
    return work.circuit.part(name, work.diagnosis.gauge).price


def test_a_price_counts_as_minutes_of_work(workboat: Job) -> None:
    paid = job(workboat.diagnosis, 30.0)
    assert rate_per_hour(workboat) is None
    assert rate_per_hour(paid) == pytest.approx(30)
    assert np.array_equal(paid.problem.repair_minutes, workboat.problem.repair_minutes)
    extra = paid.problem.repair_cost - workboat.problem.repair_cost
    named = dict(zip(paid.repairs, extra, strict=True))
    # at 30 an hour each unit of money is two minutes
    assert named["stud_bias"] == pytest.approx(2 * parts_price(paid, "stud_bias"))
    assert named["gauge"] >= 2 * parts_price(paid, "movement") > 0
    assert swapping_minutes(paid) > swapping_minutes(workboat)


def test_prices_count_the_less_the_dearer_the_work(workboat: Job) -> None:
    minutes = [swapping_minutes(job(workboat.diagnosis, rate)) for rate in (10.0, 60.0, 600.0, 1e9)]
    assert minutes == sorted(minutes, reverse=True)
    assert minutes[-1] == pytest.approx(swapping_minutes(workboat), abs=1e-4)


def test_the_plan_is_never_worse_than_swapping_parts(workboat: Job, fire_pump: Job) -> None:
    for work in (workboat, fire_pump):
        found = compare(work.problem, None, FAST)
        assert found.swap_parts == pytest.approx(swapping_minutes(work))
        assert found.unavoidable < found.least <= found.planner < found.swap_parts


@pytest.mark.parametrize(("written", "rate"), [("rate_per_hour = 45\n", 45.0), ("", None)])
def test_a_sheet_may_carry_the_rate(written: str, rate: float | None, tmp_path: Path) -> None:
    circuit = own_circuit(tmp_path, written)
    case = cases.parse({"circuit": "mine"}, tmp_path / "case.toml")
    found = diagnose(case, (circuit,))
    assert rate_per_hour(job(found)) == (None if rate is None else pytest.approx(rate))
    assert rate_per_hour(job(found, 90.0)) == pytest.approx(90)


@pytest.mark.parametrize("wrong", ['"much"', "0", "-5", "true"])
def test_a_rate_that_is_none_is_refused_by_its_key(wrong: str, tmp_path: Path) -> None:
    with pytest.raises(SheetError, match="rate_per_hour: is"):
        own_circuit(tmp_path, f"rate_per_hour = {wrong}\n")


def own_circuit(folder: Path, first: str) -> circuits.Circuit:
    copy_circuit(circuits.find("temp_two_coil"), "mine", folder)
    sheet = folder / "mine.toml"
    sheet.write_text(first + sheet.read_text(encoding="utf-8"), encoding="utf-8")
    return circuits.find("mine", folder)


def test_the_command_takes_a_rate_and_shows_it(capsys: pytest.CaptureFixture[str]) -> None:
    told = []
    for words in ([], ["--rate", "60"]):
        assert main(["plan", str(CASE), "--json", *words]) == 0
        told.append(json.loads(capsys.readouterr().out))
    assert [each["rate_per_hour"] for each in told] == [None, pytest.approx(60)]
    assert told[1]["expected_minutes"] > told[0]["expected_minutes"]
    assert told[1]["swap_parts_minutes"] > told[0]["swap_parts_minutes"] > told[0]["lower_bound_minutes"]
    assert main(["plan", str(CASE), "--rate", "60"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "Prices of parts are counted in as minutes, at 60 for an hour of work." in shown
    assert f"Swapping parts in order of likelihood: {told[1]['swap_parts_minutes']:.0f}." in shown


@pytest.mark.parametrize("wrong", ["0", "-3", "much", "inf", "nan"])
def test_a_rate_on_the_command_line_that_is_none_is_refused(
    wrong: str, capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        status = main(["plan", str(CASE), f"--rate={wrong}"])
    except SystemExit as ended:
        status = int(ended.code or 0)
    assert status == 2
    assert "give what an hour of work costs, as 60" in capsys.readouterr().err
