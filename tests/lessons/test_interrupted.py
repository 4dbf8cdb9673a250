"""Practice at a terminal: killed, interrupted, mistyped; nothing that was done is lost."""

import io
import os
import random
from pathlib import Path

import pytest
from conversation.terminal import Terminal, kill_at_random

from gaugesim.cli import main

TASK = ("practice", "temp_opposed_coil", "--seed", "35", "--predict", "--file", "save.json")
# From the hint to the verdict. Each act is a few lines, the last is kept, and what is shown after it.
ACTS = (
    (("hint",), "Next check: "),
    (("unplug_sender", "sender, stud_bias", "HALF"), "clock: "),
    (("sender_lead_volts", "stud_bias", "0.5 v"), "clock: "),
    (("explain",), "showed: "),
    (("look stud bias", "stud_bias", "2"), "clock: "),
    (("replace sender",), "clock: "),
    (("verdict stud_bias=open",), "The fault: "),
)


def piped(folder: Path, lines: list[str], typed: type[io.StringIO] = io.StringIO) -> str:
    """The save file after these lines, from a pipe in this process."""
    (folder / "save.json").unlink(missing_ok=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setattr("sys.stdin", typed("".join(f"{line}\n" for line in lines)))
        assert main([*TASK]) == 0
    return (folder / "save.json").read_text()


@pytest.fixture(scope="module")
def texts(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, ...]:
    """The save file before the first act and after each of them, never interrupted."""
    folder = tmp_path_factory.mktemp("piped")
    before: list[str] = []

    class Typed(io.StringIO):
        """Looks at the file whenever an act begins."""

        def readline(self, size: int | None = -1) -> str:
            line = super().readline()
            if len(before) < len(ACTS) and line == f"{ACTS[len(before)][0][0]}\n":
                before.append((folder / "save.json").read_text())
            return line

    last = piped(folder, [line for lines, _ in ACTS for line in lines], Typed)
    assert len({*before, last}) == len(ACTS) + 1
    return (*before, last)


def test_killed_at_random_points_nothing_is_lost(tmp_path: Path, texts: tuple[str, ...]) -> None:
    path = tmp_path / "save.json"
    kill_at_random(path, TASK, "Type a check, or help.", ACTS, texts, random.Random(7))
    # killed while it wrote, the half-written copy may lie beside it
    beside = [name for name in os.listdir(tmp_path) if name != "save.json"]
    assert all(name.startswith(".gaugesim.") and name.endswith(".part") for name in beside)
    with Terminal(tmp_path, *TASK) as terminal:
        terminal.until("The fault: ")
        assert terminal.end() == 0


@pytest.mark.parametrize(("key", "status"), [("\x03", 130), ("\x04", 0)], ids=["control-c", "control-d"])
def test_ended_at_a_question_before_a_check(
    tmp_path: Path, texts: tuple[str, ...], key: str, status: int
) -> None:
    (tmp_path / "save.json").write_text(texts[1])
    with Terminal(tmp_path, *TASK) as terminal:
        terminal.answer("unplug_sender")
        terminal.until("Suspects?")
        terminal.until("> ")
        assert terminal.end(key) == status
    assert "Traceback" not in terminal.shown
    assert "To go on: gaugesim practice --file save.json" in " ".join(terminal.shown.split())
    assert (tmp_path / "save.json").read_text() == texts[1]


def test_mistyped_taken_back_and_stopped_at_the_questions(tmp_path: Path, texts: tuple[str, ...]) -> None:
    """No text, no part, no answer: asked again, and nothing is kept of it."""
    with Terminal(tmp_path, *TASK) as terminal:
        terminal.answer("hint")
        terminal.answer("unplug_sender")
        terminal.until("Suspects?")
        terminal.type_bytes(b"\xff\xfe\n")
        terminal.until("Not done")
        terminal.answer("sendr")
        assert "did you mean sender" in terminal.until("?")
        terminal.answer("sender")
        terminal.until("What will it show")
        for wrong in ("", "stays", "7.5", "99"):
            terminal.answer(wrong)
            terminal.until("Not done: ")
        terminal.answer("back")
        terminal.until("The check is not made.")
        terminal.answer("unplug_sender")
        terminal.answer("help")
        terminal.until("leave the check out")
        terminal.answer("q")
        assert terminal.end() == 0
    assert "Traceback" not in terminal.shown
    assert max(len(line) for line in terminal.shown.replace("\r", "").split("\n")) <= 80
    assert (tmp_path / "save.json").read_text() == texts[1]


def test_predictions_are_judged(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    piped(tmp_path, ["sender_lead_volts", "fuse", "0.3 v", "unplug_sender", "stud_bias", "1", "give up"])
    shown = capsys.readouterr().out
    assert "predicted 0.30 V: right" in shown
    assert "predicted needle on the low stop: not so" in shown
    told = " ".join(shown.split())
    assert "Predictions right: 1 of 2; the faulty part was among the suspects named 1 of 2 times" in told


def test_a_predicted_number_far_off_is_not_right(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    piped(tmp_path, ["sender_lead_volts", "fuse", "9 v", "give up"])
    assert "predicted 9.00 V: not so" in capsys.readouterr().out
