"""Arguments, exit statuses, and a real process."""

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from gaugesim import __version__, cli
from gaugesim.cli import main

CIRCUIT = "temp_two_coil"

BAD = [
    ([], "the following arguments are required: COMMAND; see gaugesim --help"),
    (["red", CIRCUIT], "no command is called 'red'; did you mean read?"),
    (["read"], "the following arguments are required: CIRCUIT; see gaugesim read --help"),
    (["read", CIRCUIT, "--stat", "key_off"], "no option is called '--stat'; did you mean --state"),
    (["read", CIRCUIT, "again"], "'again' is one argument too many; see gaugesim read --help"),
    (["read", CIRCUIT, "--engine", "nodel"], "no choice of --engine is called 'nodel'; did you mean nodal?"),
    (["read", CIRCUIT, "--state"], "--state: expected one argument; see gaugesim read --help"),
    (["read", "temp_to_coil"], "no circuit is called 'temp_to_coil'; did you mean temp_two_coil"),
    (["read", ""], "no circuit is called ''; there are"),
    (["read", "nowhere/temp.cir"], "nowhere/temp.cir: cannot be read"),
    (
        ["read", CIRCUIT, "--state", "key_of"],
        "temp_two_coil: no state is called 'key_of'; did you mean key_off",
    ),
    (["read", CIRCUIT, "--state", ""], "no state is called ''"),
    (["read", CIRCUIT, "--check", "volt_at:body"], "no check is called 'volt_at'; did you mean volts_at"),
    (["read", CIRCUIT, "--check", ""], "no check is called ''"),
    (["read", CIRCUIT, "--check", "volts_at"], "check 'volts_at': 0 targets given; write volts_at:POINT"),
    (["read", CIRCUIT, "--check", "volts_at:boddy"], "no point is called 'boddy'; did you mean body"),
    (["read", CIRCUIT, "--check", "substitute:ten"], "check 'substitute:ten': 'ten' is not a number"),
    (["read", CIRCUIT, "--check", "substitute:-5"], "check 'substitute:-5': -5 ohms is out of reach"),
    (["read", CIRCUIT, "--check", "tap:fuel"], "no gauge is called 'fuel'"),
    (["read", CIRCUIT, "--check", "float_by_hand:0.5"], "choose the check that fits its sender"),
    (["read", CIRCUIT, "--fault", "sender"], "fault 'sender' is not PART=MODE"),
    (["read", CIRCUIT, "--fault", "sendr=open"], "no part is called 'sendr'; did you mean sender"),
    (["read", CIRCUIT, "--fault", "sender=opn"], "no mode of sender is called 'opn'; did you mean open"),
    (["read", CIRCUIT, "--fault", "movement=5"], "movement has no resistance of its own"),
    (["read", CIRCUIT, "--fault", "sender=open@5"], "sender=open has no degrees of severity"),
    (["read", CIRCUIT, "--fault", "sender=drift_up@much"], "'much' is not a number"),
    (["read", CIRCUIT, "--fault", "sender=nan"], "no mode of sender is called 'nan'"),
    (["read", CIRCUIT, "--set", "coolant_celsius"], "--set coolant_celsius: not PARAM=VALUE"),
    (["read", CIRCUIT, "--set", "coolant_celsius="], "--set coolant_celsius=: not PARAM=VALUE"),
    (
        ["read", CIRCUIT, "--set", "coolant=80"],
        "--set: no parameter is called 'coolant'; did you mean coolant_celsius",
    ),
    (
        ["read", CIRCUIT, "--set", "coolant_celsius=warm"],
        "--set coolant_celsius=warm: 'warm' is not a number",
    ),
    (["read", CIRCUIT, "--set", "coolant_celsius=nan"], "'nan' is not a number"),
    (["read", CIRCUIT, "--set", "fuse=-1"], "rfuse"),
    (["--netlists", "/nowhere/at/all", "read", CIRCUIT], "--netlists: there is no folder '/nowhere/at/all'"),
    (["read", CIRCUIT, "--netlists", "/nowhere/at/all"], "--netlists: there is no folder '/nowhere/at/all'"),
    (["circuits", "--state", "key_off"], "--state needs a circuit"),
    (["circuits", CIRCUIT, "--state", "key_of"], "no state is called 'key_of'; did you mean key_off"),
]


@pytest.mark.parametrize("json", [False, True], ids=["text", "json"])
@pytest.mark.parametrize(("words", "line"), BAD, ids=[" ".join(words) for words, _ in BAD])
def test_bad_input_is_one_line(fail: Any, words: list[str], line: str, json: bool) -> None:
    status, problem = fail(*words, *(["--json"] if json and words else []))
    assert status == 2
    assert line in problem


@pytest.mark.parametrize("command", cli.COMMANDS)
def test_every_command_has_help_and_json(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, "--help"]) == 0
    out, err = capsys.readouterr()
    assert "--json" in out
    assert "--netlists DIR" in out
    assert err == ""


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"gaugesim {__version__}\n"


