"""Needles and a voltmeter under every pair of changes of one branch each: the short way, where all is linear.

A needle's direction is a ratio of two sums of currents, so the common determinant of a pair drops out of it,
and each pair costs one arc tangent a gauge.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.reading import Situation
from gaugesim.reading.correction import Correction
from gaugesim.scenario.check import METER
from gaugesim.scenario.stack import Scenarios
from gaugesim.sheet import Gauge
from gaugesim.solve.network import Floats, Integers
from gaugesim.solve.pair import BLOCK, Amounts, Pieces, Ports, pair_blocks

# stands for no friction at all: any field turns the needle [A]
NO_FRICTION = 1e-60


@dataclass(frozen=True)
class QuickBlock:
    """What a block of pairs shows; the arrays are overwritten by the next block.

    Attributes
    ----------
    first, second, valid
        As in `gaugesim.solve.pair.Block`, but numbers of scenarios.
    positions : tuple of ndarray, shape (a, m, n, b)
        For each gauge.
    reading : ndarray, shape (a, m, n, b), or None
        [V].
    """

    first: Integers
    second: Integers
    valid: NDArray[np.bool_]
    positions: tuple[Floats, ...]
    reading: Floats | None


@dataclass(frozen=True)
class Quick:
    """The scenarios of a situation whose pairs go the short way.

    Attributes
    ----------
    place : Situation
    rows : ndarray of int, shape (q,)
        Their numbers.
    ports : Ports
    amounts : Amounts
        Of shape (q,).
    pieces : tuple of Pieces
    """

    place: Situation
    rows: Integers
    ports: Ports
    amounts: Amounts
    pieces: tuple[Pieces, ...]

    @classmethod
    def of(cls, place: Situation, scenarios: Scenarios) -> Quick:
        """Look through the scenarios of a sweep.

        Parameters
        ----------
        place : Situation
        scenarios : Scenarios
            One row for each severity of each fault, by fault.

        Returns
        -------
        Quick
            Without any scenario where the situation has parts that are not linear.
        """
        if not _linear(place):
            empty = np.zeros(0, dtype=np.intp)
            return cls(
                place,
                empty,
                Ports(*(np.zeros(shape) for shape in ((0, 0), 0, (0, 0), 0))),
                Amounts(empty, np.zeros(0), np.zeros(0, dtype=bool), np.zeros(0)),
                (),
            )
        factored = place.factored[0]
        changes = Correction(factored, place.outputs, scenarios, place.decided(place.network))
        columns = changes.columns
        weights, constants = _sums(place)
        p, q = (columns.p_index, columns.p_sign), (columns.q_index, columns.q_sign)
        ports = Ports(
            factored.transfer(q, p),
            factored.pick(q),
            weights @ factored.transfer(changes.rows, p),
            weights @ factored.pick(changes.rows) + constants,
        )
        at = np.argmax(changes.amount != 0, axis=1)
        every = np.arange(len(scenarios))
        amounts = Amounts.of(ports, changes.index[every, at], changes.amount[every, at])
        rows = np.flatnonzero(plain(scenarios, changes.amount) & amounts.bears)
        kept = Amounts(*(values[rows] for values in vars(amounts).values()))
        return cls(place, rows, ports, kept, Pieces.cut(scenarios.source[rows]))

    def blocks(self, apart: NDArray[np.bool_], size: int = BLOCK) -> Iterator[QuickBlock]:
        """What each pair shows.

        Parameters
        ----------
        apart : ndarray of bool, shape (faults, faults)
            Which faults make a pair [1].
        size : int, optional
            Pairs in a block, at most [1].

        Yields
        ------
        QuickBlock
        """
        gauges = self.place.gauges
        room = np.empty((len(gauges) + 2, size))
        field = np.empty(size, dtype=bool)
        for block in pair_blocks(self.ports, self.amounts, self.pieces, apart, size):
            shape = block.determinant.shape
            taken = [part[: block.determinant.size].reshape(shape) for part in room]
            *positions, reading, square = taken
            np.multiply(block.determinant, block.determinant, out=square)
            outputs = iter(block.outputs)
            for gauge, stand in zip(gauges, positions, strict=True):
                if gauge.movement == "air_core":
                    weak = field[: square.size].reshape(shape)
                    _turn(gauge, next(outputs), next(outputs), square, stand, weak)
                else:
                    np.divide(next(outputs), block.determinant, out=stand)
                    np.clip(stand, *gauge.stops, out=stand)
            metered = next(outputs, None)
            if metered is not None:
                np.divide(metered, block.determinant, out=reading)
            yield QuickBlock(
                self.rows[block.first],
                self.rows[block.second],
                block.valid,
                tuple(positions),
                None if metered is None else reading,
            )


def plain(scenarios: Scenarios, amount: Floats) -> NDArray[np.bool_]:
    """Scenarios that change one branch or path at most, and nothing else that is seen.

    Parameters
    ----------
    scenarios : Scenarios
    amount : ndarray, shape (n, k)
        Size of the changes of each, 0 for none [ohm or S].

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    result = np.count_nonzero(amount, axis=1) <= 1
    # parameters count for nothing by themselves where there is no regulator
    for values in (*scenarios.volts.values(), *scenarios.stuck.values()):
        result &= np.isnan(values)
    for values in (*scenarios.turns.values(), *scenarios.strength.values()):
        result &= values == 1
    return np.asarray(result)


