"""A figure of which only a few artists move: all else is drawn once and kept as an image."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.figure import Figure


class Still:
    """Keeps what does not move as an image behind what does, on every kind of canvas.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        Complete, at its final size.
    """

    def __init__(self, figure: Figure, moving: Sequence[Artist]) -> None:
        from matplotlib.axes import Axes
        from matplotlib.axis import Axis

        kept = {*moving}
        # an axis that is off is not drawn, and asking for its ticks makes them
        drawn = [
            child
            for axes in figure.axes
            for child in axes.get_children()
            if axes.axison or not isinstance(child, Axis)
        ]
        inside = [each for child in drawn for each in child.findobj()]
        every: dict[Any, None] = dict.fromkeys([*inside, *figure.texts])
        self._resting = [
            each for each in every if each not in kept and not isinstance(each, Axes) and each.get_visible()
        ]
        for artist in moving:
            artist.set_visible(False)
        self._backdrop = _backdrop(_pixels(figure))
        for artist in moving:
            artist.set_visible(True)
        figure.add_artist(self._backdrop)
        self._rest(True)

    def _rest(self, resting: bool) -> None:
        for artist in self._resting:
            artist.set_visible(not resting)
        self._backdrop.set_visible(resting)

    @contextmanager
    def awake(self) -> Iterator[None]:
        """While it lasts everything is drawn as what it is: for a file at another size or in lines."""
        self._rest(False)
        try:
            yield
        finally:
            self._rest(True)


def _pixels(figure: Figure) -> NDArray[np.uint8]:
    """The figure as it looks now, without its window."""
    from matplotlib.backends import backend_agg

    width, height = (int(side) for side in figure.bbox.size)
    renderer: Any = backend_agg.RendererAgg(width, height, figure.dpi)  # type: ignore[no-untyped-call]
    figure.draw(renderer)
    return np.array(renderer.buffer_rgba())


def _backdrop(pixels: NDArray[np.uint8]) -> Artist:
    """An artist that puts pixels where they were; matplotlib's own images are resampled at each drawing."""
    from matplotlib.artist import Artist

    class Backdrop(Artist):
        def draw(self, renderer: Any) -> None:
            if self.get_visible():
                renderer.draw_image(renderer.new_gc(), 0, 0, pixels[::-1])

    result = Backdrop()
    result.set_zorder(-10)
    return result
