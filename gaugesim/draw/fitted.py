"""A fitted gauge: the needle over the resistance, with the points and the band that they leave."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.draw.style import BAND, new_axes, scale_of_ohms
from gaugesim.errors import UnsolvableError
from gaugesim.fitting import Fit

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_STEPS = 121
_BEYOND = 1.6  # how far past the outermost points the curve is drawn, as a factor


def draw_fit(fit: Fit, ax: Axes | None = None) -> Axes:
    """Draw the needle against the resistor in place of the sender.

    Raises
    ------
    UnsolvableError
        If no needle was measured with two different resistors.
    """
    points = fit.points.needle
    measured = sorted({point.ohms for point in points if 0 < point.ohms < np.inf})
    if not fit.estimates or len(measured) < 2:
        raise UnsolvableError(
            "no needle with two different resistors, so there is no curve to draw",
            str(fit.points.path),
            "add [[needle]]",
        )
    ax = ax if ax is not None else new_axes(7.0, 4.6)
    ohms = np.geomspace(measured[0] / _BEYOND, measured[-1] * _BEYOND, _STEPS)
    positions, width = fit.band(ohms)
    ax.fill_between(ohms, positions - width, positions + width, gid="band", **BAND)
    ax.plot(ohms, positions, color="black", linewidth=1.6, label=f"fitted: {fit.movement}", gid="fit")
    looks = {False: ("o", "white", "measured"), True: ("X", "black", "measured, does not belong: left out")}
    for bad, (marker, face, words) in looks.items():
        own = [
            (point.ohms, point.position)
            for point, out in zip(points, fit.bad[: len(points)], strict=True)
            if bool(out) is bad and 0 < point.ohms < np.inf
        ]
        if own:
            style: dict[str, Any] = {
                "marker": marker,
                "markerfacecolor": face,
                "markeredgecolor": "black",
                "markersize": 8,
            }
            ax.plot(*zip(*own, strict=True), linestyle="none", label=words, **style)
    scale_of_ohms(ax, "x")
    ax.set_xlabel("ohms in place of the sender")
    ax.set_ylabel("needle, 0 the low mark, 1 the top mark")
    ax.legend(frameon=False, fontsize=9)
    ax.spines[["top", "right"]].set_visible(False)
    return ax
