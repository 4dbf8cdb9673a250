"""The answer to each scenario worked out anew: its whole network solved, needles and meters read off.

Nothing here uses the small corrections of one solution by which the package answers the same questions.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.physics.lamp import filament_ohms
from gaugesim.reading import Situation
from gaugesim.reading.instruments import OPEN_READING
from gaugesim.scenario.check import (
    LAMP,
    LAMP_RATED_VOLTS,
    LAMP_RATED_WATTS,
    METER,
    OHMMETER_OHMS,
    OHMMETER_VOLTS,
    Setup,
)
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.sheet import Gauge
from gaugesim.solve import nodal
from gaugesim.solve.network import Integers, Network, Path


@dataclass(frozen=True)
class Batch:
    """Networks of one shape, one row for each scenario."""

    network: Network
    ohms: Floats
    volts: Floats

    def current_of(self, name: str, currents: Floats) -> Floats:
        return currents[:, self.network.branch(name)]

    def distinct(self) -> tuple[Floats, Floats, Integers]:
        """Rows that differ, and which of them each scenario is."""
        both = np.concatenate([self.ohms, self.volts], axis=1)
        number: dict[bytes, int] = {}
        which = np.array([number.setdefault(row.tobytes(), len(number)) for row in both])
        first = np.searchsorted(np.maximum.accumulate(which), np.arange(len(number)))
        return self.ohms[first], self.volts[first], which


def stamped(
    situation: Situation, network: Network, setup: Setup, rows: Scenarios, lamp_ohms: Floats | None = None
) -> Batch:
    """The network of each scenario: what a check has joined, opened or taken away stays so.

    A regulator's contact that is open in a phase is open there, however good or bad it is when it is closed.
    """
    paths = [Path(f"{a}:{b}", a, b, np.inf) for a, b in rows.paths]
    full = network.with_paths(paths)
    decided = {*setup.branches}
    if setup.kept is not None:
        decided |= {*network.names} - {*setup.kept}
    rule = situation.circuit.sheet.regulator
    if rule and np.isinf(network.ohms[network.branch(rule.contact)]):
        decided.add(rule.contact)
    number = [-1 if name in decided else full.branch(name) for name in rows.branches]
    number += [-1 if setup.kept is not None else full.branch(path.name) for path in paths]
    ohms = np.tile(full.ohms, (len(rows), 1))
    for column, values in zip(rows.column.T, rows.ohms.T, strict=True):
        branch = np.array([*number, -1])[column]
        changed = np.flatnonzero(branch >= 0)
        ohms[changed, branch[changed]] = values[changed]
    volts = np.tile(full.volts, (len(rows), 1))
    for name, values in rows.volts.items():
        if name not in decided:
            k = full.branch(name)
            volts[:, k] = np.where(np.isnan(values), volts[:, k], values)
    if lamp_ohms is not None:
        ohms[:, full.branch(LAMP)] = lamp_ohms
    return Batch(full, ohms, volts)


@dataclass(frozen=True)
class Anew:
    """What each scenario shows, out of full solutions."""

    positions: Mapping[str, Floats]
    fields: Mapping[str, Floats]  # of air-core movements, as a multiple of their friction
    duty: Floats
    reading: Floats | None
    settled: Floats | None  # the lamp's ohms at the volts it stands at


def read_off(
    situation: Situation,
    rows: Scenarios,
    batches: list[Batch],
    currents: list[Floats],
    lamp_ohms: Floats | None,
) -> Anew:
    """Needles and meters out of the currents of each phase; an ohmmeter's own network comes last."""
    phases = len(situation.phases)
    amperes = [
        {name: batch.current_of(name, solved) for name in batch.network.names}
        for batch, solved in zip(batches[:phases], currents[:phases], strict=True)
    ]
    duty = _duty(situation, rows, amperes)

    def mean(value: Callable[[Mapping[str, Floats]], Floats]) -> Floats:
        if phases == 1:
            return value(amperes[0])
        return duty * value(amperes[0]) + (1 - duty) * value(amperes[1])

    positions, fields = {}, {}
    for gauge in situation.circuit.sheet.gauges.values():
        positions[gauge.id], strength = _needle(gauge, rows, batches[0], mean)
        if strength is not None:
            fields[gauge.id] = strength
    reading = settled = None
    check = situation.check
    if check.reads == "volts":
        meter = batches[0].ohms[:, batches[0].network.branch(METER)]
        reading = mean(lambda phase: phase[METER] * meter)
    elif check.reads == "lamp":
        reading = np.abs(amperes[0][LAMP]) * lamp_ohms
        settled = np.asarray(filament_ohms(reading, LAMP_RATED_VOLTS, LAMP_RATED_WATTS))
    elif check.reads == "ohms":
        at = -1 if situation.meter is not None else 0
        through = batches[at].current_of(METER, currents[at])
        # what is left of the ohmmeter's own volts stands across the part
        across = OHMMETER_VOLTS - OHMMETER_OHMS * through
        flows = through > OHMMETER_VOLTS / (OPEN_READING + OHMMETER_OHMS)
        reading = np.where(flows, across / np.where(flows, through, 1.0), OPEN_READING)
    return Anew(positions, fields, duty, reading, settled)


