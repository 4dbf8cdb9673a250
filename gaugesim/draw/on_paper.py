"""A still of the bench: dials, what is read and the circuit, without sliders, large enough for paper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from gaugesim.draw.dial import Dial, DialView
from gaugesim.draw.live import LiveSchematic
from gaugesim.draw.schematics import Schematic
from gaugesim.draw.style import new_page, wrapped

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# A3 across: a whole cluster has some hundred lines of letters
SIZE = (16.5, 11.7)  # [inch]
TITLE, TEXT = 13.0, 10.5  # size of letters [point]
# share of the width that dials and words have
_LEFT = 0.27
# letters in a line of the title and of the text
_WRAP_TITLE, _WRAP = 40, 52
# height of a line of the text, in its letters
_LINE = 1.35


def draw_on_paper(
    title: str, lines: Sequence[str], shown: Sequence[Dial], picture: Schematic, values: bool = True
) -> Figure:
    """Draw a still.

    Parameters
    ----------
    picture : Schematic
        Drawn ``fixed``.
    """
    page = new_page(*SIZE)
    page.set_axis_off()
    figure = page.get_figure(root=True)
    assert figure is not None
    head, text = wrapped(title, _WRAP_TITLE), "\n".join(wrapped(line, _WRAP) for line in lines)
    figure.text(0.012, 0.985, head, va="top", fontsize=TITLE, weight="bold")
    below = 0.975 - _height(head, TITLE)
    figure.text(0.012, below, text, va="top", fontsize=TEXT, linespacing=_LINE)
    below -= _height(text, TEXT) + 0.02
    # few dials are no larger than they are in a column of three
    height = min(below - 0.01, 0.27 * len(shown))
    dials = figure.add_axes((0.012, below - height, _LEFT - 0.02, height))
    DialView(shown, dials, columns=1)
    LiveSchematic(picture, figure.add_axes((_LEFT + 0.01, 0.01, 0.98 - _LEFT, 0.98)), values)
    return figure


def _height(text: str, letters: float) -> float:
    """Share of the page that some lines take."""
    return (text.count("\n") + 1) * letters * _LINE / (72 * SIZE[1])
