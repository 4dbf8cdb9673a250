"""Why a needle stands where it stands, as a picture: the coils' arrows end to end, or heat and a strip."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.draw.labels import write_marks
from gaugesim.draw.style import COLOURS, DASHES, FAINT, new_page, wrapped
from gaugesim.reading.names import amount, coil_words
from gaugesim.reading.reason_words import in_short, towards
from gaugesim.reading.reasons import GaugeWhy, Why
from gaugesim.reading.words import needle_word
from gaugesim.sheet import Gauge
from gaugesim.vocabulary import spoken

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SIZE = (40 / 3, 7.5)  # a wall screen: 1920 by 1080 at 144 dots an inch [inch]
_LETTERS = 16.0
_HEAD = 20.0
_HALF = 38  # letters of a heading over one half
_ASIDE = 0.045  # how far an arrow back along the one before is moved aside, as a share of the longest way


def draw_why(reasons: Why, gauge: str, fault: str = "", ax: Axes | None = None) -> Axes:
    """Draw why a needle stands where it stands, sound beside faulty.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.reading import Situation, why
    >>> ax = draw_why(why(Situation.of(find("temp_bridge"))), "temperature")
    >>> [text.get_text() for text in ax.texts if "together" in text.get_text()]
    ['together: 22.1 ampere-turns']
    """
    ax = ax if ax is not None else new_page(*SIZE)
    ax.set_axis_off()
    ax.set(xlim=(0, 72 * SIZE[0]), ylim=(0, 72 * SIZE[1]), aspect="equal")
    width, height = 72 * SIZE[0], 72 * SIZE[1]
    shown = [("as it should be", reasons.sound.gauges[gauge])] if reasons.sound else []
    shown.append((wrapped(fault or "with the fault", _HALF) if reasons.sound else "", reasons.gauges[gauge]))
    short = in_short(reasons, gauge)
    state = reasons.situation.circuit.sheet.states[reasons.situation.state]
    title = f"{reasons.gauges[gauge].gauge.words}: {state.words}"
    top = height - 14
    for line in wrapped(title, 72).splitlines():
        ax.text(16, top, line, fontsize=_HEAD, weight="bold", va="top")
        top -= 1.3 * _HEAD
    foot = 14.0
    for line in reversed(wrapped(short, 100).splitlines()):
        ax.text(16, foot, line, fontsize=_LETTERS, va="bottom")
        foot += 1.3 * _LETTERS
    column = (width - 32) / len(shown)
    most = max([np.hypot(arrow.x, arrow.y) for _, own in shown for arrow in own.arrows] or [0.0])
    headings = max(words.count("\n") + bool(words) for words, _ in shown)
    room = (1.3 * headings + 0.3 * bool(headings)) * _HEAD
    for k, (words, own) in enumerate(shown):
        box = (16 + k * column, foot + 8, column - 16, top - foot - 16 - room)
        if words:
            ax.text(box[0] + box[2] / 2, top - 6, words, fontsize=_HEAD, ha="center", va="top")
        if own.arrows:
            _draw_arrows(ax, reasons, own, box, float(most), [each for _, each in shown])
        else:
            _draw_share(ax, reasons, own, box)
    return ax


def tips(own: GaugeWhy) -> list[tuple[float, float]]:
    """Where the coils' arrows end when they are put end to end, the pull-off magnet's last.

    From the spindle [ampere-turns]; the last is their sum.

    Parameters
    ----------
    own : GaugeWhy
        Of an air-core movement.
    """
    x = y = 0.0
    result = []
    for step in [*((arrow.x, arrow.y) for arrow in own.arrows), own.gauge.rest]:
        x, y = x + step[0], y + step[1]
        result.append((x, y))
    return result


def _extent(own: GaugeWhy) -> float:
    return float(max(np.hypot(x, y) for x, y in tips(own)))


def _draw_arrows(
    ax: Axes,
    reasons: Why,
    own: GaugeWhy,
    box: tuple[float, float, float, float],
    most: float,
    every: Sequence[GaugeWhy],
) -> None:
    """Arrows end to end inside the scale, which is drawn in the directions that the movement has."""
    gauge, circuit = own.gauge, reasons.situation.circuit
    left, foot, width, height = box
    rows = len(own.arrows) + 1 + any(gauge.rest)
    legend = 1.35 * _LETTERS * rows
    radius = min(width / 2 - 30, (height - legend) / 2 - 36)
    x0, y0 = left + width / 2, foot + legend + (height - legend) / 2 + 10
    reach = max([most, *map(_extent, every)])
    unit = 0.86 * radius / reach if reach else 1.0
    _scale(ax, gauge, (x0, y0), radius)
    start = np.array([x0, y0])
    before = np.zeros(2)
    size = _ASIDE * radius
    names = [coil_words(circuit, arrow.element) for arrow in own.arrows]
    steps = [(arrow.x, arrow.y) for arrow in own.arrows]
    if any(gauge.rest):
        names, steps = [*names, "pull-off magnet"], [*steps, gauge.rest]
    for k, (name, step) in enumerate(zip(names, steps, strict=True)):
        way = unit * np.array(step)
        length = float(np.hypot(*way))
        aside = np.zeros(2)
        if length > 0 and np.dot(before, way) < -0.98 * np.hypot(*before) * length:
            aside = size * np.array([way[1], -way[0]]) / length
        colour = COLOURS[1 + k % (len(COLOURS) - 1)]
        if length > 2.0:
            _arrow(ax, start + aside, start + way + aside, colour, DASHES[k % 4], 3.0, f"arrow-{k}")
        start, before = start + way, way
        row = foot + legend - (k + 0.7) * 1.35 * _LETTERS
        flows = f"{amount(abs(own.arrows[k].amperes), 'A')}, " if k < len(own.arrows) else ""
        _legend(ax, left, row, colour, DASHES[k % 4], f"{name}: {flows}{np.hypot(*step):.1f} ampere-turns")
    total = float(np.hypot(*own.total))
    if own.degrees is not None and total >= gauge.friction:
        tip = (x0 + unit * own.total[0], y0 + unit * own.total[1])
        _arrow(ax, np.array([x0, y0]), np.array(tip), "black", (), 5.0, "sum")
    row = foot + legend - (len(names) + 0.7) * 1.35 * _LETTERS
    _legend(ax, left, row, "black", (), f"together: {total:.1f} ampere-turns", 5.0)
    if own.position is not None:
        turn = np.radians(gauge.degrees_low + own.position * (gauge.degrees_high - gauge.degrees_low))
        end = x0 + 0.95 * radius * np.cos(turn), y0 + 0.95 * radius * np.sin(turn)
        ax.plot([x0, end[0]], [y0, end[1]], color="0.6", linewidth=2.0, zorder=3, gid="needle")
    ax.plot([x0], [y0], "o", color="black", markersize=9, zorder=6)
    ax.text(x0, y0 - radius - 6, _stands(own), fontsize=_LETTERS, ha="center", va="top", weight="bold")


def _stands(own: GaugeWhy) -> str:
    if own.position is None:
        return "nothing drives the needle"
    where = f"needle {spoken(needle_word(own.gauge, own.position))}, {own.position:.2f}"
    if own.stuck:
        return f"{where}: it is held"
    if own.degrees is not None and own.position in own.gauge.stops:
        return f"{where}:\nthe sum points {towards(own.gauge, own.degrees)}"
    return where


def _arrow(ax: Axes, start: Any, end: Any, colour: str, dashes: Any, wide: float, name: str) -> None:
    from matplotlib.patches import FancyArrowPatch

    arrow = FancyArrowPatch(
        start,
        end,
        arrowstyle="-|>",
        mutation_scale=6 + 4 * wide,
        linewidth=wide,
        color=colour,
        linestyle=(0, dashes) if dashes else "-",
        shrinkA=0,
        shrinkB=0,
        zorder=5,
        gid=name,
    )
    ax.add_patch(arrow)


def _legend(ax: Axes, x: float, y: float, colour: str, dashes: Any, words: str, wide: float = 3.0) -> None:
    ax.plot([x, x + 46], [y, y], color=colour, linewidth=wide, linestyle=(0, dashes) if dashes else "-")
    ax.text(x + 56, y, words, fontsize=_LETTERS, va="center")


def _scale(ax: Axes, gauge: Gauge, centre: tuple[float, float], radius: float) -> None:
    """The scale's arc with its marks, where they stand about the movement."""

    def at(position: Any, size: float) -> Any:
        turn = np.radians(gauge.degrees_low + position * (gauge.degrees_high - gauge.degrees_low))
        return centre[0] + size * np.cos(turn), centre[1] + size * np.sin(turn)

    whole = np.linspace(0, 2 * np.pi, 121)
    ax.plot(
        centre[0] + radius * np.cos(whole), centre[1] + radius * np.sin(whole), color="0.85", linewidth=1.0
    )
    ax.plot(*at(np.linspace(*gauge.stops, 61), radius), color="black", linewidth=2.0)
    for stop in gauge.stops:
        (xa, ya), (xb, yb) = at(stop, 0.95 * radius), at(stop, 1.05 * radius)
        ax.plot([xa, xb], [ya, yb], color="black", linewidth=4.0)
    for mark in gauge.marks:
        (xa, ya), (xb, yb) = at(mark.position, 0.93 * radius), at(mark.position, radius)
        ax.plot([xa, xb], [ya, yb], color="black", linewidth=2.0)
    write_marks(ax, gauge.marks, lambda position: at(position, radius + 17), _LETTERS)


