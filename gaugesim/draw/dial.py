"""The dial: needle, the band that tolerances leave, marks and stops."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.draw.labels import write_marks
from gaugesim.draw.scenes import Scene
from gaugesim.draw.style import FAINT, new_page, points_per_unit, text_width
from gaugesim.reading.words import marked
from gaugesim.sheet import Gauge, Mark

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

# a quarter turn over the top, whatever the movement behind it
LOW_DEGREES, HIGH_DEGREES = 135.0, 45.0
_WIDTH, _HEIGHT = 2.6, 2.3  # cell of one dial, in dial radii
_KEY = 0.3  # height of the line below that says what the signs mean
_INCHES = 0.95  # a dial's radius on a page of its own

_BAND: dict[str, Any] = {"facecolor": "0.85", "edgecolor": "0.35", "hatch": "////"}
_RING: dict[str, Any] = {
    "marker": "o",
    "markerfacecolor": "white",
    "markeredgecolor": "black",
    "linestyle": "none",
}


@dataclass(frozen=True)
class Dial:
    """What one dial shows.

    Attributes
    ----------
    position : float or None
        Of the needle; None where nothing drives it.
    low, high : float or None
        5 and 95 % over tolerances.
    truth : float or None
        Where the needle should stand; None where the scale does not say.
    """

    gauge: str
    words: str
    marks: tuple[Mark, ...]
    stops: tuple[float, float]
    position: float | None
    low: float | None
    high: float | None
    word: str
    truth: float | None = None

    @property
    def degrees(self) -> float | None:
        """Direction of the drawn needle, anticlockwise from the right; None where nothing drives it."""
        return None if self.position is None else dial_degrees(self.position)


def dial_degrees(position: Any) -> Any:
    """Direction on the drawn dial. Anticlockwise from the right [degree].

    Parameters
    ----------
    position : float or ndarray
        0 at the low mark, 1 at the top mark [1].

    Examples
    --------
    >>> dial_degrees(0.0), dial_degrees(0.5), dial_degrees(1.0)
    (135.0, 90.0, 45.0)
    """
    return LOW_DEGREES + position * (HIGH_DEGREES - LOW_DEGREES)


def dials(scene: Scene) -> tuple[Dial, ...]:
    """Every dial of a scene.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.draw.scenes import scene
    >>> [dial.word for dial in dials(scene(find("temp_opposed_coil"), faults=["stud_bias=open"]))]
    ['half']
    """
    values = scene.circuit.parameter_values(scene.situation.parameters)
    result = []
    for gauge in scene.circuit.sheet.gauges.values():
        needle = scene.seen.needles[gauge.id]
        changed = scene.scenarios.parameters.get(gauge.reads)
        true = float(values[gauge.reads])
        if changed is not None and not np.isnan(changed[0]):
            true = float(changed[0])
        result.append(
            Dial(
                gauge.id, gauge.words, gauge.marks, gauge.stops, needle.position, needle.low, needle.high,
                needle.word, _truth(gauge, true),
            )
        )  # fmt: skip
    return tuple(result)


def _truth(gauge: Gauge, value: float) -> float | None:
    """Position of a true value on the scale: straight lines between its marks."""
    marks = sorted((mark.at, mark.position) for mark in gauge.marks)
    if len(marks) < 2:
        return None
    at, positions = zip(*marks, strict=True)
    return float(np.interp(value, at, positions))


def draw_dials(shown: Sequence[Dial], ax: Axes | None = None) -> Axes:
    """Draw dials side by side.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.draw import dials, draw_dials, scene
    >>> ax = draw_dials(dials(scene(find("temp_two_coil"))))
    >>> "120" in [text.get_text() for text in ax.texts]
    True
    """
    return DialView(shown, ax).ax


class DialView:
    """Dials on their axes, whose needles can be moved.

    Parameters
    ----------
    least : float, optional
        Size of the letters at least [point].
    """

    def __init__(
        self, shown: Sequence[Dial], ax: Axes | None = None, columns: int = 4, least: float = 0.0
    ) -> None:
        columns = max(1, min(columns, len(shown)))
        rows = -(-len(shown) // columns)
        width, height = columns * _WIDTH, rows * _HEIGHT + _KEY
        self.ax = ax if ax is not None else new_page(width * _INCHES, height * _INCHES)
        self.ax.set_axis_off()
        self.ax.set(xlim=(0, width), ylim=(-height, 0), aspect="equal")
        points = points_per_unit(self.ax, width, height)
        self.letters = max(0.125 * points, least)
        self.points, self.least = points, least
        self.line = points / 68
        self.centres = [
            ((i % columns + 0.5) * _WIDTH, -(i // columns + 1) * _HEIGHT + 0.45) for i in range(len(shown))
        ]
        if any(dial.low is not None or dial.truth is not None for dial in shown):
            self._explain(width, height)
        self._parts: list[dict[str, Any]] = [
            self._face(dial, centre) for dial, centre in zip(shown, self.centres, strict=True)
        ]
        self.moving: list[Artist] = [artist for parts in self._parts for artist in parts.values()]
        self.renew(shown)

    def _explain(self, width: float, height: float) -> None:
        """The line below: what band and ring mean."""
        from matplotlib.patches import Rectangle

        y, size = 0.14 - height, max(0.1125 * self.points, self.least)
        band, truth = "9 of 10 such gauges", "true value"
        per_point = 1.0 / self.points  # dial radii in a point
        long = text_width(band, size) * per_point
        x = width / 2 - (long + text_width(truth, size) * per_point + 0.7) / 2
        self.ax.add_patch(
            Rectangle((x, y - 0.05), 0.16, 0.1, **_BAND, linewidth=0.6 * self.line, clip_on=False)
        )
        self.ax.text(x + 0.22, y, band, va="center", fontsize=size)
        self.ax.plot(x + 0.22 + long + 0.24, y, markersize=5 * self.line, clip_on=False, **_RING)
        self.ax.text(x + 0.22 + long + 0.34, y, truth, va="center", fontsize=size)

    def _face(self, dial: Dial, centre: tuple[float, float]) -> dict[str, Any]:
        """What stays, and the parts that move."""
        from matplotlib.patches import Circle, Polygon

        x, y = centre
        ax = self.ax
        sweep = np.linspace(*dial.stops, 61)
        ax.plot(*_at(centre, 1.0, sweep), color="black", linewidth=1.2 * self.line, zorder=3)
        for stop in dial.stops:
            peg = _at(centre, np.array([0.93, 1.07]), stop)
            ax.plot(*peg, color="black", linewidth=3 * self.line, zorder=3, gid=f"stop-{dial.gauge}")
        for mark in dial.marks:
            tick = _at(centre, np.array([0.88, 1.0]), mark.position)
            ax.plot(*tick, color="black", linewidth=1.6 * self.line, gid=f"mark-{dial.gauge}")
        larger = self.letters / self.points - 0.125  # letters stand further out
        write_marks(
            ax, dial.marks, lambda at: _at(centre, 1.17 + larger, at).ravel(), self.letters, 1 / self.points
        )
        title = "\n".join(textwrap.wrap(dial.words, 25))
        ax.text(x, y + 1.36, title, ha="center", va="bottom", fontsize=self.letters * 1.1, weight="bold")
        band = ax.add_patch(Polygon([[x, y]], **_BAND, linewidth=0.6 * self.line, zorder=2))
        (needle,) = ax.plot([], [], color="black", linewidth=2.6 * self.line, solid_capstyle="butt", zorder=5)
        ax.add_patch(Circle(centre, 0.07, facecolor="black", zorder=6))
        (truth,) = ax.plot([], [], markersize=6 * self.line, zorder=4, **_RING)
        word = ax.text(x, y - 0.22, "", ha="center", va="center", fontsize=self.letters)
        parts = {"band": band, "needle": needle, "truth": truth, "word": word}
        for name, artist in parts.items():
            artist.set_gid(f"{name}-{dial.gauge}")
        return parts

    def renew(self, shown: Sequence[Dial]) -> None:
        """Move the needles."""
        for dial, centre, parts in zip(shown, self.centres, self._parts, strict=True):
            driven = dial.position is not None
            low, high = (dial.low, dial.high) if driven else dial.stops
            parts["band"].set_visible(low is not None and high is not None)
            if low is not None and high is not None:
                across = np.linspace(low, high, 25)
                outer, inner = _at(centre, 0.84, across), _at(centre, 0.62, across[::-1])
                parts["band"].set_xy(np.concatenate([outer, inner], axis=1).T)
            if dial.position is None:
                parts["needle"].set_data([], [])
            else:
                parts["needle"].set_data(*_at(centre, np.array([0.0, 0.95]), dial.position))
            parts["truth"].set_data(
                *(([], []) if dial.truth is None else _at(centre, 1.0, np.array([dial.truth])))
            )
            word = marked(dial.word)
            parts["word"].set_text(word if driven else "not driven: may stand anywhere")
            parts["word"].set_color("black" if driven else FAINT)


def _at(centre: tuple[float, float], radius: Any, position: Any) -> Any:
    """Points of a dial, shape (2, points)."""
    turn = np.radians(dial_degrees(np.asarray(position)))
    x, y = np.broadcast_arrays(centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn))
    return np.stack([np.atleast_1d(x), np.atleast_1d(y)])