def _linear(place: Situation) -> bool:
    """Whether needles and reading follow from sums of the currents of one network."""
    still = len(place.phases) == 1 and place.meter is None
    return (
        still
        and place.check.reads not in ("ohms", "lamp")
        and all(gauge.movement in ("air_core", "moving_coil") for gauge in place.gauges)
    )


def _sums(place: Situation) -> tuple[Floats, Floats]:
    """Weights of the branch currents in each sum that is wanted, and what is added to it."""
    number = {place.network.names[k]: i for i, k in enumerate(place.outputs)}
    weights: list[Floats] = []
    constants: list[float] = []

    def add(terms: Sequence[tuple[str, float]], constant: float) -> None:
        row = np.zeros(len(number))
        for name, weight in terms:
            row[number[name]] += weight
        weights.append(row)
        constants.append(constant)

    for gauge in place.gauges:
        if gauge.movement == "air_core":
            # the field along the middle of the scale and towards its top mark, as a multiple of the friction
            unit = max(gauge.friction, NO_FRICTION)
            middle = np.radians((gauge.degrees_low + gauge.degrees_high) / 2)
            side = np.sign(gauge.degrees_high - gauge.degrees_low)
            directions = (
                (np.cos(middle), np.sin(middle)),
                (-side * np.sin(middle), side * np.cos(middle)),
            )
            for x, y in directions:
                terms = []
                for coil in gauge.coils:
                    angle = np.radians(coil.degrees)
                    terms.append((coil.element, coil.turns * (x * np.cos(angle) + y * np.sin(angle)) / unit))
                add(terms, (x * gauge.rest[0] + y * gauge.rest[1]) / unit)
        else:
            span = gauge.high - gauge.low
            add([(gauge.element, 1 / span)], -gauge.low / span)
    if place.check.reads == "volts":
        add([(METER, float(place.network.ohms[place.network.branch(METER)]))], 0.0)
    return np.array(weights).reshape(len(constants), -1), np.array(constants)


def _turn(
    gauge: Gauge, along: Floats, across: Floats, square: Floats, stand: Floats, weak: NDArray[np.bool_]
) -> None:
    """Where a needle stands; ``along`` and ``across`` are used up."""
    np.arctan2(across, along, out=stand)
    if stand.max(initial=0.0) >= np.pi:
        # straight away from the middle counts as below the low mark
        stand[stand >= np.pi] = -np.pi
    stand *= 1 / np.radians(abs(gauge.degrees_high - gauge.degrees_low))
    stand += 0.5
    np.clip(stand, *gauge.stops, out=stand)
    along *= along
    across *= across
    along += across
    np.less(along, square, out=weak)
    np.copyto(stand, np.nan, where=weak)
