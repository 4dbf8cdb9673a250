"""Which measurement would tell most: optimal design for what the points leave open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.fitting.estimation import CONTRADICTION, Estimate
from gaugesim.fitting.points import OPEN_OHMS, CoilPoint, Points
from gaugesim.movement.air_core import SWEEP, SWEEP_MEASURED
from gaugesim.scenario.tolerance import DEVIATIONS_95
from gaugesim.sheet import roles

# resistors that are to be had: the common E12 series
E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
RESISTORS = tuple(
    float(f"{value * scale:g}") for scale in (0.1, 1, 10) for value in E12 if value * scale >= 4.7
)
# kinds of movement less likely than this are out
LEAST_PROBABILITY = 0.02
# what a measurement must tell of the movement to be worth naming for that, in bits
LEAST_BITS = 0.05
# of measurements that tell nearly as much as the best the one with the least work is chosen
NEARLY = 0.5
# a measurement tells two kinds apart when their predictions are that far apart (Bhattacharyya distance)
CLEAR = 2.0
# what must be left of a parameter's uncertainty for a further point not to be worth it
MOST_LEFT = 0.9
# assumed minutes, everything that must come off included: at the dash, at the sender, behind the panel, the
# gauge off the panel, its case open
MINUTES = {"sweep": 1.0, "volts": 5.0, "needle": 6.0, "studs": 15.0, "coil": 20.0, "coils": 60.0}
STEP = 1e-4


@dataclass(frozen=True)
class Measurement:
    """Something that could be measured next.

    Attributes
    ----------
    kind : str
        ``sweep``, ``volts``, ``needle``, ``studs``, ``coil`` or ``coils``, the easiest first.
    ohms : float
        In place of the sender, for needle and volts [ohm].
    between : tuple of str
        Two studs, for ``coil``.
    """

    kind: str
    ohms: float = float("nan")
    between: tuple[str, ...] = ()


@dataclass(frozen=True)
class NextPoint:
    """The measurement that would tell most.

    Attributes
    ----------
    bits : float
        What it would tell of the kind of movement, on average.
    parameter : str
        Which parameter it would settle best, ``""`` if it is for the kind of movement.
    factor : float
        What would be left of that parameter's uncertainty [1].
    """

    measurement: Measurement
    bits: float
    parameter: str
    factor: float


def measurements(points: Points, estimates: Sequence[Estimate]) -> list[Measurement]:
    """What has not been measured yet and could be. The easiest first."""
    options: list[Measurement] = []
    if not all(each.movement.kind.has_sender for each in estimates):
        return options
    if points.sweep_degrees is None and any("sweep_degrees" in each.movement.names for each in estimates):
        options.append(Measurement("sweep"))
    done = {point.ohms for point in points.needle if np.isfinite(point.position)}
    metered = {point.ohms for point in points.needle if np.isfinite(point.volts)}
    if not any(np.isinf(ohms) for ohms in metered):
        options.append(Measurement("volts", float("inf")))
    largest = 3.0 * max([ohms for ohms in done if np.isfinite(ohms)], default=150.0)
    values = [
        ohms for ohms in RESISTORS if ohms <= largest and all(abs(ohms - near) > 0.05 * ohms for near in done)
    ]
    # a winding of resistance wire is not to be overheated by fewer ohms than its sender has
    least = 10.0 if any(each.movement.kind.heats for each in estimates) else 0.0
    options += [Measurement("needle", ohms) for ohms in values if ohms >= least]
    if points.studs is None:
        options.append(Measurement("studs"))
    tried = {frozenset(point.between) for point in points.coil}
    studs = [name for name in roles().stud_ids if any(name in each.movement.studs for each in estimates)]
    options += [
        Measurement("coil", between=pair) for pair in combinations(studs, 2) if frozenset(pair) not in tried
    ]
    if points.coils is None:
        options.append(Measurement("coils"))
    return options


def predicted(estimate: Estimate, what: Measurement, points: Points, vectors: Floats) -> tuple[Floats, float]:
    """What a measurement would show, and its standard deviation.

    Parameters
    ----------
    points : Points
        Their stated errors hold for the next point too.
    vectors : ndarray, shape (sets, parameters)
        Parameter sets [1].

    Returns
    -------
    shown : ndarray, shape (sets,)
        In position, volts, logarithm of ohms or a count [1].
    deviation : float
        [1].
    """
    movement = estimate.movement
    if what.kind in ("studs", "coils"):
        count = len(movement.studs) if what.kind == "studs" else movement.coils
        return np.full(len(vectors), float(count)), 0.1
    if what.kind == "sweep":
        if "sweep_degrees" not in movement.names:  # any angle would do
            return np.full(len(vectors), SWEEP.middle), SWEEP.deviation
        return vectors[:, movement.names.index("sweep_degrees")], SWEEP_MEASURED
    if what.kind == "coil":
        ohms = movement.coil_ohms(vectors, CoilPoint(what.between, "", 1.0))
        deviation = points.errors.ohms / DEVIATIONS_95
        open_here = ohms is None or not np.all(ohms < OPEN_OHMS)
        if ohms is None or open_here:
            return np.full(len(vectors), np.log(300.0) + CONTRADICTION), deviation
        return np.log(ohms), deviation
    supply = np.array([points.needle[0].supply_volts if points.needle else 12.5])
    positions, volts = movement.needle(vectors, np.array([what.ohms]), supply)
    if what.kind == "volts":
        return volts[:, 0], points.errors.volts * float(supply[0]) / DEVIATIONS_95
    # a needle on its stop says no more than that
    return np.clip(positions[:, 0], -0.05, 1.05), points.errors.needle / DEVIATIONS_95


def next_point(
    points: Points, estimates: Sequence[Estimate], probabilities: Floats
) -> tuple[NextPoint | None, dict[tuple[str, str], Measurement | None]]:
    """The measurement that would tell most, and which one would tell each two kinds apart.

    As long as several kinds of movement remain it is the one expected to say most about which it is; after
    that the one that narrows the parameter that is settled worst.

    Parameters
    ----------
    probabilities : ndarray, shape (estimates,)
        Of each kind [1].

    Returns
    -------
    next_point : NextPoint or None
        None if nothing would tell more.
    apart : dict
        From pairs of the kinds that remain to the easiest measurement that tells them apart, or None.

    Source
    ------
    Kolchinsky & Tracey, Entropy 19 (2017) 361, bound on the information in a mixture by pairwise distances;
    Fedorov's D-optimality for the parameters (both from memory).
    """
    keep = [i for i in range(len(estimates)) if probabilities[i] >= LEAST_PROBABILITY]
    remain = [estimates[i] for i in keep]
    weights = np.asarray(probabilities[keep] / probabilities[keep].sum())
    options = measurements(points, remain)
    shown = np.zeros((len(options), len(remain), 2))
    slopes: list[list[Floats]] = []
    for m, what in enumerate(options):
        slopes.append([])
        for k, each in enumerate(remain):
            steps = np.diag(STEP * each.movement.start()[1])
            values, deviation = predicted(
                each,
                what,
                points,
                np.concatenate([each.vector[None], each.vector + steps, each.vector - steps]),
            )
            count = len(each.vector)
            slope = (values[1 : count + 1] - values[count + 1 :]) / (2 * np.diag(steps))
            slopes[-1].append(slope / (deviation * each.scale))
            shown[m, k] = (
                values[0],
                float(np.sqrt((deviation * each.scale) ** 2 + slope @ each.covariance @ slope)),
            )
    distances = [_distances(row) for row in shown]
    apart: dict[tuple[str, str], Measurement | None] = {}
    for a, b in combinations(range(len(remain)), 2):
        able = [m for m in range(len(options)) if distances[m][a, b] > CLEAR]
        names = remain[a].movement.topology, remain[b].movement.topology
        apart[names] = options[min(able, key=lambda m: MINUTES[options[m].kind])] if able else None
    if not options:
        return None, apart
    bits = [float(-weights @ np.log2(np.exp(-distance) @ weights)) for distance in distances]
    if max(bits) >= LEAST_BITS:
        return NextPoint(*_least_work(options, bits), "", 1.0), apart
    return _narrowest(remain[0], options, [row[0] for row in slopes]), apart


def _least_work(options: Sequence[Measurement], worth: Sequence[float]) -> tuple[Measurement, float]:
    """Of those worth nearly as much as the best the one with the least work, and its worth."""
    near = [m for m in range(len(options)) if worth[m] >= NEARLY * max(worth)]
    chosen = min(near, key=lambda m: (MINUTES[options[m].kind], -worth[m]))
    return options[chosen], worth[chosen]


def _narrowest(
    estimate: Estimate, options: Sequence[Measurement], slopes: Sequence[Floats]
) -> NextPoint | None:
    """What narrows the worst settled parameter that can be narrowed at all."""
    settled = np.sqrt(np.diag(estimate.covariance)) / estimate.movement.start()[1]
    for worst in np.argsort(-settled):
        gains = []
        for slope in slopes:
            change = estimate.covariance @ slope
            share = change[worst] ** 2 / estimate.covariance[worst, worst] / (1 + slope @ change)
            gains.append(float(-0.5 * np.log2(max(1 - share, 1e-12))))
        what, gain = _least_work(options, gains)
        if 2.0**-gain <= MOST_LEFT:
            return NextPoint(what, 0.0, estimate.movement.names[worst], float(2.0**-gain))
    return None


def _distances(row: Floats) -> Floats:
    """Bhattacharyya distances between normal distributions given as (mean, deviation), (kinds, kinds)."""
    mean, variance = row[:, 0], row[:, 1] ** 2
    both = variance[:, None] + variance[None, :]
    overlap = 0.5 * np.log(both / (2 * np.sqrt(variance[:, None] * variance[None, :])))
    return np.asarray((mean[:, None] - mean[None, :]) ** 2 / (4 * both) + overlap)
