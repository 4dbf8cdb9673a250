"""What all pictures share: axes without pyplot, lines that differ without colour, numbers as texts."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MAKER: ContextVar[Callable[..., Figure] | None] = ContextVar("maker", default=None)


# Okabe and Ito's colours for all kinds of colour vision, ordered so that neighbours differ in lightness too;
# each goes with a line style and a marker of its own, so print in black and white loses nothing.
COLOURS = ("#000000", "#D55E00", "#0072B2", "#009E73", "#CC79A7", "#E69F00", "#56B4E9")
DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (5, 2),
    (1, 1.5),
    (6, 2, 1, 2),
    (3, 1.5),
    (8, 3),
    (4, 1, 1, 1, 1, 1),
)
MARKERS = ("o", "s", "^", "D", "v", ">", "<")
DISTINCT = 2 * len(MARKERS)  # curves that differ without colour: each marker filled and hollow
# nine of ten sound gauges, as what surrounds a curve
BAND: dict[str, Any] = {
    "facecolor": "0.88",
    "edgecolor": "0.5",
    "hatch": "////",
    "linewidth": 0.5,
    "label": "9 of 10",
}
FAINT = "0.45"  # still 4.5 to 1 against white
NO_VOLTAGE = "no voltage"
NO_CURRENT = "no current"

# below these a test lamp and a common meter show nothing
LIVE_VOLTS = 0.05
LIVE_AMPERES = 1e-5

# what no meter of a workshop tells from nothing, in any unit
NOTHING = 1e-7
_PREFIXES = ((1e-6, "µ"), (1e-3, "m"), (1.0, ""), (1e3, "k"), (1e6, "M"))


def new_axes(width: float, height: float) -> Axes:
    """Axes on a figure of their own, without pyplot and without a display.

    Parameters
    ----------
    width, height : float
        Of the figure [inch].
    """
    return _new_figure(figsize=(width, height), layout="constrained").add_subplot()


def new_page(width: float, height: float) -> Axes:
    """Axes that fill a figure of their own to its edges.

    Parameters
    ----------
    width, height : float
        Of the figure [inch].
    """
    return _new_figure(figsize=(width, height)).add_axes((0.0, 0.0, 1.0, 1.0))


@contextmanager
def figures_of(make: Callable[..., Figure]) -> Iterator[None]:
    """While it lasts new figures are made by something else, such as ``pyplot.figure`` that shows them."""
    before = _MAKER.set(make)
    try:
        yield
    finally:
        _MAKER.reset(before)


def _new_figure(**options: Any) -> Figure:
    from matplotlib.figure import Figure

    return (_MAKER.get() or Figure)(**options)


def scale_of_ohms(ax: Axes, which: str) -> None:
    """Make the axis ``x`` or ``y`` logarithmic, with plain numbers on it."""
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    ax.set(**{f"{which}scale": "log"})
    axis = getattr(ax, f"{which}axis")
    axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axis.set_major_formatter(FuncFormatter(lambda ohms, _: f"{ohms:g}"))
    axis.set_minor_formatter(NullFormatter())


def points_per_unit(ax: Axes, width: float, height: float) -> float:
    """Scale of a drawing that just fits into axes [point].

    Parameters
    ----------
    width, height : float
        Of the drawing, in its own unit [1].
    """
    figure = ax.get_figure(root=True)
    dots = figure.dpi if figure is not None else 72.0
    box = ax.get_window_extent()
    return float(min(box.width / width, box.height / height) * 72 / dots)


def line_style(number: int) -> dict[str, object]:
    """Colour, dashes and marker of the n-th curve, for ``ax.plot``.

    Parameters
    ----------
    number : int
        From 0; below `DISTINCT` no two are alike in print either [1].

    Examples
    --------
    >>> line_style(1)
    {'color': '#D55E00', 'linestyle': (0, (5, 2)), 'marker': 's'}
    """
    dashes = DASHES[number % len(DASHES)]
    return {
        "color": COLOURS[number % len(COLOURS)],
        "linestyle": (0, dashes) if dashes else "-",
        **marker_style(number),
    }


def marker_style(number: int) -> dict[str, object]:
    """Marker of the n-th curve: filled ones first, then hollow ones.

    Examples
    --------
    >>> marker_style(1), marker_style(1 + len(MARKERS))
    ({'marker': 's'}, {'marker': 's', 'markerfacecolor': 'white'})
    """
    hollow = {"markerfacecolor": "white"} if number // len(MARKERS) % 2 else {}
    return {"marker": MARKERS[number % len(MARKERS)], **hollow}


def number_text(value: float, unit: str) -> str:
    """A number with three digits and a prefix.

    Parameters
    ----------
    value : float
        In the unit without prefix [1].

    Examples
    --------
    >>> number_text(0.0612, "A"), number_text(13.55, "V"), number_text(240.0, "Ω"), number_text(1e7, "Ω")
    ('61.2 mA', '13.6 V', '240 Ω', '10 MΩ')
    >>> number_text(float("inf"), "Ω"), number_text(0.0, "Ω"), number_text(2.7e-11, "V")
    ('open', '0 Ω', '0 V')
    """
    if math.isinf(value):
        return "open" if unit == "Ω" else f"{'-' if value < 0 else ''}∞ {unit}"
    size = abs(value)
    if size < NOTHING:
        return f"0 {unit}"
    factor, prefix = next((each for each in _PREFIXES if size < 999.5 * each[0]), _PREFIXES[-1])
    return f"{value / factor:.3g} {prefix}{unit}"


def volts_text(volts: float) -> str:
    """A node's voltage as a meter shows it.

    Parameters
    ----------
    volts : float
        NaN where the node is cut off from everything [V].

    Examples
    --------
    >>> volts_text(13.553), volts_text(-0.0152), volts_text(float("nan")), volts_text(-1e-7)
    ('13.55 V', '-0.02 V', 'no voltage', '0.00 V')
    """
    if math.isnan(volts):
        return NO_VOLTAGE
    return f"{round(volts, 2) + 0.0:.2f} V"


def amperes_text(amperes: float) -> str:
    """A branch's current with an arrow, downwards where it is positive.

    Parameters
    ----------
    amperes : float
        Down the page [A].

    Examples
    --------
    >>> amperes_text(0.0612), amperes_text(-2.5), amperes_text(1e-9)
    ('↓ 61.2 mA', '↑ 2.5 A', 'no current')
    """
    if abs(amperes) < LIVE_AMPERES:
        return NO_CURRENT
    return f"{'↓' if amperes > 0 else '↑'} {number_text(abs(amperes), 'A')}"


def wrapped(text: str, letters: int) -> str:
    r"""A text with each of its lines wrapped.

    Parameters
    ----------
    letters : int
        In a line at most [1].

    Examples
    --------
    >>> wrapped("key on, engine cold\nlamps lit", 8)
    'key on,\nengine\ncold\nlamps\nlit'
    """
    return "\n".join(line for each in text.splitlines() for line in textwrap.wrap(each, letters))


@cache
def text_width(text: str, points: float, weight: str = "normal") -> float:
    """Width of a line of text [point].

    Parameters
    ----------
    points : float
        Size of its letters [point].
    """
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextToPath

    width, _, _ = TextToPath().get_text_width_height_descent(
        text, FontProperties(size=points, weight=weight), ismath=False
    )
    return float(width)
