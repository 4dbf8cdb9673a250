"""A copy of the program that a recipe may change, and what it then does, in a process of its own."""

import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

CHECKOUT = Path(__file__).resolve().parent.parent.parent


@dataclass
class Copied:
    """The program in a folder of its own, and which of its files a recipe has touched."""

    folder: Path
    touched: set[str] = field(default_factory=set)

    @classmethod
    def make(cls, folder: Path) -> "Copied":
        for name in ("gaugesim", "netlists"):
            shutil.copytree(CHECKOUT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(CHECKOUT / "pyproject.toml", folder)
        return cls(folder)

    def write(self, name: str, text: str) -> None:
        """A new file."""
        path = self.folder / name
        assert not path.exists()
        path.write_text(text)
        self.touched.add(name)

    def add(self, name: str, text: str, before: str = "") -> None:
        """Some lines, at the end or before a line that stands there once."""
        path = self.folder / name
        old = path.read_text()
        assert old.count(before) == 1 or not before
        path.write_text(old.replace(before, text + before) if before else old + text)
        self.touched.add(name)

    def told(self, code: str) -> Any:
        """What a program that ends with ``show(...)`` shows."""
        start = "import json\nshow = lambda value: print(json.dumps(value))\nimport gaugesim as gs\n"
        done = subprocess.run(
            [sys.executable, "-c", start + code],
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": str(self.folder), "MPLBACKEND": "agg"},
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout.splitlines()[-1])
