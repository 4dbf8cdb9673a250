"""What README.md shows of the program, and how it is made anew: ``python tests/outputs.py``.

The tests compare it with what the program prints, so nothing shown is ever typed by hand.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
from pathlib import Path

from gaugesim.cli import main

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
CASE = ROOT / "netlists/cases/needles_up_before_start.toml"

_CONSOLE = re.compile(r"(?<=```console\n).*?(?=```)", re.DOTALL)
_TOML = re.compile(r"(?<=```toml\n).*?(?=```)", re.DOTALL)


def sessions(text: str) -> list[tuple[str, str]]:
    """Commands of the console blocks of a text, each with what is shown below it."""
    parts = [part for block in _CONSOLE.findall(text) for part in re.split(r"^\$ ", block, flags=re.M)[1:]]
    return [(command.strip(), shown) for command, _, shown in (part.partition("\n") for part in parts)]


def printed(command: str) -> str:
    """What a command of the README prints, run in the top folder."""
    program, *words = shlex.split(command)
    assert program == "gaugesim"
    into = io.StringIO()
    before = Path.cwd()
    os.chdir(ROOT)
    try:
        with contextlib.redirect_stdout(into):
            status = main(words)
    finally:
        os.chdir(before)
    assert status == 0, command
    return into.getvalue()


def renewed(text: str) -> str:
    """A README with the shipped case and with what its commands print today."""
    text = _TOML.sub(lambda _: CASE.read_text(encoding="utf-8"), text, count=1)
    for command, shown in sessions(text):
        if shown.strip():
            end = "\n" if shown.endswith("\n\n") else ""
            text = text.replace(f"$ {command}\n{shown}", f"$ {command}\n{printed(command)}{end}", 1)
    return text


if __name__ == "__main__":
    README.write_text(renewed(README.read_text(encoding="utf-8")), encoding="utf-8")
