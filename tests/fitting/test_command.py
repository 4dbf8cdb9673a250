"""The command: JSON, text, the circuit that it writes, and what it refuses."""

import json
from pathlib import Path

import pytest

from gaugesim import circuit as circuits
from gaugesim.cli import main

POINTS = """
gauge = "temperature"
words = "Coolant gauge of a village fire pump"
studs = 3
needle = [
  { ohms = 33, position = 0.88 },
  { ohms = 68, position = 0.60 },
  { ohms = 100, position = 0.42 },
  { ohms = 150, position = 0.24 },
  { ohms = 270, position = 0.03 },
]
coil = [
  { between = ["stud_feed", "stud_sender"], ohms = 70 },
  { between = ["stud_feed", "stud_ground"], ohms = 151 },
  { between = ["stud_sender", "stud_ground"], ohms = 221 },
]
sender = [{ celsius = 20, ohms = 690 }, { celsius = 60, ohms = 137 }, { celsius = 95, ohms = 46 }]
"""
KEYS = {"movement", "parameters", "sender", "residuals", "bad_points", "undetermined", "next_point"}


@pytest.fixture
def points(tmp_path: Path) -> Path:
    path = tmp_path / "points.toml"
    path.write_text(POINTS)
    return path


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(list(words))
    out, err = capsys.readouterr()
    return status, out, err


def test_json(points: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = asked(capsys, "fit", str(points), "--json")
    assert (status, err) == (0, "")
    data = json.loads(out)
    assert set(data) >= KEYS
    assert data["movement"] == "two-coil"
    for value in data["parameters"].values():
        assert set(value) == {"value", "low", "high", "unit"}
        assert value["low"] <= value["value"] <= value["high"]
    assert data["parameters"]["coil_sensing"]["value"] == pytest.approx(70, rel=0.02)
    assert data["sender"]["parameters"]["ohms_at_80"]["unit"] == "ohm"
    assert len(data["residuals"]) == 11
    assert data["bad_points"] == []


def test_text(points: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = asked(capsys, "fit", str(points))
    assert (status, err) == (0, "")
    assert out.startswith("Movement: two-coil\n")
    assert "coil_sensing" in out
    assert "Next: " in out
    assert max(map(len, out.splitlines())) <= 80


def test_a_gauge_measured_on_another_supply_is_not_written_for_it_without_a_word(
    points: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("--write", "pump", "--to", str(tmp_path / "own"))
    assert "V: change battery_volts" not in asked(capsys, "fit", str(points), *words)[2]
    points.write_text(points.read_text().replace("studs = 3", "studs = 3\nsupply_volts = 25"))
    said = asked(capsys, "fit", str(points), "--write", "lorry", "--to", str(tmp_path / "own"))[2]
    assert "measured at 25 V, and the netlist keeps 13.4 V: change battery_volts" in said


def test_the_written_circuit_serves_every_command(
    points: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "own"
    status, out, err = asked(capsys, "fit", str(points), "--write", "pump", "--to", str(folder), "--json")
    assert status == 0
    assert json.loads(out)["written"] == [str(folder / "pump.cir"), str(folder / "pump.toml")]
    assert "made from temp_two_coil" in err
    case = tmp_path / "case.toml"
    case.write_text('circuit = "pump"\n[[seen]]\nstate = "running_warm"\nneedle = "pegged_low"\n')
    for words in (
        ("circuits", "pump"),
        ("read", "pump", "--check", "substitute:68", "--fault", "sender=open"),
        ("sweep", "pump", "--state", "key_on_cold", "--check", "unplug_sender"),
        ("diagnose", str(case)),
    ):
        status, out, err = asked(capsys, "--netlists", str(folder), *words, "--json")
        assert status == 0, err
        json.loads(out)
    monkeypatch.setenv("GAUGESIM_NETLISTS", str(folder))
    status, out, err = asked(capsys, "read", "pump", "--check", "substitute:68", "--json")
    assert status == 0
    assert json.loads(out)["needles"]["temperature"]["position"] == pytest.approx(0.60, abs=0.02)


def test_a_curve_of_steinhart_and_hart_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # a coolant sensor's published table, 0 to 120 degC, on a gauge of fewer ohms, scaled down tenfold
    table = {0: 597.5, 20: 250.2, 40: 115.2, 60: 57.58, 80: 30.86, 100: 17.57, 120: 10.54}
    rows = ", ".join(f"{{ celsius = {at}, ohms = {ohms} }}" for at, ohms in table.items())
    head, _, _ = POINTS.partition("sender = ")
    path = tmp_path / "points.toml"
    path.write_text(f"sender_plus_minus = 0.1\nohms_tolerance = 0.005\n{head}sender = [{rows}]\n")
    status, out, err = asked(
        capsys, "fit", str(path), "--write", "steep", "--to", str(tmp_path / "own"), "--json"
    )
    assert status == 0, err
    assert json.loads(out)["sender"]["kind"] == "steinhart_hart"
    steep = circuits.find("steep", tmp_path / "own")
    for at, ohms in table.items():
        values = steep.values(steep.parameters(given={"coolant_celsius": at}))
        assert values["r.xsender.rthermistor"] == pytest.approx(ohms, rel=0.005)


@pytest.mark.parametrize(
    ("text", "status", "words"),
    [
        ("gauge = fuel", 2, "is not TOML"),
        (
            'gauge = "fuel"\nstuds = 4\ncoils = 4\nneedle = [{ ohms = 9, position = 0 }]',
            2,
            "4 studs and 4 coils",
        ),
    ],
)
def test_bad_input_is_one_line(
    text: str, status: int, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "points.toml"
    path.write_text(text)
    got, out, err = asked(capsys, "fit", str(path), "--json")
    assert (got, out) == (status, "")
    assert err.count("\n") == 1
    assert words in err


def test_nothing_of_the_gauge_cannot_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "points.toml"
    path.write_text('gauge = "fuel"\nsender = [{ level = 0, ohms = 240 }]')
    status, out, err = asked(capsys, "fit", str(path), "--write", "mine", "--to", str(tmp_path))
    assert (status, out) == (1, "")
    assert "no point of the gauge itself" in err
