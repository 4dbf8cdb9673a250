"""The conversation at a terminal: killed, interrupted, mistyped; nothing that was answered is lost."""

import os
import random
import tomllib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest
from conversation.terminal import Terminal, kill_at_random

from gaugesim.circuit import available, find
from gaugesim.cli import main
from gaugesim.cli.conversation import converse
from gaugesim.cli.conversation_text import question_lines, ranking_lines
from gaugesim.cli.shown_cautions import Warned
from gaugesim.conversation import begin, step, talk
from gaugesim.conversation.asking import tools_question
from gaugesim.conversation.casefile import Field, with_entry
from gaugesim.conversation.complaint import COMPLAINTS, detail_question
from gaugesim.errors import CaseError

# From the complaint to the repair. Each act is a few lines, of which the last brings something into the case.
ACTS = (
    ("stuck", "temp_opposed_coil", "hlaf", "y"),
    ("rain",),
    ("r sender", "no change"),
    ("o sender_lead_volts", "12,4 v"),
    ("l stud bias", "lose", "y"),
    ("r stud bias", "4"),
)
# shown after each
NOTED = "Noted: "


@pytest.fixture(scope="module")
def texts() -> tuple[str, ...]:
    """The case file before the first act and after each of them, as the conversation itself has it."""
    state = begin(Path("case.toml"), [find(name) for name in available()])
    result = [""]
    for act in ACTS:
        for line in act:
            state, _ = step(state, line)
        assert state.saved != result[-1], act
        result.append(state.saved)
    return tuple(result)


def act_out(terminal: Terminal, act: tuple[str, ...]) -> None:
    for line in act:
        terminal.answer(line)
    terminal.until(NOTED)


def test_a_case_from_the_complaint_to_the_repair(tmp_path: Path, texts: tuple[str, ...]) -> None:
    with Terminal(tmp_path, "diagnose") as terminal:
        for act, text in zip(ACTS, texts[1:], strict=True):
            act_out(terminal, act)
            assert (tmp_path / "case.toml").read_text() == text
        terminal.answer("q")
        assert terminal.end() == 0
    assert "Answers are kept in case.toml." in terminal.shown
    assert "Kept in case.toml. To go on: gaugesim diagnose case.toml --ask" in terminal.shown
    assert "\x1b" not in terminal.shown
    assert max(len(line) for line in terminal.shown.replace("\r", "").split("\n")) <= 80
    # the ranking, and a check with its cautions, stand before the questions that follow them
    assert "nut on stud B (bias) is loose" in terminal.shown
    assert "Next check: " in terminal.shown
    assert "  ! " in terminal.shown
    assert os.listdir(tmp_path) == ["case.toml"]


def test_killed_at_random_points_nothing_is_lost(tmp_path: Path, texts: tuple[str, ...]) -> None:
    path = tmp_path / "case.toml"
    path.write_text(texts[1])
    acts = [(act, NOTED) for act in ACTS[1:]]
    command = ("diagnose", "case.toml", "--ask")
    kill_at_random(path, command, "case.toml", acts, texts[1:], random.Random(4))


def test_control_c_while_it_reckons_leaves_the_answer_in_the_file(
    tmp_path: Path, texts: tuple[str, ...]
) -> None:
    (tmp_path / "case.toml").write_text(texts[1])
    with Terminal(tmp_path, "diagnose", "case.toml", "--ask") as terminal:
        act_out(terminal, ("rain",))
        assert terminal.end("\x03") == 130
    assert "Kept in case.toml" in terminal.shown
    assert "Traceback" not in terminal.shown
    assert (tmp_path / "case.toml").read_text() == texts[2]


@pytest.mark.parametrize(("key", "status"), [("\x03", 130), ("\x04", 0)], ids=["control-c", "control-d"])
def test_control_c_and_control_d_at_a_prompt(
    tmp_path: Path, texts: tuple[str, ...], key: str, status: int
) -> None:
    (tmp_path / "case.toml").write_text(texts[2])
    with Terminal(tmp_path, "diagnose", "case.toml", "--ask") as terminal:
        terminal.until("> ")
        assert terminal.end(key) == status
    assert "Traceback" not in terminal.shown
    assert terminal.shown.rstrip().endswith("--ask")
    assert (tmp_path / "case.toml").read_text() == texts[2]


