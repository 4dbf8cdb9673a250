"""What ``import gaugesim as gs`` offers: quick to import, the answers of the commands, fit to be shown."""

import dataclasses
import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest
import tomlkit
from markupsafe import escape

import gaugesim as gs
from gaugesim.cli import main
from gaugesim.errors import GaugesimError, MissingPackageError
from gaugesim.notebook import PAGE_ROWS, Result
from gaugesim.paths import shipped_netlists

CASES = shipped_netlists() / "cases"
# the file of points is written where the command looks for it
POINTS = {
    "gauge": "fuel",
    "studs": 2,
    "needle": [{"ohms": 10, "position": 1}, {"ohms": 33, "position": 0.24}, {"ohms": 73, "position": 0}],
    "coil": [{"between": ["stud_feed", "stud_sender"], "ohms": 20}],
}
# a name, a result of it, and the command that says the same
RESULTS: dict[str, tuple[Any, tuple[str, ...]]] = {
    "circuits": (lambda: gs.circuits(), ("circuits",)),
    "find_circuit": (lambda: gs.find_circuit("temp_bridge"), ()),
    "see": (
        lambda: gs.see("temp_opposed_coil", "key_on_cold", "lamp_on_sender_lead", "stud_bias=high@4"),
        ("read", "temp_opposed_coil", "--state", "key_on_cold", "--check", "lamp_on_sender_lead",
         "--fault", "stud_bias=high@4"),
    ),
    "see at": (
        lambda: gs.see("cluster_bimetal_5v", at=12.0),
        ("read", "cluster_bimetal_5v", "--at", "12"),
    ),
    "sweep": (
        lambda: gs.sweep("boat_panel", "key_on_cold", "sender_lead_volts:fuel"),
        ("sweep", "boat_panel", "--state", "key_on_cold", "--check", "sender_lead_volts:fuel"),
    ),
    "sweep over": (
        lambda: gs.sweep("temp_two_coil", faults="sound", given={"coolant_celsius": [40, 80, 120]}),
        (),
    ),
    "transient": (lambda: gs.transient("cluster_bimetal_5v", seconds=30.0, slosh=0.1, seed=3), ()),
    "fit": (lambda: gs.fit(POINTS), ("fit", "POINTS")),
    "evaluate": (
        lambda: gs.evaluate(["temp_two_coil"], cases=30, plans=0),
        ("evaluate", "temp_two_coil", "--cases", "30", "--plans", "0", "--workers", "1"),
    ),
    "practice": (
        lambda: gs.practice("temp_bridge", seed=3).do("unplug_sender").do("hint").do("give up"),
        ("practice", "temp_bridge", "--seed", "3", "--level", "1", "--do", "unplug_sender", "--do", "hint",
         "--do", "give up"),
    ),
    "diagnose": (lambda: gs.diagnose(CASES / "stuck_at_half.toml"), ("diagnose", "stuck_at_half.toml")),
    "plan": (
        lambda: gs.plan(CASES / "stuck_at_half.toml", rate=60),
        ("plan", "stuck_at_half.toml", "--rate", "60"),
    ),
    "monte_carlo": (lambda: gs.monte_carlo("fuel_four_coil", check="lamp_on_sender_lead", samples=40), ()),
}  # fmt: skip


@pytest.fixture(scope="module")
def results() -> dict[str, Result]:
    return {name: make() for name, (make, _) in RESULTS.items()}


def test_the_import_loads_nothing_but_the_standard_library() -> None:
    code = "import gaugesim, sys; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    ours = {name for name in done.stdout.split() if name.split(".")[0] == "gaugesim"}
    foreign = {name.split(".")[0] for name in done.stdout.split()} - set(sys.stdlib_module_names)
    assert ours == {"gaugesim"}
    # what site packages load by themselves is there without gaugesim too
    bare = subprocess.run(
        [sys.executable, "-c", "import sys; print(*sys.modules)"], capture_output=True, text=True
    )
    assert foreign - {name.split(".")[0] for name in bare.stdout.split()} == {"gaugesim"}


def test_completion_offers_the_names_and_no_other() -> None:
    assert [name for name in dir(gs) if not name.startswith("_")] == gs.__all__
    assert {name.split()[0] for name in RESULTS} <= set(gs.__all__)


@pytest.mark.parametrize("name", gs.__all__)
def test_a_name_is_the_same_whatever_was_imported(name: str) -> None:
    if importlib.util.find_spec(f"gaugesim.{name}"):
        assert isinstance(importlib.import_module(f"gaugesim.{name}"), ModuleType)
    offered = getattr(gs, name)
    assert callable(offered) or name == "plot"