def _draw_share(ax: Axes, reasons: Why, own: GaugeWhy, box: tuple[float, float, float, float]) -> None:
    """What drives the needle against what it takes at the low and top marks; a strip that bends by it."""
    gauge, circuit = own.gauge, reasons.situation.circuit
    left, foot, width, height = box
    drive = own.heat or own.turn
    assert drive is not None
    value, unit = (own.heat.watts, "W") if own.heat else (drive.amperes, "A")
    stops = [drive.low + stop * (drive.high - drive.low) for stop in gauge.stops]
    most = 1.06 * max(stops)
    x0, length = left + 14, width - 60

    def at(amount: float) -> float:
        return x0 + length * min(max(amount, 0.0), most) / most

    y = foot + 74
    ax.plot([x0, x0 + length], [y - 16, y - 16], color="black", linewidth=1.5)
    beyond = value > most
    ax.fill_between(
        [x0, at(value)], y - 14, y + 14, facecolor="0.8", edgecolor="black", hatch="////", linewidth=1.5,
        gid="drive",
    )  # fmt: skip
    if beyond:
        _arrow(
            ax, np.array([x0 + length - 6, y]), np.array([x0 + length + 26, y]), "black", (), 3.0, "beyond"
        )
    for mark, words in ((drive.low, "low mark"), (drive.high, "top mark")):
        ax.plot([at(mark)] * 2, [y - 22, y + 22], color="black", linewidth=2.5)
        ax.text(at(mark), y - 26, f"{words}\n{amount(mark, unit)}", fontsize=_LETTERS, ha="center", va="top")
    name = coil_words(circuit, drive.element)
    if own.heat:
        lines = [
            f"{name}: {amount(own.heat.amperes, 'A')} through {own.heat.ohms:.3g} Ω",
            f"current squared times ohms: {amount(value, 'W')} of heat",
        ]
    else:
        lines = [f"{name}: {amount(value, 'A')} turns the needle", "against its spring"]
    for k, line in enumerate(lines):
        ax.text(x0, y + 34 + (len(lines) - 1 - k) * 1.35 * _LETTERS, line, fontsize=_LETTERS, va="bottom")
    top = foot + height
    ax.text(left + width / 2, top - 20, _stands(own), fontsize=_LETTERS, ha="center", va="top", weight="bold")
    room = (y + 34 + 3.0 * _LETTERS, top - 20 - 1.6 * _LETTERS)
    _pointer(ax, own, (left, room[0], width, room[1] - room[0]), bends=own.heat is not None)