@pytest.mark.parametrize(("key", "status"), [("\x03", 130), ("\x04", 0)], ids=["control-c", "control-d"])
def test_ended_before_the_first_answer_nothing_is_made(tmp_path: Path, key: str, status: int) -> None:
    with Terminal(tmp_path, "diagnose") as terminal:
        terminal.until("> ")
        assert terminal.end(key) == status
    assert os.listdir(tmp_path) == []


def test_bytes_that_are_no_text_do_not_end_it(tmp_path: Path, texts: tuple[str, ...]) -> None:
    (tmp_path / "case.toml").write_text(texts[1])
    with Terminal(tmp_path, "diagnose", "case.toml", "--ask") as terminal:
        terminal.until("> ")
        terminal.type_bytes(b"\xff\xfe\x1b[A\n")
        act_out(terminal, ("rain",))
    assert (tmp_path / "case.toml").read_text() == texts[2]


@pytest.mark.parametrize(
    "arguments", [[], ["case.toml", "--ask"], ["--ask"], ["case.toml", "--ask", "--json"]]
)
def test_without_a_terminal_it_asks_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], arguments: list[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["diagnose", *arguments]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    assert "gaugesim diagnose CASE.toml" in shown.err
    assert os.listdir(tmp_path) == []


def typing(*lines: str) -> Callable[[str], str]:
    left: Iterator[str] = iter(lines)

    def read(prompt: str) -> str:
        try:
            return next(left)
        except StopIteration:
            raise EOFError from None

    return read


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


CASE = '# mine\ncircuit = "temp_two_coil"\n'


def test_a_file_that_is_there_is_not_written_over_unasked(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "case.toml").write_text(CASE)
    assert converse(None, None, typing("dead", "fuel")) == 0
    assert "Answers are kept in case_2.toml" in capsys.readouterr().out
    assert (folder / "case.toml").read_text() == CASE
    assert tomllib.loads((folder / "case_2.toml").read_text())["gauge"] == "fuel"


def test_a_name_that_is_not_there_is_made(folder: Path) -> None:
    assert converse(folder / "new.toml", None, typing("dead", "oil", "q")) == 0
    assert tomllib.loads((folder / "new.toml").read_text())["gauge"] == "oil_pressure"


def test_a_case_with_a_mistake_is_refused_and_left(folder: Path) -> None:
    path = folder / "case.toml"
    path.write_text('circuit = "temp_two_coil"\n[[seen]]\nneedle = "hlaf"\n')
    with pytest.raises(CaseError, match=r"seen\[1\]\.needle: .*'hlaf'"):
        converse(path, None, typing("q"))
    path.write_text('circuit = "temp_two_coil"\n[[measured]]\ncheck = "sender_lead_volts"\nohms = 3\n')
    with pytest.raises(CaseError, match="does not read ohms"):
        converse(path, None, typing("q"))


def test_a_disk_that_is_full_is_said_and_tried_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / "case.toml"
    path.write_text(CASE)
    real, full = os.replace, [True]

    def replace(*names: str) -> None:
        if full[0]:
            raise OSError(28, "No space left on device")
        real(*names)

    monkeypatch.setattr(os, "replace", replace)
    assert converse(path, None, typing("stuck", "half")) == 2
    assert "NOT KEPT" in capsys.readouterr().out
    assert path.read_text() == CASE

    def read(prompt: str) -> str:
        line = next(lines)
        full[0] = line == "half"
        return line

    lines = iter(["stuck", "half", "?", "q"])
    full[0] = True
    assert converse(path, None, read) == 0
    assert "half" in path.read_text()


def test_a_change_from_an_editor_is_taken_up(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "case.toml"
    path.write_text(CASE)
    edits = {
        "a": CASE + '[[seen]]\nneedle = "hlaf"\n',
        "c": CASE + '[[seen]]\nstate = "key_on_cold"\nneedle = "quarter"  # mine\n',
    }
    lines = iter("abcd")

    def read(prompt: str) -> str:
        line = next(lines)
        if line in edits:
            path.write_text(edits[line])
        return "q" if line == "d" else "dead"

    assert converse(path, None, read) == 0
    assert path.read_text() == edits["c"]
    shown = capsys.readouterr().out
    assert "has been changed elsewhere: case.toml: seen[1].needle" in " ".join(shown.split())
    assert "is read again" in shown


def test_an_edit_is_not_written_over_at_the_end(folder: Path) -> None:
    path = folder / "case.toml"
    path.write_text(CASE)

    def read(prompt: str) -> str:
        path.write_text("# not done yet [[")
        raise EOFError

    assert converse(path, None, read) == 0
    assert path.read_text() == "# not done yet [["


def test_an_answer_that_no_circuit_fits_is_taken_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A part that only the other candidate has is no part of the circuit that is left."""
    path = folder / "case.toml"
    text = CASE + '[[inspected]]\npart = "sender"\nfound = "sound"\n'
    path.write_text(text)

    def wrong(text: str, table: str, fields: Mapping[str, Field]) -> str:
        return with_entry(text, table, {**fields, "part": "stud_tap"})

    monkeypatch.setattr(talk, "with_entry", wrong)
    assert converse(path, None, typing("l sender", "loose", "q")) == 0
    assert "Not taken: " in capsys.readouterr().out
    assert path.read_text() == text


def test_a_check_and_a_repair_never_stand_without_their_cautions(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / "case.toml"
    path.write_text('circuit = "fuel_four_coil"\n[[seen]]\nstate = "tank_half"\nneedle = "pegged_low"\n')
    cautions = find("fuel_four_coil").sheet.cautions
    converse(path, None, typing("c", "o sender_ohms", "q"))
    asked = " ".join(capsys.readouterr().out.rpartition("Next check: sender_ohms")[2].split())
    assert cautions["fuel_vapour"].words in asked
    path.write_text(
        'circuit = "temp_opposed_coil"\n[[seen]]\nneedle = "half"\n[[seen]]\nstate = "key_on_cold"\n'
        'needle = "half"\nmoves = "never"\n[[inspected]]\npart = "stud_bias"\nfound = "loose"\n'
    )
    converse(path, None, typing("q"))
    mend, _, after = (
        capsys.readouterr().out.partition("Quickest is to mend this at once")[2].partition("Next check: ")
    )
    assert after
    assert find("temp_opposed_coil").sheet.cautions["panel_out"].words in " ".join(
        mend.replace("!", "").split()
    )


def test_what_cures_is_proven(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "case.toml"
    path.write_text(
        'circuit = "temp_opposed_coil"\n[[seen]]\nneedle = "half"\n[[seen]]\nstate = "key_on_cold"\n'
        'needle = "half"\nmoves = "never"\n[[replaced]]\npart = "stud_bias"\nresult = "cured"\n'
    )
    converse(path, None, typing("s switch_lights", "rises", "q"))
    shown = capsys.readouterr().out
    proof, _, after = shown.partition("Proof of the repair")[2].partition("To prove it")
    circuit = find("temp_opposed_coil")
    told = " ".join(proof.replace("!", "").split())
    needed = [state for state in circuit.sheet.states.values() if f"{state.words}: " in told]
    assert "key_on_cold" in {state.id for state in needed}
    assert len(needed) >= 2
    for name in {name for state in needed for name in state.cautions}:
        assert circuit.sheet.cautions[name].words in told
    # what is seen afterwards opens the case again
    assert "Next check: " in after


# the longest names of parts, of gauges and of a boat; each circuit's questions are walked in test_question
@pytest.mark.parametrize("circuit", ["temp_bridge", "fuel_four_coil", "cluster_bimetal_5v", "boat_panel"])
def test_every_question_fits_the_terminal(circuit: str) -> None:
    state = begin(Path("case.toml"), [find(circuit)])
    asked = {state.question.id: state.question, "tools": tools_question()}
    for choice in COMPLAINTS:
        question = detail_question(choice.value)
        asked |= {choice.value: question} if question else {}
    for _ in range(8):
        state, _ = step(state, state.question.label(0) if state.question.id != "tools" else "all")
        asked[state.question.id] = state.question
    for question in asked.values():
        lines = question_lines(question)
        assert max(map(len, lines)) <= 80
        shown = " ".join(" ".join(lines).split())
        assert question.text in shown
        for index, choice in enumerate(question.choices):
            assert f"{question.label(index)} {choice.words}" in shown


def test_of_many_circuits_that_fit_it_says_how_many_more_there_are() -> None:
    names = [name for name in available() if name.startswith("temp")]
    state = begin(Path("case.toml"), [find(name) for name in names])
    for line in ("stuck", "half", "c"):
        state, _ = step(state, line)
    found = state.consultation.diagnosis
    lines = " ".join(" ".join(ranking_lines(state.consultation, Warned())).split())
    assert len([p for p in found.circuits.values() if p >= 0.1]) == len(names) == 4
    assert f", and {len(names) - 3} more" in lines