@pytest.mark.parametrize("name", [*gs.__all__, *(f"plot.{name}" for name in gs.plot.__all__)])
def test_its_help_shows_an_example_and_what_it_takes(name: str) -> None:
    offered = gs
    for part in name.split("."):
        offered = getattr(offered, part)
    if name == "plot":
        return
    text = offered.__doc__ or ""
    assert ">>> import gaugesim as gs" in text
    assert f"gs.{name}(" in text
    for parameter in offered.__annotations__.keys() - {"return"}:
        assert parameter in text


def test_a_name_that_is_not_offered() -> None:
    with pytest.raises(AttributeError, match="no attribute 'sea'"):
        _ = gs.sea


def test_what_cannot_wait_comes_first_at_a_prompt_and_in_a_notebook() -> None:
    seen = [{"state": "running_warm", "needle": "low"}, {"engine": "signs_of_heat"}]
    found = gs.diagnose(gs.read_case(circuit="temp_two_coil", seen=seen))
    [danger] = found.first
    assert repr(found).startswith(f"! {danger}\n")
    assert found._repr_html_().startswith(f"<p>{danger}</p><table>")
    assert repr(found).count(danger) == found._repr_html_().count(danger) == 1


@pytest.mark.parametrize("name", RESULTS)
class TestEveryResult:
    def test_is_frozen(self, name: str, results: dict[str, Result]) -> None:
        first = dataclasses.fields(results[name])[0].name
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(results[name], first, None)

    def test_shows_itself_in_a_few_lines(self, name: str, results: dict[str, Result]) -> None:
        shown = repr(results[name]).splitlines()
        lines = [line for line in shown if not line.startswith("! ")]
        assert 2 < len(lines) <= 11
        assert [line.removeprefix("! ") for line in shown if line not in lines] == [*results[name].cautions]
        assert max(map(len, lines[1:])) < 200

    def test_is_a_page_with_its_cautions(self, name: str, results: dict[str, Result]) -> None:
        page = results[name]._repr_html_()
        assert page.count("<tr>") <= PAGE_ROWS + 1
        for text in results[name].cautions:
            assert escape(text) in page

    def test_has_columns_of_one_length(self, name: str, results: dict[str, Result]) -> None:
        columns = results[name].columns
        assert {len(values) for values in columns.values()} == {len(results[name])}
        for column in columns:
            assert results[name][column] is columns[column]
        rows = list(results[name])
        assert len(rows) == len(results[name])
        assert all(repr([row[column] for row in rows]) == repr(list(columns[column])) for column in columns)

    def test_goes_into_a_frame(
        self, name: str, results: dict[str, Result], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setitem(sys.modules, "pandas", SimpleNamespace(DataFrame=lambda columns: columns))
        assert results[name].to_frame() == dict(results[name].columns)
        monkeypatch.setitem(sys.modules, "pandas", None)
        with pytest.raises(MissingPackageError, match=r"needs pandas.*pip install pandas"):
            results[name].to_frame()

    def test_is_plain_data(self, name: str, results: dict[str, Result]) -> None:
        data = results[name].to_dict()
        assert json.loads(json.dumps(data, allow_nan=False)) == data

    def test_says_what_the_command_says(
        self, name: str, results: dict[str, Result], capsys: pytest.CaptureFixture[str], tmp_path: Path
    ) -> None:
        file = tmp_path / "points.toml"
        file.write_text(tomlkit.dumps(POINTS))
        words = [str(file) if word == "POINTS" else word for word in RESULTS[name][1]]
        words = [str(CASES / word) if word.endswith("half.toml") else word for word in words]
        if not words:
            return
        assert main([*words, "--json"]) == 0
        assert json.loads(capsys.readouterr().out) == results[name].to_dict()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: gs.see("temp_tow_coil"), ("read", "temp_tow_coil")),
        (lambda: gs.see("temp_bridge", "warm"), ("read", "temp_bridge", "--state", "warm")),
        (lambda: gs.see("temp_bridge", check="unplug"), ("read", "temp_bridge", "--check", "unplug")),
        (
            lambda: gs.see("temp_bridge", faults="sendr=open"),
            ("read", "temp_bridge", "--fault", "sendr=open"),
        ),
        (lambda: gs.see("temp_bridge", at=-1.0), ("read", "temp_bridge", "--at", "-1")),
        (lambda: gs.sweep("temp_bridge", "warm"), ("sweep", "temp_bridge", "--state", "warm")),
        (lambda: gs.find_circuit("no/such.cir"), ("circuits", "no/such.cir")),
    ],
)
def test_errors_are_in_the_words_of_the_commands(
    call: Any, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(GaugesimError) as raised:
        call()
    assert main(list(words)) == 2
    assert str(raised.value) in capsys.readouterr().err


@pytest.mark.parametrize("name", ["see", "sweep", "monte_carlo", "transient"])
@pytest.mark.parametrize("value", ["hot", None, float("nan"), []])
def test_what_is_given_is_a_number(name: str, value: Any) -> None:
    with pytest.raises(GaugesimError, match=r"given: coolant_celsius: .* is not a number; write for example"):
        getattr(gs, name)("temp_two_coil", given={"coolant_celsius": value})


def test_only_a_sweep_takes_several_values() -> None:
    with pytest.raises(GaugesimError, match=r"has 2 values; give one; sweep\(\) takes several"):
        gs.see("temp_two_coil", given={"coolant_celsius": [40, 80]})


def test_a_column_that_there_is_not(results: dict[str, Result]) -> None:
    with pytest.raises(LookupError, match="no column is called 'temprature'; did you mean temperature"):
        results["sweep over"]["temprature"]


def test_a_case_in_python_is_a_case_in_a_file() -> None:
    seen = [
        {"state": "key_on_cold", "needle": "half", "moves": "never"},
        {"state": "running_warm", "needle": "half"},
    ]
    written = gs.read_case(circuit="temp_opposed_coil", seen=seen)
    assert gs.diagnose(written).to_dict() == gs.diagnose(CASES / "stuck_at_half.toml").to_dict()
    with pytest.raises(GaugesimError, match=r"seen\[1\].needle: no word is called 'hlaf'; did you mean half"):
        gs.read_case(circuit="temp_bridge", seen=[{"state": "key_on_cold", "needle": "hlaf"}])


@pytest.mark.parametrize("name", ["needles_up_before_start", "which_movement", "stuck_at_half"])
def test_a_plan_takes_every_outcome_that_it_names(name: str) -> None:
    plan = gs.plan(CASES / f"{name}.toml")
    outcomes = [
        *plan["outcome"],
        *([one.outcome for one in plan.next_check.outcomes] if plan.next_check else []),
    ]
    for outcome in outcomes:
        entry = plan.after(outcome).case.entries[-1]
        assert len(plan.after(outcome).case.entries) == len(plan.case.entries) + 1
        assert getattr(entry, "check", plan.next_check.check) == plan.next_check.check
        assert getattr(entry, "result", "cured") in ("cured", "no_change")


def test_after_an_answer_the_ranking_is_that_of_the_longer_case() -> None:
    cold = {"state": "key_on_cold", "needle": "pegged_low"}
    checked = {"check": "sender_lead_volts", "state": "key_on_cold", "volts": 12.3}
    short = gs.diagnose({"circuit": "temp_two_coil", "seen": [cold]})
    long = gs.diagnose({"circuit": "temp_two_coil", "seen": [cold], "measured": [checked]})
    assert short.after(**checked)["fault"] == long["fault"]
    assert short.after(**checked)["probability"] == pytest.approx(long["probability"])
    with pytest.raises(GaugesimError, match="after\\(\\) takes an answer or an entry"):
        short.after()


def test_first_of_all_cautions_stand_first() -> None:
    seen = [{"state": "running_warm", "gauge": "oil_pressure", "needle": "pegged_low"}]
    plan = gs.plan({"circuit": "boat_panel", "gauge": "oil_pressure", "seen": seen})
    first = [danger.words for danger in plan.consultation.first]
    assert first
    assert list(plan.cautions[: len(first)]) == first


def test_an_answer_of_every_kind_of_check_becomes_an_entry() -> None:
    seen = [{"state": "running_warm", "gauge": "fuel", "needle": "low"}]
    case = gs.read_case(circuit="cluster_bimetal_5v", gauge="fuel", seen=seen)
    options = {option.check.reads: option for option in gs.plan(case).consultation.job.options}
    assert options.keys() >= {"needle", "volts", "ohms", "lamp", "look", "jump"}
    for reads, option in options.items():
        plan = gs.plan(case)
        plan = dataclasses.replace(plan, consultation=dataclasses.replace(plan.consultation))
        plan.consultation.__dict__["next_option"] = option
        for word in option.classes:
            told = plan.after(word)
            assert len(told.case.entries) == 2
        assert told.consultation.diagnosis.ranking
        if reads in ("volts", "ohms"):
            assert getattr(plan.after(3.5).case.entries[-1], reads) == 3.5
            assert getattr(plan.after((3.0, 4.0)).case.entries[-1], reads) == (3.0, 4.0)
