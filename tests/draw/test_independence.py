"""Pictures need neither a display nor pyplot's figures."""

import os
import subprocess
import sys
from pathlib import Path

DRAW = """
import matplotlib
from gaugesim.circuit import find
from gaugesim.draw import dials, draw_dials, draw_schematic, scene, schematic
shown = scene(find("temp_two_coil"))
for ax in (draw_dials(dials(shown)), draw_schematic(schematic(shown))):
    ax.figure.savefig({target!r})
import matplotlib.pyplot
print(matplotlib.pyplot.get_fignums())
"""


def test_pictures_are_drawn_without_a_display_and_leave_no_figure_behind(
    repository: Path, tmp_path: Path
) -> None:
    bare = {
        name: value
        for name, value in os.environ.items()
        if name not in ("DISPLAY", "MPLBACKEND", "WAYLAND_DISPLAY")
    }
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", DRAW.format(target=str(tmp_path / "picture.png"))],
        cwd=repository,
        env=bare,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "[]\n"
    assert (tmp_path / "picture.png").stat().st_size > 10_000
