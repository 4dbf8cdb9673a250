"""``gaugesim show CIRCUIT``: the bench into a file, what it says of it, and what it refuses."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from matplotlib.image import imread

Run = Callable[..., Any]


@pytest.mark.parametrize("ending", ["png", "svg", "pdf"])
def test_the_bench_is_drawn_into_a_file(tell: Run, tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"bench.{ending}"
    assert tell("show", "temp_two_coil", "--save", str(path)) == ""
    assert path.stat().st_size > 20_000
    if ending == "png":
        assert imread(path).shape[:2] == (1755, 2475)  # the shape of paper


def test_a_program_is_told_what_is_shown(ask: Run, tmp_path: Path) -> None:
    words = "cluster_bimetal_5v --state key_on_cold --fault temperature_sender=open --set battery_volts=11"
    own = "--gauge temperature --check sender_lead_volts --save".split()
    answer = ask("show", *words.split(), *own, str(tmp_path / "a.png"))
    read = ask("read", *words.split(), "--check", "sender_lead_volts:temperature")
    assert answer["needles"] == read["needles"]
    assert answer["reading"] == read["reading"]
    assert (answer["faults"], answer["hidden"], answer["gauge"]) == (
        ["temperature_sender=open"],
        False,
        "temperature",
    )
    assert answer["saved"] == str(tmp_path / "a.png")


@pytest.mark.parametrize("option", ["--why", "--projector"])
def test_a_picture_for_the_wall_is_drawn_into_a_file(ask: Run, tmp_path: Path, option: str) -> None:
    path = tmp_path / "wall.png"
    words = ["temp_opposed_coil", "--fault", "stud_bias=open"]
    answer = ask("show", *words, option, "--save", str(path))
    read = ask("read", *words, "--why")
    assert imread(path).shape[:2] == (1080, 1920)
    assert answer["needles"] == read["needles"]
    assert answer.get("why", read["why"]) == read["why"]


@pytest.mark.parametrize("kind", ["transient", "signatures", "faults", "scale"])
def test_every_picture_has_a_command(ask: Run, tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"{kind}.png"
    answer = ask("show", "cluster_bimetal_5v", "--gauge", "fuel", "--picture", kind, "--save", str(path))
    assert (answer["picture"], answer["saved"], answer["gauge"]) == (kind, str(path), "fuel")
    assert imread(path).shape[1] > 900
    assert bool(answer["cautions"]) == (kind != "scale")


def test_a_cold_start_is_drawn_until_the_engine_is_warm(ask: Run, fail: Run, tmp_path: Path) -> None:
    path = tmp_path / "warm.png"
    answer = ask("show", "temp_two_coil", "--warm-up", "--save", str(path))
    settled = ask("read", "temp_two_coil")["needles"]["temperature"]["position"]
    assert (answer["from"], answer["to"]) == ("key_on_cold", "running_warm")
    assert answer["end"]["temperature"] == pytest.approx(settled, abs=1e-3)
    assert answer["cautions"]
    assert imread(path).shape[1] > 900
    for words, said in (
        (["fuel_two_coil_0_90"], "no coolant_celsius that could rise"),
        (["temp_two_coil", "--from", "running_warm"], "start from a state that is colder than"),
        (["temp_two_coil", "--seconds", "0"], "give 0.05 to 7200 seconds"),
    ):
        assert said in fail("show", *words, "--warm-up", "--save", str(tmp_path / "no.png"))[1]


def test_the_plan_is_drawn_with_its_cautions(ask: Run, repository: Path, tmp_path: Path) -> None:
    path, case = tmp_path / "plan.svg", str(repository / "netlists" / "cases" / "stuck_at_half.toml")
    answer = ask("show", case, "--picture", "plan", "--save", str(path))
    assert answer["expected_minutes"] > 0
    assert path.stat().st_size > 20_000


def test_the_ranking_is_drawn_after_each_entry(ask: Run, repository: Path, tmp_path: Path) -> None:
    path, case = tmp_path / "ranking.png", str(repository / "netlists" / "cases" / "cured_for_a_week.toml")
    answer = ask("show", case, "--picture", "ranking", "--save", str(path))
    assert answer["steps"][1:] == ["1: on the low stop", "2: a cure for a while"]
    assert [sum(row) for row in answer["probability"]] == pytest.approx([1.0] * 3)
    ranked = ask("diagnose", case)["ranking"]
    assert answer["probability"][-1][0] == pytest.approx(ranked[0]["probability"], abs=1e-9)
    assert answer["faults"][0] == ranked[0]["words"]
    assert answer["cautions"]
    assert imread(path).shape[1] > 900


def test_a_fit_is_drawn_with_its_band(ask: Run, fail: Run, tmp_path: Path) -> None:
    points, path = tmp_path / "points.toml", tmp_path / "fit.png"
    needle = "".join(
        f"[[needle]]\nohms = {ohms}\nposition = {at}\n" for ohms, at in ((10, 1), (33, 0.24), (73, 0))
    )
    points.write_text(f'gauge = "fuel"\nstuds = 2\n{needle}')
    assert ask("fit", str(points), "--save", str(path))["saved"] == str(path)
    assert imread(path).shape[1] > 900
    points.write_text('gauge = "fuel"\n[[needle]]\nohms = 10\nposition = 1\n')
    assert (
        "no needle with two different resistors"
        in fail("fit", str(points), "--save", str(tmp_path / "b.png"))[1]
    )


def test_the_bench_is_written_as_a_page(ask: Run, fail: Run, tmp_path: Path) -> None:
    path = tmp_path / "bench.html"
    answer = ask("show", "temp_two_coil", "--page", str(path))
    assert answer == {"page": str(path), "bytes": path.stat().st_size, "circuit": "temp_two_coil"}
    assert "http" not in path.read_text().replace("http://www.w3.org/2000/svg", "").replace("http-equiv", "")
    assert fail("show", "temp_two_coil", "--page", str(path))[0] == 2


def test_a_hidden_fault_is_not_told(ask: Run, tmp_path: Path) -> None:
    answer = ask("show", "temp_opposed_coil", "--hide", "5", "--save", str(tmp_path / "a.svg"))
    sound = ask("show", "temp_opposed_coil", "--save", str(tmp_path / "b.png"))
    assert answer["hidden"] is True
    assert answer["faults"] == []
    assert answer["needles"] != sound["needles"]
    assert "FAULT" not in (tmp_path / "a.svg").read_text()  # the picture's texts can be searched


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["temp_two_coil", "--save", "bench.doc"],
            "--save bench.doc: not a picture; let the name end in .png, .pdf, .svg",
        ),
        (["temp_two_coil"], "no window can be opened here; draw it into a file, --save bench.png"),
        (
            ["temp_two_coi", "--save", "a.png"],
            "no circuit is called 'temp_two_coi'; did you mean temp_two_coil",
        ),
        (["temp_two_coil", "--fault", "sendr=open", "--save", "a.png"], "did you mean sender"),
        (["temp_two_coil", "--check", "unplug", "--save", "a.png"], "no check is called 'unplug'"),
        (["temp_two_coil", "--state", "asleep", "--save", "a.png"], "no state is called 'asleep'"),
        (["temp_two_coil", "--gauge", "fuel", "--save", "a.png"], "no gauge is called 'fuel'"),
        (["temp_two_coil", "--hide", "five", "--save", "a.png"], "--hide: invalid int value"),
        (
            ["temp_two_coil", "--page", "out.html", "--state", "key_off"],
            "--page of a circuit goes with no --state",
        ),
        (["temp_two_coil", "--picture", "plan", "--save", "a.png"], "--picture plan is of a case file"),
        (["temp_two_coil", "--picture", "scale"], "--picture scale draws into a file"),
        (["temp_two_coil", "--why"], "--why draws into a file; say which, --save picture.png"),
        (["case.toml"], "case.toml is a case file; say where to write its page"),
        (["temp_two_coil", "--save", "nowhere/at/all/a.png"], "there is no such folder"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line(
    fail: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    status, line = fail("show", *words)
    assert status == 2
    assert said in line
    assert list(tmp_path.iterdir()) == []


def test_it_runs_as_a_process_without_a_display(repository: Path, tmp_path: Path) -> None:
    bare = {
        name: value
        for name, value in os.environ.items()
        if name not in ("DISPLAY", "WAYLAND_DISPLAY", "MPLBACKEND")
    }
    command = f"{sys.executable} -m gaugesim show fuel_four_coil --save {tmp_path / 'bench.png'}".split()
    done = subprocess.run(command, cwd=repository, env=bare, capture_output=True, text=True, check=True)
    assert done.stdout == ""
    assert done.stderr == f"gaugesim: wrote {tmp_path / 'bench.png'}\n"
