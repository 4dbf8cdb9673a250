"""What README.md and the notebooks show of the program, and how it is made anew: ``python tests/outputs.py``.

With file names after it, only these. The tests compare what is shown with what comes out today, so nothing
shown is ever typed by hand.
"""

from __future__ import annotations

import base64
import contextlib
import io
import os
import re
import shlex
import sys
from pathlib import Path
from typing import Any

import nbformat
from nbclient import NotebookClient

from gaugesim.cli import main

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
CASE = ROOT / "netlists/cases/needles_up_before_start.toml"
# enough for lines, letters and hatches; a picture is then a third of the size
_COLOURS = 32

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
    with contextlib.chdir(ROOT), contextlib.redirect_stdout(into):
        status = main(words)
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


def executed(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """A notebook with the outputs of a run in the top folder; an error in a cell is an error here."""
    resources = {"metadata": {"path": str(ROOT)}}
    client = NotebookClient(
        notebook, timeout=600, kernel_name="python3", resources=resources, record_timing=False
    )
    # pictures go where a kernel puts them by itself
    done = client.execute(env={name: value for name, value in os.environ.items() if name != "MPLBACKEND"})
    for output in outputs(done):
        if "image/png" in output.get("data", {}):
            output["data"]["image/png"] = _small(output["data"]["image/png"])
    done.metadata["language_info"] = {"name": "python"}
    return done


def outputs(notebook: nbformat.NotebookNode) -> list[Any]:
    """All outputs, in the order of the cells."""
    return [output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs]


def texts(notebook: nbformat.NotebookNode) -> list[str]:
    """What one can read in the outputs; a picture counts as being there."""
    found = []
    for output in outputs(notebook):
        data = output.get("data", {})
        shown = "a picture" if "image/png" in data else data.get("text/plain", "")
        found.append(output.get("text") or shown + data.get("text/html", ""))
    return found


def _small(picture: str) -> str:
    """A picture in few colours."""
    from PIL import Image

    into = io.BytesIO()
    image = Image.open(io.BytesIO(base64.b64decode(picture))).convert("RGB")
    image.quantize(_COLOURS).save(into, "png", optimize=True)
    return base64.b64encode(into.getvalue()).decode()


def renew(path: Path) -> None:
    """Put into a file what comes out today."""
    if path.suffix == ".ipynb":
        nbformat.write(executed(nbformat.read(path, as_version=4)), path)
    else:
        path.write_text(renewed(path.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    for path in [Path(name) for name in sys.argv[1:]] or [README, *NOTEBOOKS]:
        renew(path)
