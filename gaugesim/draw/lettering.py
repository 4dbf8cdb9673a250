"""Many short texts that change often, drawn as one shape: a tenth of a millisecond each would be too slow."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.draw.style import FAINT, text_width

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

_COLOURS = ("black", FAINT)
_UNIT = 100.0  # size at which letters are kept [point]


@dataclass
class Lettered:
    """A text that can be changed.

    Parameters
    ----------
    x : float
        Left edge, in the axes' own unit.
    size : float
        Height of its letters, in the axes' own unit.
    color : str
        ``"black"``, or `style.FAINT`.
    """

    x: float
    baseline: float
    size: float
    text: str = ""
    color: str = "black"

    def set_text(self, text: str) -> None:
        """Change the text."""
        self.text = text

    def set_color(self, color: str) -> None:
        """Change the colour."""
        self.color = color

    def set_fontstyle(self, style: str) -> None:
        """Upright letters only."""


class Lettering:
    """Texts on axes, drawn together.

    Attributes
    ----------
    shapes : list of matplotlib.artist.Artist
        What `refresh` changes.
    """

    def __init__(self, ax: Axes) -> None:
        from matplotlib.patches import PathPatch

        self.entries: list[Lettered] = []
        self._patches = {
            colour: PathPatch(_path([]), facecolor=colour, linewidth=0, zorder=5) for colour in _COLOURS
        }
        self.shapes: list[Artist] = [ax.add_patch(patch) for patch in self._patches.values()]

    def add(self, x: float, baseline: float, size: float) -> Lettered:
        """Add a text that is still empty."""
        self.entries.append(Lettered(x, baseline, size))
        return self.entries[-1]

    def refresh(self) -> None:
        """Draw the texts as they are now."""
        for colour, patch in self._patches.items():
            patch.set_path(_path(entry for entry in self.entries if entry.color == colour))


def _path(entries: Iterable[Lettered]) -> Any:
    from matplotlib.path import Path

    vertices, codes = [np.zeros((0, 2))], [np.zeros(0, dtype=np.uint8)]
    for entry in entries:
        x, scale = entry.x, entry.size / _UNIT
        for letter in entry.text:
            shape, code, advance = _letter(letter)
            if len(code):
                vertices.append(shape * scale + (x, entry.baseline))
                codes.append(code)
            x += advance * scale
    return Path(np.concatenate(vertices), np.concatenate(codes))


@cache
def _letter(letter: str) -> tuple[Floats, np.ndarray, float]:
    """Outline of a letter and how far on the next one begins."""
    advance = text_width(f"|{letter}|", _UNIT) - text_width("||", _UNIT)
    if letter.isspace():
        return np.zeros((0, 2)), np.zeros(0, dtype=np.uint8), advance
    from matplotlib.textpath import TextPath

    path = TextPath((0, 0), letter, size=_UNIT)
    codes = np.asarray(path.codes, dtype=np.uint8)
    return np.asarray(path.vertices, dtype=float), codes, advance