def _duty(situation: Situation, rows: Scenarios, amperes: list[Mapping[str, Floats]]) -> Floats:
    rule = situation.circuit.sheet.regulator
    if rule is None or len(amperes) == 1:
        return np.ones(len(rows))
    held = np.full(
        len(rows), float(situation.circuit.parameter_values(situation.parameters)[rule.design_volts])
    )
    changed = rows.parameters.get(rule.design_volts, np.full(len(rows), np.nan))
    held = np.where(np.isnan(changed), held, changed)
    winding = situation.network.ohms[situation.network.branch(rule.heater)]
    power = {"rms": 2, "mean": 1}[rule.convention]
    closed, opened = (np.abs(phase[rule.heater] * winding) ** power for phase in amperes)
    wanted = held**power
    # without a swing the contact stays closed or stays open
    span = np.where(closed == opened, 1.0, closed - opened)
    share = np.where(closed <= wanted, 1.0, np.where(opened >= wanted, 0.0, (wanted - opened) / span))
    return np.asarray(share)


def _needle(
    gauge: Gauge, rows: Scenarios, batch: Batch, mean: Callable[..., Floats]
) -> tuple[Floats, Floats | None]:
    strength = rows.strength.get(gauge.id, np.ones(len(rows)))
    field = None

    def turns(element: str) -> Floats:
        return rows.turns.get(element, np.ones(len(rows)))

    if gauge.movement == "air_core":
        x, y = (np.full(len(rows), rest) for rest in gauge.rest)
        for coil in gauge.coils:
            drive = coil.turns * strength * turns(coil.element) * mean(lambda i, c=coil: i[c.element])
            x = x + drive * np.cos(np.radians(coil.degrees))
            y = y + drive * np.sin(np.radians(coil.degrees))
        middle = (gauge.degrees_low + gauge.degrees_high) / 2
        turned = (np.degrees(np.arctan2(y, x)) - middle + 180) % 360 - 180
        stand = 0.5 + turned / (gauge.degrees_high - gauge.degrees_low)
        field = np.hypot(x, y) / gauge.friction
        stand = np.where(field >= 1, stand, np.nan)
    else:
        winding = batch.ohms[:, batch.network.branch(gauge.element)]
        live = np.where(np.isfinite(winding), winding, 0.0)
        if gauge.movement == "bimetal":
            drive = strength * mean(lambda i: i[gauge.element] ** 2 * live)
        else:
            drive = strength * turns(gauge.element) * mean(lambda i: i[gauge.element])
        stand = (drive - gauge.low) / (gauge.high - gauge.low)
    stand = np.clip(stand, *gauge.stops)
    held = rows.stuck.get(gauge.id, np.full(len(rows), np.nan))
    return np.where(np.isnan(held), stand, held), field


def solve_distinct(batch: Batch) -> tuple[nodal.Solution, Floats, Floats, Integers]:
    """Solve the rows that differ; with their ohms and volts, and which of them each scenario is."""
    ohms, volts, which = batch.distinct()
    return nodal.solve(batch.network, ohms, volts), ohms, volts, which
