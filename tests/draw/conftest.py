"""What the tests of all pictures need: texts that cover each other, artists by name."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.text import Text
from matplotlib.transforms import Bbox, BboxBase

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


Boxes = list[tuple[str, Bbox]]


def boxes_of(ax: Axes) -> Boxes:
    return [(text.get_text(), text.get_window_extent()) for text in shown_texts(ax)]


def find_overlaps(boxes: Boxes) -> list[tuple[str, str]]:
    corners = np.array([box.extents for _, box in boxes]).reshape(-1, 4)
    low, high = corners[:, None, :2], corners[:, None, 2:]
    shared = np.minimum(high, high.swapaxes(0, 1)) - np.maximum(low, low.swapaxes(0, 1))
    both = np.argwhere(np.triu((shared > 0.5).all(axis=-1), 1))
    return [(boxes[i][0], boxes[k][0]) for i, k in both]


def find_outside(boxes: Boxes, page: BboxBase) -> list[str]:
    return [
        text
        for text, box in boxes
        if box.x0 < -0.5 or box.y0 < -0.5 or box.x1 > page.x1 + 0.5 or box.y1 > page.y1 + 0.5
    ]


@pytest.fixture(params=CIRCUITS)
def any_circuit(request: pytest.FixtureRequest) -> circuit.Circuit:
    return circuit.find(request.param)


@pytest.fixture
def legible() -> Callable[[Axes], None]:
    """Fails where texts cover each other or leave the page."""

    def check(ax: Axes) -> None:
        boxes = boxes_of(ax)
        assert find_overlaps(boxes) == []
        assert find_outside(boxes, ax.get_figure(root=True).bbox) == []

    return check


@pytest.fixture
def named() -> Callable[[Axes, str], Artist]:
    """The one artist of a name."""

    def find(ax: Axes, name: str) -> Artist:
        (artist,) = ax.findobj(lambda each: each.get_gid() == name)
        return artist

    return find
