"""The sender's curve and the movement's curve, with the bands that tolerances leave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.draw.style import BAND, new_axes, scale_of_ohms
from gaugesim.errors import UnsolvableError
from gaugesim.reading import Situation, deviations, respond, spread
from gaugesim.scenario.tolerance import DEVIATIONS_90, DEVIATIONS_95
from gaugesim.sheet import Mark, roles

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_STEPS = 41


@dataclass(frozen=True)
class ScaleCurves:
    """A gauge and its sender over the range of the scale.

    Attributes
    ----------
    values : ndarray, shape (n,)
        True values, in that unit [1].
    ohms, ohms_low, ohms_high : ndarray, shape (n,), or None
        The sender's resistance and its 5 and 95 % [ohm]; None for a gauge without a sender.
    positions, low, high : ndarray, shape (n,)
        The needle and its 5 and 95 % [position]; NaN where nothing drives it.
    """

    words: str
    quantity: str
    unit: str
    values: Floats
    ohms: Floats | None
    ohms_low: Floats | None
    ohms_high: Floats | None
    positions: Floats
    low: Floats
    high: Floats
    marks: tuple[Mark, ...]
    stops: tuple[float, float]


def scale_curves(circuit: Circuit, gauge: str | None = None, state: str | None = None) -> ScaleCurves:
    """Work out sender and needle over the range of the scale, a tenth of it beyond each end.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> found = scale_curves(find("temp_two_coil"))
    >>> bool(found.ohms[0] > found.ohms[-1]), found.unit
    (True, 'celsius')
    """
    meant = circuit.gauge(gauge)
    quantity = circuit.sheet.quantities[meant.reads]
    ends = [mark.at for mark in meant.marks]
    beyond = 0.1 * (max(ends) - min(ends))
    low, high = max(quantity.low, min(ends) - beyond), min(quantity.high, max(ends) + beyond)
    values = np.unique(np.concatenate([np.linspace(low, high, _STEPS), ends]))
    positions, deviation = np.empty(len(values)), np.empty(len(values))
    for i, value in enumerate(values):
        situation = Situation.of(circuit, state, given={meant.reads: float(value)})
        response = respond(situation)
        positions[i] = response.positions[meant.id][0]
        deviation[i] = deviations(spread(situation, response=response).positions[meant.id])[0]
    band = np.stack([positions - DEVIATIONS_90 * deviation, positions + DEVIATIONS_90 * deviation])
    band = np.clip(band, *meant.stops)
    sender = roles().sender
    part = next(
        (each for each in circuit.sheet.parts.values() if each.id in (sender, f"{meant.id}_{sender}")), None
    )
    ohms = ohms_low = ohms_high = None
    if part is not None and part.gauge in ("", meant.id):
        elements = circuit.values({**circuit.parameters(state), meant.reads: values})
        ohms = np.broadcast_to(np.asarray(elements[part.element], dtype=float), values.shape)
        factor = (1 + part.tolerance) ** (DEVIATIONS_90 / DEVIATIONS_95)
        ohms_low, ohms_high = ohms / factor, ohms * factor
    scale = meant.marks, meant.stops
    what = meant.words, quantity.words, quantity.unit, values
    return ScaleCurves(*what, ohms, ohms_low, ohms_high, positions, band[0], band[1], *scale)


def draw_sender_curve(curves: ScaleCurves, ax: Axes | None = None) -> Axes:
    """Draw the sender's resistance against what it senses.

    Raises
    ------
    UnsolvableError
        If the gauge has no sender.
    """
    if curves.ohms is None or curves.ohms_low is None or curves.ohms_high is None:
        raise UnsolvableError(f"the {curves.words} has no sender to draw")
    ax = ax if ax is not None else new_axes(5.0, 3.8)
    ax.fill_between(curves.values, curves.ohms_low, curves.ohms_high, **BAND)
    ax.plot(curves.values, curves.ohms, color="black", linewidth=1.6, gid="sender")
    at = [mark.at for mark in curves.marks]
    ax.plot(at, np.interp(at, curves.values, curves.ohms), "o", color="black", markersize=4)
    if curves.unit == "celsius":  # a thermistor's curve is nearly straight so
        scale_of_ohms(ax, "y")
    _label(ax, curves, "sender, Ω")
    return ax


def draw_movement_curve(curves: ScaleCurves, ax: Axes | None = None) -> Axes:
    """Draw the needle against the true value, with the marks it should follow."""
    ax = ax if ax is not None else new_axes(5.0, 3.8)
    ax.fill_between(curves.values, curves.low, curves.high, **BAND)
    ax.plot(curves.values, curves.positions, color="black", linewidth=1.6, gid="needle")
    at, positions = [mark.at for mark in curves.marks], [mark.position for mark in curves.marks]
    ring = {"marker": "o", "markerfacecolor": "white", "markeredgecolor": "black", "linestyle": "none"}
    ax.plot(at, positions, markersize=6, label="marks of the scale", **ring)  # type: ignore[arg-type]
    for stop in curves.stops:
        ax.axhline(stop, color="0.4", linewidth=0.6)
    ax.set_ylim(curves.stops[0] - 0.05, curves.stops[1] + 0.05)
    ax.set_yticks([0.0, 0.25, 0.5, 0.75, 1.0], ["low", "1/4", "1/2", "3/4", "high"])
    _label(ax, curves, "needle")
    return ax


def draw_scale(curves: ScaleCurves) -> Axes:
    """Draw the sender's curve, where there is one, beside the movement's.

    The movement's, on a figure of both.
    """
    from matplotlib.figure import Figure

    if curves.ohms is None:
        return draw_movement_curve(curves)
    left, right = Figure(figsize=(10.0, 4.2), layout="constrained").subplots(1, 2)
    draw_sender_curve(curves, left)
    return draw_movement_curve(curves, right)


def _label(ax: Axes, curves: ScaleCurves, vertical: str) -> None:
    unit = {"celsius": "°C", "1": "", "none": ""}.get(curves.unit, curves.unit)
    ax.set_xlabel(f"{curves.quantity}{f', {unit}' if unit else ''}")
    ax.set_ylabel(vertical)
    ax.set_title(curves.words, fontsize=9, loc="left")
    ax.set_xlim(curves.values[0], curves.values[-1])
    ax.legend(fontsize=8, frameon=False)
    ax.spines[["top", "right"]].set_visible(False)
