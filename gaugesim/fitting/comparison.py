"""Which kind of movement the points speak for."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np

from gaugesim import circuit as circuits
from gaugesim.errors import CaseError
from gaugesim.fitting.estimation import Estimate, arranged, estimate
from gaugesim.fitting.movement import OpenMovement
from gaugesim.fitting.points import Points
from gaugesim.paths import shipped_netlists

VOLTMETER_TOPOLOGY = "moving-coil"


@cache
def shipped_gauges() -> tuple[tuple[circuits.Circuit, str], ...]:
    """Every gauge of every shipped circuit, circuits with one gauge first."""
    folder = shipped_netlists()
    shipped = [circuits.read(path) for path in sorted(folder.glob("*.cir"))]
    shipped.sort(key=lambda circuit: len(circuit.sheet.gauges))
    return tuple((circuit, gauge) for circuit in shipped for gauge in circuit.sheet.gauges)


def candidate_movements(points: Points) -> Iterator[OpenMovement]:
    """One movement of each kind that the counts in the file allow."""
    seen: set[str] = set()
    like = sorted(shipped_gauges(), key=lambda pair: pair[1] != points.gauge)
    for circuit, name in sorted(like, key=lambda pair: len(pair[0].sheet.gauges)):
        gauge = circuit.sheet.gauges[name]
        if gauge.topology in seen or (gauge.topology == VOLTMETER_TOPOLOGY) != (points.gauge == "voltmeter"):
            continue
        movement = OpenMovement(
            circuit,
            gauge,
            sweep_degrees=points.sweep_degrees,
            ambient_celsius=points.ambient_celsius,
            regulator_volts=points.regulator_volts,
        )
        if points.studs not in (None, len(movement.studs)) or points.coils not in (None, movement.coils):
            continue
        seen.add(gauge.topology)
        yield movement


def compare_movements(points: Points) -> tuple[tuple[Estimate, ...], np.ndarray]:
    """Fit every kind of movement.

    Returns
    -------
    estimates : tuple of Estimate
        The likeliest first.
    probabilities : ndarray, shape (estimates,)
        Of each kind; before the points all are equally likely.

    Raises
    ------
    CaseError
        If no kind of movement has as many studs and coils as were counted.
    """
    data = arranged(points)
    fits = [estimate(movement, points, data) for movement in candidate_movements(points)]
    if not fits:
        raise CaseError(
            f"no movement has {points.studs or 'any'} studs and {points.coils or 'any'} coils",
            points.path.name,
            "count again, or leave studs and coils out",
        )
    # where all kinds scatter more than stated, the readings are poorer than stated
    scale = min(each.scale for each in fits)
    order = sorted(fits, key=lambda each: -each.log_evidence)
    logs = np.array([each.log_evidence for each in order]) / scale**2
    weights = np.exp(logs - logs[0])
    return tuple(order), weights / weights.sum()
