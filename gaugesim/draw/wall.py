"""Dials for a whole class to see: large, sound beside faulty, on a picture of the shape of a wall screen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from gaugesim.draw.dial import Dial, DialView, dials
from gaugesim.draw.scenes import Scene
from gaugesim.draw.style import new_page, wrapped
from gaugesim.draw.why_picture import SIZE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LETTERS = 16.0  # of every text at least, on a picture 13.3 inches wide [point]
_HEAD = 22.0


def draw_wall(faulty: Scene, sound: Scene | None = None) -> Axes:
    """Draw the dials of a scene, beside those of the sound circuit.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.draw.scenes import scene
    >>> circuit = find("temp_two_coil")
    >>> ax = draw_wall(scene(circuit, faults=["sender=open"]), scene(circuit))
    >>> "as it should be" in [text.get_text() for text in ax.texts]
    True
    """
    page = new_page(*SIZE)
    figure = page.get_figure(root=True)
    assert figure is not None
    page.set_axis_off()
    page.set(xlim=(0, 1), ylim=(0, 1))
    lines = [faulty.circuit.sheet.states[faulty.situation.state].words]
    lines += [faulty.situation.check.words] if faulty.situation.check.id else []
    title = "\n".join(wrapped(line, 68) for line in lines)
    page.text(0.012, 0.975, title, fontsize=LETTERS + 2, weight="bold", va="top")
    top = 0.965 - (title.count("\n") + 1) * 1.3 * (LETTERS + 2) / (72 * SIZE[1])
    shown = [("as it should be", sound)] if sound else []
    shown.append((faulty.fault_words if sound else "", faulty))
    gauges = len(dials(faulty))
    beside = sound is not None and gauges <= 2  # else the sound ones stand above the faulty ones
    width, height = (1 / len(shown), top) if beside else (1.0, top / len(shown))
    head = 1.6 * _HEAD / (72 * SIZE[1])
    headings = [wrapped(words, 38 if beside else 80) for words, _ in shown]
    lines_above = max(heading.count("\n") for heading in headings) + 1
    for k, (heading, (_, each)) in enumerate(zip(headings, shown, strict=True)):
        left, foot = (k * width, 0.0) if beside else (0.0, top - (k + 1) * height)
        middle = left + width / 2 if beside else 0.5
        page.text(middle, foot + height - 0.01, heading, fontsize=_HEAD, ha="center", va="top")
        room = height - head * lines_above
        ax = figure.add_axes((left, foot, width, room))
        DialView(_named(each, gauges), ax, columns=1 if beside else gauges, least=LETTERS)
    return page


def _named(shown: Scene, gauges: int) -> list[Dial]:
    """Dials without the word gauge in their names, where several stand beside one another."""
    every = dials(shown)
    if gauges == 1:
        return list(every)
    return [replace(dial, words=dial.words.removesuffix(" gauge")) for dial in every]
