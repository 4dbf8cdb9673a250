"""Sliders under one another, each with what it stands at in words; above them a message."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gaugesim.draw.lettering import Lettered, Lettering

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.figure import Figure

_LETTERS = 7.2
_LINE = 9.0
_ROW = 27.0
_LABEL = 82.0  # width of the names [point]
_TRACK = 132.0
_GAP = 10.0
_WRAP = 37  # letters in a line beside a slider
_BUTTON = (110.0, 20.0)
_SIZE = (410.0, 405.0)  # for which all these are meant; a smaller panel has all of it smaller [point]
_MESSAGE_LETTERS = (7.2, 6.6, 6.0, 5.4, 4.8, 4.2)
_MESSAGE_LINES = 40


@dataclass(frozen=True)
class Control:
    """A slider.

    Attributes
    ----------
    low, high, start : float
        Ends, and where it stands at first, in its own unit [1].
    whole : bool
        Whether it stands at whole numbers only.
    """

    name: str
    low: float
    high: float
    start: float
    words: Callable[[], str]
    moved: Callable[[float], None]
    whole: bool = False


def list_slider(
    name: str, entries: Sequence[str], now: str, words: Callable[[], str], moved: Callable[[str], None]
) -> Control:
    """A slider over a list.

    Parameters
    ----------
    now : str
        Where it stands; the first entry if that is not in the list.
    """

    def chosen(value: float) -> None:
        moved(entries[round(value)])

    start = entries.index(now) if now in entries else 0
    return Control(name, 0, len(entries) - 1, start, words, chosen, whole=True)


class Panel:
    """Sliders and a message on a figure.

    Parameters
    ----------
    box : (float, float, float, float)
        Left, lower edge, width and height, as shares of the figure.
    buttons : mapping
        From a button's words to what it does.
    """

    def __init__(
        self,
        figure: Figure,
        box: tuple[float, float, float, float],
        controls: Sequence[Control],
        buttons: Mapping[str, Callable[[], None]],
    ) -> None:
        from matplotlib.widgets import Button, Slider

        class UndrawnSlider(Slider):
            drawon = False  # else each would draw the whole figure as soon as it is made

        self.controls = list(controls)
        whole = [72 * side for side in figure.get_size_inches()]
        scale = min(box[2] * whole[0] / _SIZE[0], box[3] * whole[1] / _SIZE[1])
        across, up = (side / scale for side in whole)
        self._width, self._height = box[2] * across, box[3] * up
        back = figure.add_axes(box)
        back.set_axis_off()
        back.set(xlim=(0, self._width), ylim=(0, self._height))
        self._lettering = Lettering(back)
        self._words: list[list[Lettered]] = []
        self._middles: list[float] = []
        self._sliders: list[Any] = []
        self._touched = 0
        self._foot = _ROW * len(self.controls) + 4.0 + (_BUTTON[1] + 4.0 if buttons else 0.0)
        for i, control in enumerate(self.controls):
            middle = self._foot - (i + 0.5) * _ROW
            back.text(0.0, middle, control.name, fontsize=_LETTERS * scale, va="center")
            corner = (box[0] + _LABEL / across, box[1] + (middle - 5) / up, _TRACK / across, 10 / up)
            handle = {"facecolor": "black", "edgecolor": "black", "size": 8 * scale}
            slider = UndrawnSlider(
                figure.add_axes(corner), "", control.low, control.high, valinit=control.start,
                valstep=1 if control.whole else None, color="0.55", track_color="0.85", initcolor="none",
                handle_style=handle,
            )  # fmt: skip
            slider.valtext.set_visible(False)
            slider.on_changed(self._listener(i))
            self._sliders.append(slider)
            left = _LABEL + _TRACK + _GAP
            self._words.append([self._lettering.add(left, middle, _LETTERS) for _ in range(3)])
            self._middles.append(middle)
        self._message = [self._lettering.add(0.0, 0.0, _LETTERS) for _ in range(_MESSAGE_LINES)]
        self._buttons = []
        for j, (words, act) in enumerate(buttons.items()):
            left = box[0] + j * (_BUTTON[0] + 6) / across
            corner = (left, box[1], _BUTTON[0] / across, _BUTTON[1] / up)
            button = Button(figure.add_axes(corner), words, color="0.9", hovercolor="0.9")
            button.label.set_fontsize(_LETTERS * scale)
            button.on_clicked(_pressed(act))
            self._buttons.append(button)
        shapes = [each for slider in self._sliders for each in (*slider.ax.patches, *slider.ax.lines)]
        self.moving: list[Artist] = [*self._lettering.shapes, *shapes]

    def _listener(self, which: int) -> Callable[[float], None]:
        def moved(value: float) -> None:
            self._touched = which
            self.controls[which].moved(float(value))

        return moved

    def close(self) -> None:
        """Let go of the mouse: a control whose axes are gone would still take a press at its place."""
        for widget in (*self._sliders, *self._buttons):
            widget.disconnect_events()

    def put(self, which: int, value: float) -> None:
        """Move a slider without telling anybody.

        Parameters
        ----------
        value : float
            In its own unit [1].
        """
        slider = self._sliders[which]
        slider.eventson = False
        slider.set_val(value)
        slider.eventson = True

    def step(self, direction: int) -> None:
        """Move the slider that was moved last by one step, or by a hundredth of its range.

        Parameters
        ----------
        direction : int
            1 or -1 [1].
        """
        slider, control = self._sliders[self._touched], self.controls[self._touched]
        size = 1.0 if control.whole else (control.high - control.low) / 100
        slider.set_val(min(max(slider.val + direction * size, control.low), control.high))

    def write(self, message: Sequence[str]) -> None:
        """Say where the sliders stand, and a message above them."""
        for control, entries, middle in zip(self.controls, self._words, self._middles, strict=True):
            lines = textwrap.wrap(control.words(), _WRAP, max_lines=len(entries), placeholder=" …")
            top = middle + (len(lines) - 1) * _LINE / 2 - 0.36 * _LETTERS
            for j, entry in enumerate(entries):
                entry.set_text(lines[j] if j < len(lines) else "")
                entry.baseline = top - j * _LINE
        size, lines = self._fitted(message)
        for j, entry in enumerate(self._message):
            entry.size, entry.baseline = size, self._height - (j + 1) * 1.25 * size
            entry.set_text(lines[j] if j < len(lines) else "")
        self._lettering.refresh()

    def _fitted(self, message: Sequence[str]) -> tuple[float, list[str]]:
        """The largest letters at which all of a message has room: no caution is ever cut short."""
        room = self._height - self._foot - 4.0
        for size in _MESSAGE_LETTERS:
            letters = int(self._width / (0.58 * size))
            lines = [line for text in message for line in textwrap.wrap(text, letters)]
            if len(lines) * 1.25 * size <= room:
                break
        return size, lines

    def texts(self) -> list[str]:
        """What is written, line by line, for those who cannot see it."""
        return [entry.text for entry in self._lettering.entries if entry.text]


def _pressed(act: Callable[[], None]) -> Callable[[Any], None]:
    return lambda _event: act()
