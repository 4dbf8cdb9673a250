"""Circuit symbols as lines of unit length, from schemdraw's."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from gaugesim.arrays import Floats


@dataclass(frozen=True)
class Symbol:
    """Lines from (0, 0), where the current goes in and a source has its plus, to (1, 0).

    Attributes
    ----------
    lines : tuple of ndarray, shape (points, 2)
        The leads end at the two terminals.
    """

    lines: tuple[Floats, ...]
    text: str


# class of schemdraw.elements, and lines of our own in the same unit that go with it
_ELEMENTS: dict[str, tuple[tuple[str, ...], tuple[tuple[tuple[float, float], ...], ...]]] = {
    "resistor": (("ResistorIEC",), ()),
    "fuse": (("FuseIEEE",), ()),
    "coil": (("Inductor",), ()),
    "heater": (("ResistorIEC",), tuple(((x, -0.25), (x, 0.25)) for x in (0.25, 0.5, 0.75))),
    "thermistor": (("Thermistor",), ()),
    "variable": (("ResistorVarIEC",), (((0.62, 0.52), (0.83, 0.58), (0.86, 0.37)),)),
    "switch_open": (("Switch",), ()),
    "switch_closed": (("Switch",), ()),
    "lamp": (("Lamp2",), ()),
    "voltmeter": (("MeterV",), ()),
    "ohmmeter": (("MeterOhm",), ()),
    "battery": (("Battery",), ()),
    "source": (("SourceV",), ()),
    "stud": (("Terminal",), ()),
    "plug": (("Plug", "Plug"), ()),
    "wire": ((), (((0.0, 0.0), (1.0, 0.0)),)),
    "foil": (
        (),
        (
            ((0.0, 0.0), (0.2, 0.0)),
            ((0.8, 0.0), (1.0, 0.0)),
            ((0.2, 0.07), (0.8, 0.07), (0.8, -0.07), (0.2, -0.07), (0.2, 0.07)),
        ),
    ),
    "lead": ((), (((0.0, 0.0), (0.3, 0.16), (0.7, -0.16), (1.0, 0.0)),)),
    "ground": (("Ground",), ()),
    "cross": (("NoConnect",), ()),
}
NAMES = tuple(_ELEMENTS)


@cache
def symbol(name: str) -> Symbol:
    """A symbol by name.

    Source
    ------
    IEC 60617 and IEEE 315 as schemdraw has them.

    Examples
    --------
    >>> symbol("wire").lines
    (array([[0., 0.],
           [1., 0.]]),)
    """
    from schemdraw import elements

    classes, own = _ELEMENTS[name]
    lines = [np.array(points, dtype=float) for points in own]
    text = ""
    for k, each in enumerate(classes):
        for segment in getattr(elements, each)().segments:
            text = text or _letter(segment)
            lines += [line + _shift(name, k) for line in _polylines(segment)]
    if name == "switch_closed":
        lines = [_closed(line) for line in lines]
    if name == "source":  # turned about: its plus is to come first
        lines = [line * [-1.0, 1.0] + [1.0, 0.0] for line in lines]
    if name in ("battery", "stud", "plug"):
        lines = _with_leads(name, lines)
    return Symbol(tuple(lines), text)


def _letter(segment: Any) -> str:
    text = getattr(segment, "text", "")
    return "Ω" if "mega" in text else str(text)


def _shift(name: str, k: int) -> Floats:
    if name == "plug":
        return np.array([-0.5 + 0.15 * k, 0.0])
    return np.array([0.5 if name == "stud" else 0.0, 0.0])


def _polylines(segment: Any) -> Iterator[Floats]:
    """The lines of one of schemdraw's segments: a path with gaps, an arc, or a circle."""
    if hasattr(segment, "path"):
        path = np.array([[point[0], point[1]] for point in segment.path], dtype=float)
        gaps = np.flatnonzero(np.isnan(path[:, 0]))
        for piece in np.split(path, gaps):
            piece = piece[~np.isnan(piece[:, 0])]
            if len(piece) > 1 and np.ptp(piece, axis=0).max() > 0:
                yield piece
    elif hasattr(segment, "theta1"):
        turn = np.radians(np.linspace(segment.theta1, segment.theta2, 13))
        radii = np.array([segment.width, segment.height]) / 2
        yield np.array(segment.center) + radii * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    elif hasattr(segment, "radius"):
        turn = np.linspace(0.0, 2 * np.pi, 25)
        yield np.array(segment.center) + segment.radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)


def _closed(line: Floats) -> Floats:
    """The blade of a switch, laid down on its contact."""
    blade = len(line) == 2 and np.ptp(line[:, 1]) > 0.2
    return np.array([[0.24, 0.0], [0.76, 0.0]]) if blade else line


def _with_leads(name: str, lines: list[Floats]) -> list[Floats]:
    """Brought to the middle of the unit length, with leads to both ends."""
    if name == "battery":
        lines = [line + np.array([0.5 - 0.5625 / 2, 0.0]) for line in lines]
        left, right = 0.5 - 0.5625 / 2, 0.5 + 0.5625 / 2
    elif name == "stud":
        left, right = 0.32, 0.68
    else:  # the lead of a plug runs to its tip
        lines = [line for line in lines if np.ptp(line[:, 1]) > 0]
        left, right = 0.5, 0.65
    return [*lines, np.array([[0.0, 0.0], [left, 0.0]]), np.array([[right, 0.0], [1.0, 0.0]])]