def spoilt(netlists: Path, text: bytes, name: str = "temp_two_coil.cir") -> str:
    (netlists / name).write_bytes(text)
    return str(netlists / "temp_two_coil.cir")


@pytest.mark.parametrize(
    "text", [b"", b"title\n", b"\x00\xff\xfe", "title\n* caf\u00e9\n".encode("latin-1"), b"title\nQ1 a b c\n"]
)
def test_a_file_that_is_no_netlist(fail: Any, netlists: Path, text: bytes) -> None:
    status, problem = fail("read", spoilt(netlists, text))
    assert status == 2
    assert "temp_two_coil" in problem


@pytest.mark.parametrize("text", [b"", b"words", b"\xff", b"words = 3\n"])
def test_a_file_that_is_no_sheet(fail: Any, netlists: Path, text: bytes) -> None:
    status, problem = fail("read", spoilt(netlists, text, "temp_two_coil.toml"))
    assert status == 2
    assert "temp_two_coil.toml" in problem


def test_a_netlist_without_a_sheet(fail: Any, netlists: Path) -> None:
    (netlists / "temp_two_coil.toml").unlink()
    status, problem = fail("read", str(netlists / "temp_two_coil.cir"))
    assert status == 2
    assert "temp_two_coil.toml" in problem


def test_a_folder_is_no_netlist(fail: Any, tmp_path: Path) -> None:
    (tmp_path / "odd.cir").mkdir()
    status, problem = fail("read", str(tmp_path / "odd.cir"))
    assert status == 2
    assert "odd.cir" in problem


def test_a_circuit_without_a_solution_has_no_answer(fail: Any, netlists: Path) -> None:
    path = netlists / "temp_two_coil.cir"
    path.write_text(path.read_text().replace(".op\n", "* a second source\nVsecond battery_inside 0 5\n.op\n"))
    status, problem = fail("read", str(path), "--json")
    assert status == 1
    assert problem.startswith("sources fight: vbattery, vsecond form a ring without resistance")


def test_own_circuits_come_before_the_shipped_ones(
    ask: Any, netlists: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = netlists / "temp_two_coil.cir"
    path.write_text(path.read_text().replace(".param coolant_celsius=85", ".param coolant_celsius=60"))

    def position(*words: str) -> float:
        return float(ask(*words)["needles"]["temperature"]["position"])

    shipped = position("read", CIRCUIT)
    own = position("read", CIRCUIT, "--set", "coolant_celsius=60")
    assert own != shipped
    assert position("--netlists", str(netlists), "read", CIRCUIT) == own
    assert position("read", CIRCUIT, "--netlists", str(netlists)) == own
    assert position("read", str(path)) == own
    monkeypatch.setenv("GAUGESIM_NETLISTS", str(netlists))
    assert position("read", CIRCUIT) == own


def test_a_folder_may_be_called_like_a_command(fail: Any) -> None:
    assert fail("--netlists", "circuits", "read", CIRCUIT) == (
        2,
        "--netlists: there is no folder 'circuits'; name a folder of .cir files",
    )


def test_interruption_is_tidy(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def interrupt(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("gaugesim.cli.read.circuit_of", interrupt)
    assert main(["read", CIRCUIT]) == 128 + signal.SIGINT
    assert capsys.readouterr() == ("", "gaugesim: interrupted\n")


def process(*words: str, **options: Any) -> "subprocess.Popen[str]":
    command = [sys.executable, "-m", "gaugesim", *words]
    root = Path(__file__).resolve().parents[2]
    return subprocess.Popen(command, cwd=root, text=True, stderr=subprocess.PIPE, **options)


def test_a_real_process() -> None:
    done = process("read", CIRCUIT, "--json", stdout=subprocess.PIPE)
    out, err = done.communicate()
    assert done.returncode == 0
    assert out.startswith("{")
    assert err == ""
    done = process("read", "nowhere", "--json", stdout=subprocess.PIPE)
    out, err = done.communicate()
    assert (done.returncode, out) == (2, "")
    assert err.startswith("gaugesim: no circuit is called 'nowhere'")
    assert err.count("\n") == 1


@pytest.mark.skipif(os.name == "nt", reason="a pipe without a reader is an error of its own there")
def test_nobody_reads() -> None:
    read_end, write_end = os.pipe()
    os.close(read_end)
    done = process("circuits", "--json", stdout=write_end)
    os.close(write_end)
    _, err = done.communicate()
    assert done.returncode == 128 + signal.SIGPIPE
    assert err == ""


def test_only_the_command_asked_for_is_imported() -> None:
    show = (
        "import sys\nfrom gaugesim.cli import main\nmain(['circuits', '--help'])\n"
        "print(*(name for name in sys.modules if name.startswith('gaugesim.cli.')), file=sys.stderr)"
    )
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run([sys.executable, "-c", show], cwd=root, capture_output=True, text=True, check=True)
    loaded = {name.rpartition(".")[2] for name in done.stderr.split()}
    assert loaded & set(cli.COMMANDS) == {"circuits"}