def _pointer(ax: Axes, own: GaugeWhy, box: tuple[float, float, float, float], bends: bool) -> None:
    """A needle over its scale, pushed by a bent strip where there is one."""
    left, foot, width, height = box
    gauge = own.gauge
    middle, radius = left + width / 2, min(0.4 * width, height - 34)
    spindle = (middle, foot + 6)

    def at(position: Any, size: float) -> Any:
        turn = np.radians(135.0 - 90.0 * np.asarray(position))
        return spindle[0] + size * np.cos(turn), spindle[1] + size * np.sin(turn)

    ax.plot(*at(np.linspace(*gauge.stops, 41), radius), color="black", linewidth=2.0)
    for mark in gauge.marks:
        (xa, ya), (xb, yb) = at(mark.position, 0.94 * radius), at(mark.position, radius)
        ax.plot([xa, xb], [ya, yb], color="black", linewidth=2.0)
    write_marks(ax, gauge.marks, lambda position: at(position, radius + 15), _LETTERS)
    if own.position is not None:
        x, y = at(own.position, 0.95 * radius)
        ax.plot([spindle[0], x], [spindle[1], y], color="black", linewidth=5.0, gid="needle")
    ax.plot(*spindle, "o", color="black", markersize=9)
    if bends and own.position is not None:
        # the strip is held at the left and bends up in proportion to its heat; how far is not to scale
        along = np.linspace(0.0, 1.0, 40)
        x1 = left + 10
        lift = 10.0 + 34.0 * own.position
        ax.plot(
            x1 + along * 0.26 * width,
            spindle[1] + lift * along**2,
            color=COLOURS[1],
            linewidth=6.0,
            gid="strip",
        )
        ax.plot([x1, x1], [spindle[1] - 12, spindle[1] + 12], color="black", linewidth=6.0)
        ax.text(x1 + 8, spindle[1] + 16, "strip", fontsize=_LETTERS, va="bottom", color=FAINT)
