"""What the tests of all pictures need: texts that cover each other, artists by name."""

from collections.abc import Callable
from itertools import combinations

import pytest
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.text import Text

from gaugesim import circuit

CIRCUITS = circuit.available()


def shown_texts(ax: Axes) -> list[Text]:
    figure = ax.get_figure(root=True)
    figure.draw_without_rendering()
    hidden = set()  # ticks beyond the limits have texts that are never drawn
    for axes in figure.findobj(Axes):
        for axis in (axes.xaxis, axes.yaxis):
            drawn = axis._update_ticks() if axes.axison else []
            every = [*axis.majorTicks, *axis.minorTicks]
            hidden |= {text for tick in every if tick not in drawn for text in (tick.label1, tick.label2)}
            hidden |= set() if axes.axison else {axis.label, axis.offsetText}
    texts = [text for text in figure.findobj(Text) if text not in hidden]
    return [text for text in texts if text.get_visible() and text.get_text().strip()]


def find_overlaps(ax: Axes) -> list[tuple[str, str]]:
    boxes = [(text.get_text(), text.get_window_extent()) for text in shown_texts(ax)]
    return [
        (first, second)
        for (first, one), (second, other) in combinations(boxes, 2)
        if min(one.x1, other.x1) - max(one.x0, other.x0) > 0.5
        and min(one.y1, other.y1) - max(one.y0, other.y0) > 0.5
    ]


def find_outside(ax: Axes) -> list[str]:
    page = ax.get_figure(root=True).bbox
    return [
        text.get_text()
        for text in shown_texts(ax)
        for box in [text.get_window_extent()]
        if box.x0 < -0.5 or box.y0 < -0.5 or box.x1 > page.x1 + 0.5 or box.y1 > page.y1 + 0.5
    ]


@pytest.fixture(params=CIRCUITS)
def any_circuit(request: pytest.FixtureRequest) -> circuit.Circuit:
    return circuit.find(request.param)


@pytest.fixture
def legible() -> Callable[[Axes], None]:
    """Fails where texts cover each other or leave the page."""

    def check(ax: Axes) -> None:
        assert find_overlaps(ax) == []
        assert find_outside(ax) == []

    return check


@pytest.fixture
def named() -> Callable[[Axes, str], Artist]:
    """The one artist of a name."""

    def find(ax: Axes, name: str) -> Artist:
        (artist,) = ax.findobj(lambda each: each.get_gid() == name)
        return artist

    return find
