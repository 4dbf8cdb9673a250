"""Needles against time, with the pulses of the regulator below."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.draw.labels import label_ends
from gaugesim.draw.style import line_style, marker_style, new_axes
from gaugesim.transients import Coolant, Transient

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# where no needle moves further than this, its movement is drawn magnified [position]
_FLAT = 0.15
# what takes longer is told in minutes [s]
_MINUTES_FROM = 300.0


def draw_transient(run: Transient, circuit: Circuit, ax: Axes | None = None) -> Axes:
    """Draw a transient.

    The regulator's output is in an inset of it, in volts; where an engine warms up, its coolant is.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.transients import transient
    >>> circuit = find("cluster_bimetal_10v")
    >>> ax = draw_transient(transient(circuit, "key_off", "running_warm", 30.0), circuit)
    >>> [line.get_label() for line in ax.lines if not line.get_label().startswith("_")]
    ['fuel gauge', 'coolant temperature gauge']
    """
    from matplotlib.ticker import MaxNLocator

    ax = ax if ax is not None else new_axes(8.0, 5.0)
    gauges = circuit.sheet.gauges
    low, high, starts = _span(run, circuit)
    unit, clock = (1.0, "seconds") if run.times[-1] <= _MINUTES_FROM else (60.0, "minutes")
    times = run.times / unit
    labels = []
    for i, (name, course) in enumerate((name, run.positions[name]) for name in gauges):
        style = line_style(i) | {"color": "black", "markevery": 0.13 + 0.02 * i, "markersize": 4}
        positions = course - starts.get(name, 0.0)
        words = gauges[name].words + (f", from {starts[name]:.2f}" if name in starts else "")
        ax.plot(times, positions, label=words, linewidth=1.3, gid=f"needle-{name}", **style)  # type: ignore[arg-type]
        driven = positions[~np.isnan(positions)]
        labels.append((float(driven[-1]) if len(driven) else float("nan"), words, marker_style(i)))
    above = 0.05 * (high - low)
    below = run.regulator_volts is not None or run.coolant is not None
    room = 0.45 * (high - low) if below else 0.0
    if not run.touches.all():
        dots = {"facecolor": "none", "edgecolor": "0.7", "hatch": "....", "linewidth": 0}
        ax.fill_between(times, low, high, where=~run.touches, step="post", **dots, zorder=0)  # type: ignore[arg-type]
        ax.text(0.0, high, "dotted: the contact is open", fontsize=8, va="bottom")
    end = float(times[-1])
    for stop in () if starts else (low, high):
        ax.plot([0, end], [stop, stop], color="black", linewidth=0.5, zorder=0)
    ax.set(
        xlim=(0, 1.28 * end),
        ylim=(low - room, high + above),
    )
    ax.set_xlabel(f"{clock} after the {'start' if run.coolant else 'change'}", x=0.39)
    if starts:
        ticks = [tick for tick in MaxNLocator(6).tick_values(low, high) if low <= tick <= high]
        ax.set_yticks(ticks, [f"{tick:+.3g}" if abs(tick) > 1e-9 else "0" for tick in ticks])
    else:
        ax.set_yticks(
            [low, 0.0, 0.25, 0.5, 0.75, 1.0, high], ["stop", "low", "1/4", "1/2", "3/4", "high", "stop"]
        )
    ax.spines[["top", "right"]].set_visible(False)
    ax.spines.bottom.set_bounds(0, end)
    ax.spines.left.set_bounds(low, high)
    moments = MaxNLocator(integer=end > 5, steps=(1, 2, 5, 10)).tick_values(0, end)
    ax.set_xticks([tick for tick in moments if 0 <= tick <= end])
    share = 1.0 / (high - low)
    ax.set_ylabel(
        f"movement, magnified {share:.0f} times" if starts else "needle",
        y=(room + (high - low) / 2) / (high - low + room + above),
    )
    share = room / (high - low + room + above)
    if run.coolant is not None:
        _coolant(ax, times, run.coolant, share)
    elif run.regulator_volts is not None:
        _pulses(ax, times, run.regulator_volts, share)
    label_ends(ax, labels, x=end, size=8.0, span=(low, high), wrap=22, gap=0.02)
    return ax


def _span(run: Transient, circuit: Circuit) -> tuple[float, float, dict[str, float]]:
    """Ends of the axis, and where each needle starts if only its movement is drawn.

    That is so where no needle moves far: from stop to stop all would seem to stand still.
    """
    low = min(gauge.stops[0] for gauge in circuit.sheet.gauges.values())
    high = max(gauge.stops[1] for gauge in circuit.sheet.gauges.values())
    driven = {name: course[~np.isnan(course)] for name, course in run.positions.items()}
    starts = {name: float(course[0]) for name, course in driven.items() if len(course)}
    moves = [driven[name] - start for name, start in starts.items()]
    most = max((float(np.abs(move).max()) for move in moves), default=0.0)
    if not 1e-4 < most < _FLAT:
        return low, high, {}
    least, top = min(float(move.min()) for move in moves), max(float(move.max()) for move in moves)
    edge = 0.15 * (top - least)
    return least - edge, top + edge, starts


def _pulses(ax: Axes, times: Floats, volts: Floats, share: float) -> None:
    """The regulator's output in the lower part of the axes."""
    shown = np.nan_to_num(volts)
    inset = _below(ax, share, "regulator\noutput, V")
    inset.plot(times, shown, color="black", linewidth=0.8, drawstyle="steps-post", gid="regulator")
    inset.set(ylim=(0, max(1.0, 1.1 * float(shown.max()))))


def _coolant(ax: Axes, times: Floats, coolant: Coolant, share: float) -> None:
    """The coolant there, with the temperature at which the thermostat begins to open."""
    inset = _below(ax, share, "coolant, °C")
    inset.plot(times, coolant.celsius, color="black", linewidth=1.3, gid="coolant")
    end, opens = float(times[-1]), coolant.opens_celsius
    inset.plot([0, end], [opens, opens], color="black", linewidth=0.7, linestyle=(0, (4, 2)))
    inset.text(1.01 * end, opens, f"thermostat begins\nto open, {opens:.0f} °C", fontsize=8, va="center")
    first, last = float(coolant.celsius[0]), float(coolant.celsius.max())
    inset.set(ylim=(first - 0.05 * (last - first), last + 0.1 * (last - first)))


def _below(ax: Axes, share: float, words: str) -> Axes:
    """Axes in the lower part of others, with the same times."""
    inset = ax.inset_axes((0.0, 0.0, 1.0, 0.72 * share))
    inset.set(xlim=ax.get_xlim())
    inset.set_xticks([])
    inset.set_ylabel(words, fontsize=8)
    inset.tick_params(labelsize=8)
    inset.spines[["top", "right", "bottom"]].set_visible(False)
    return inset
