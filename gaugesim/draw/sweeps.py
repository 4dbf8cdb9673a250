"""The sweep: needle against severity for every fault, and which curves pass through the symptom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.draw.labels import label_ends
from gaugesim.draw.style import DISTINCT, line_style, marker_style, new_axes, number_text, wrapped
from gaugesim.reading import Situation, deviations, respond, spread
from gaugesim.reading.situations import without_process
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import Fault, all_faults, change
from gaugesim.scenario.scenarios import stack
from gaugesim.scenario.tolerance import DEVIATIONS_90

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_STEPS = 61
# two curves that are never further apart are drawn as one [position]
_ALIKE = 0.004


@dataclass(frozen=True)
class Curve:
    """What the needle does under one fault, or under several that it cannot tell apart.

    Attributes
    ----------
    faults : tuple of Fault
        The likeliest first.
    severity : ndarray, shape (n,)
        From that which moves the needle least to that which moves it most, in the mode's own unit [1].
    positions : ndarray, shape (n,)
        NaN where nothing drives the needle; of a fault without degrees n is 1.
    """

    faults: tuple[Fault, ...]
    severity: Floats
    positions: Floats

    def within(self, low: float, high: float) -> Floats:
        """Severities at which the needle stands in a band.

        Parameters
        ----------
        low, high : float
            [position].

        Returns
        -------
        ndarray
            In the order of the curve, in the mode's own unit [1].
        """
        return self.severity[(self.positions >= low) & (self.positions <= high)]


@dataclass(frozen=True)
class Curves:
    """Needle against severity for every fault.

    Attributes
    ----------
    sound : (float, float)
        5 and 95 % of sound circuits.
    """

    title: str
    gauge: str
    words: str
    stops: tuple[float, float]
    marks: Mapping[str, float]
    sound: tuple[float, float]
    curves: tuple[Curve, ...]


def fault_curves(
    circuit: Circuit,
    state: str | None = None,
    check: str = "",
    gauge: str | None = None,
    given: Mapping[str, float] | None = None,
) -> Curves:
    """Work out one gauge's needle under every fault at every severity.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> found = fault_curves(find("temp_opposed_coil"), "key_on_cold")
    >>> exactly_half = [curve for curve in found.curves if len(curve.within(0.499, 0.501))]
    >>> [fault.id for curve in exactly_half for fault in curve.faults]
    ['stud_bias=open', 'stud_bias=intermittent', 'movement=stuck']
    """
    meant = circuit.gauge(gauge)
    situation = Situation.of(circuit, state, find_check(circuit, check, gauge) if check else NO_CHECK, given)
    faults = all_faults(circuit)
    rows = [change(circuit, fault, _even(fault), situation.parameters) for fault in faults]
    scenarios = without_process(stack(rows), frozenset(situation.check.setup.parameters))
    moved = respond(situation, scenarios).positions[meant.id]
    response = respond(situation)
    sound = float(response.positions[meant.id][0])
    deviation = float(deviations(spread(situation, response=response).positions[meant.id])[0])
    curves = []
    for k, fault in enumerate(faults):
        own = scenarios.source == k
        severity, positions = scenarios.severity[own], moved[own]
        away = np.abs(np.nan_to_num(positions - sound, nan=1.0))
        if away[0] > away[-1]:
            severity, positions = severity[::-1], positions[::-1]
        curves.append(Curve((fault,), severity, positions))
    band = np.clip([sound - DEVIATIONS_90 * deviation, sound + DEVIATIONS_90 * deviation], *meant.stops)
    words = circuit.sheet.states[situation.state].words
    return Curves(
        f"{circuit.sheet.words}\n{words}{f': {situation.check.words}' if check else ''}",
        meant.id,
        meant.words,
        meant.stops,
        {mark.label: mark.position for mark in meant.marks if mark.label},
        (float(band[0]), float(band[1])),
        _together(curves),
    )


def _even(fault: Fault) -> Floats:
    """Severities over the whole range, whatever the prior heaps up at its ends."""
    severity = replace(fault.mode.severity, at_ends=(0.0, 0.0))
    return replace(fault, mode=replace(fault.mode, severity=severity)).severities(_STEPS)


def _together(curves: Sequence[Curve]) -> tuple[Curve, ...]:
    """Curves that coincide, as one."""
    groups: list[list[Curve]] = []
    for curve in curves:
        for group in groups:
            other = group[0]
            if len(other.positions) == len(curve.positions) and np.allclose(
                other.positions, curve.positions, rtol=0, atol=_ALIKE, equal_nan=True
            ):
                group.append(curve)
                break
        else:
            groups.append([curve])
    result = []
    for group in groups:
        first = max(group, key=lambda each: each.faults[0].weight)
        faults = sorted((each.faults[0] for each in group), key=lambda fault: -fault.weight)
        result.append(Curve(tuple(faults), first.severity, first.positions))
    return tuple(result)


def draw_curves(curves: Curves, symptom: tuple[float, float] | None = None, ax: Axes | None = None) -> Axes:
    """Draw needle against severity; what passes through the symptom is drawn heavily and labelled.

    Parameters
    ----------
    symptom : (float, float), optional
        Band of needle positions; without it whatever leaves the sound band is labelled.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> ax = draw_curves(fault_curves(find("temp_opposed_coil"), "key_on_cold"), (0.45, 0.55))
    >>> any("stud B" in text.get_text() for text in ax.texts)
    True
    """
    ax = ax if ax is not None else new_axes(10.5, 7.0)
    across = [0.0, 1.0]
    ax.fill_between(
        across, *curves.sound, facecolor="none", edgecolor="0.6", hatch="....", linewidth=0, zorder=0
    )
    if symptom:
        ax.fill_between(across, *symptom, facecolor="0.88", edgecolor="black", linewidth=0.8, zorder=1)
        ax.text(0.01, symptom[1], "seen", va="bottom", weight="bold", fontsize=8)
    chosen = [curve for curve in curves.curves if _is_told(curve, curves, symptom)]
    chosen = sorted(chosen, key=lambda curve: -sum(fault.weight for fault in curve.faults))
    labels = []
    for curve in curves.curves:
        number = next((i for i, each in enumerate(chosen[:DISTINCT]) if each is curve), None)
        last = _draw(ax, curve, number)
        if number is not None:
            labels.append((last, _words(curve, symptom), marker_style(number)))
    margin = 0.04
    ax.set(xlim=(0, 1.75), ylim=(curves.stops[0] - margin, curves.stops[1] + margin))
    ax.set_xticks([0.0, 1.0], ["mild", "severe"])
    ax.set_yticks([*curves.marks.values()], [*curves.marks])
    ax.spines[["top", "right"]].set_visible(False)
    ax.spines.bottom.set_bounds(0, 1)
    rest = len(chosen) - DISTINCT
    more = f"\n{rest} less likely curves have no label" if rest > 0 else ""
    ax.set_xlabel(
        f"severity of the fault, over the range of the sheet; dotted band: sound gauges{more}", x=0.29
    )
    ax.set_ylabel(f"needle of the {curves.words}")
    ax.set_title(wrapped(curves.title, 110), loc="left", fontsize=9)
    label_ends(ax, labels, x=1.0, size=7.0, span=curves.stops)
    return ax


def _is_told(curve: Curve, curves: Curves, symptom: tuple[float, float] | None) -> bool:
    if symptom:
        return bool(len(curve.within(*symptom)))
    return len(curve.within(*curves.sound)) < len(curve.positions)


def _draw(ax: Axes, curve: Curve, number: int | None) -> float:
    """Draw one curve and return the height at which it ends."""
    shares = np.linspace(0, 1, len(curve.positions)) if len(curve.positions) > 1 else np.ones(1)
    style: dict[str, object] = {"color": "0.75", "linewidth": 0.7, "zorder": 2}
    if number is not None:
        style = line_style(number) | {
            "color": "black",
            "linewidth": 1.5,
            "markersize": 5,
            "markevery": [0] if len(shares) == 1 else slice(5 + 3 * (number % 4), None, 14),
            "zorder": 3,
        }
    elif len(shares) == 1:
        style |= {"marker": "o", "markersize": 3}
    ax.plot(shares, curve.positions, gid=curve.faults[0].id, **style)  # type: ignore[arg-type]
    driven = curve.positions[~np.isnan(curve.positions)]
    return float(driven[-1]) if len(driven) else float("nan")


def _words(curve: Curve, symptom: tuple[float, float] | None) -> str:
    first, more = curve.faults[0], len(curve.faults) - 1
    words = first.words + (f", or {more} like it" if more else "")
    severity = first.mode.severity
    inside = curve.within(*symptom) if symptom else np.zeros(0)
    if severity.quantity and len(inside) and len(inside) < len(curve.severity):
        ohms = severity.quantity == "ohms"
        ends = [number_text(value, "Ω") if ohms else f"{value:.3g}" for value in (inside.min(), inside.max())]
        front = "× " if severity.quantity == "factor" else ""
        words += f" ({front}{' to '.join(dict.fromkeys(ends))})"
    return words
