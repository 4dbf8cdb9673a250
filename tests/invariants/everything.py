"""Every check of a circuit with every fault, states in turn; what is found is kept in a ledger."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from invariants.anew import Anew, Batch, read_off, solve_distinct, stamped

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit, find
from gaugesim.reading import Response, Situation, embedded, respond
from gaugesim.reading.response import lamp_resistance
from gaugesim.reading.situations import without_process
from gaugesim.scenario.check import METER, NO_CHECK, OHMMETER_OHMS, Check, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.fault import HEALTHY, Fault, all_faults, change, quantiles
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.solve.nodal import Solution

# a severity for each turn: the typical one (a dead short where it is 0), both ends, and two between
TURNS = 5
BETWEEN = (0.3, 0.7)
# each check is looked at in one state of so many in turn
SHARE = 6
# sums of currents [A] and of powers [W] are compared with what flows, or with this where less does
LITTLE = 1e-3
# what a row that no needle follows counts as, when rows are compared [position]
UNDRIVEN = -9.0

Where = Callable[[int], str]


def electrical_checks(circuit: Circuit) -> tuple[Check, ...]:
    """Looking at the needles, and every check that changes or measures the circuit."""
    checks = (find_check(circuit, name) for name in check_ids(circuit))
    return (NO_CHECK, *(check for check in checks if check.reads not in ("jump", "look")))


def severities(fault: Fault) -> Floats:
    """What a fault is tried with, one for each turn."""
    severity = fault.mode.severity
    if not severity.quantity:
        return np.zeros(TURNS)
    low, q1, q2, high = quantiles(severity, np.array([0.0, *BETWEEN, 1.0]))
    return np.array([severity.typical, low, q1, high, q2])


class Rows:
    """All faults of a circuit as scenarios: row 0 is sound, and each fault has one row."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.faults = all_faults(circuit)
        self.names = ("sound", *(fault.id for fault in self.faults))
        self._stacks: dict[frozenset[tuple[str, float]], Scenarios] = {}

    def all(self, parameters: Mapping[str, float]) -> Scenarios:
        """The sound circuit, then each fault at the severity of each turn."""
        key = frozenset(parameters.items())
        if key not in self._stacks:
            changes = [change(self.circuit, fault, severities(fault), parameters) for fault in self.faults]
            self._stacks[key] = stack([HEALTHY, *changes])
        return self._stacks[key]

    def turn(self, parameters: Mapping[str, float], turn: int) -> Scenarios:
        """Each fault at one severity; neighbouring faults are not at the same one."""
        number = np.arange(len(self.faults))
        chosen = np.concatenate([[0], 1 + number * TURNS + (turn + number) % TURNS])
        return self.all(parameters).take(chosen)


@dataclass
class Ledger:
    """The worst of each kind of deviation and where it was met; how far each row has moved anything."""

    worst: dict[str, tuple[float, str]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    needle_moved: Floats = field(default_factory=lambda: np.zeros(1))
    reading_moved: Floats = field(default_factory=lambda: np.zeros(1))

    def note(self, kind: str, values: Floats, where: Where) -> None:
        """Keep the largest of some deviations; not-a-number is worse than all."""
        values = np.asarray(values, dtype=float)
        values = np.where(np.isnan(values), np.inf, values)
        self.counts[kind] = self.counts.get(kind, 0) + values.size
        if values.size:
            at = int(np.argmax(values))
            if kind not in self.worst or values[at] > self.worst[kind][0]:
                self.worst[kind] = (float(values[at]), where(at))

    def add(self, other: Ledger) -> None:
        for kind, entry in other.worst.items():
            if kind not in self.worst or entry[0] > self.worst[kind][0]:
                self.worst[kind] = entry
            self.counts[kind] = self.counts.get(kind, 0) + other.counts[kind]
        self.needle_moved = np.maximum(self.needle_moved, other.needle_moved)
        self.reading_moved = np.maximum(self.reading_moved, other.reading_moved)


def examine(name: str, state: str, first_turn: int) -> Ledger:
    """Look at a share of the checks in one state of a circuit, at others in the next state.

    Each fault has its next severity in the next check.
    """
    circuit = find(name)
    rows, ledger = Rows(circuit), Ledger()
    for number, check in enumerate(electrical_checks(circuit)):
        if (number + first_turn) % SHARE:
            continue
        situation = Situation.of(circuit, state, check)
        scenarios = without_process(rows.turn(situation.parameters, first_turn + number), situation.pinned)
        _examine(situation, scenarios, rows.names, ledger)
    return ledger


def _examine(situation: Situation, rows: Scenarios, names: tuple[str, ...], ledger: Ledger) -> None:
    title = f"{situation.circuit.id} {situation.state} {situation.check.id or 'needles'}"

    def where(row: int) -> str:
        return f"{title} {names[row]} {rows.severity[row]:.4g}"

    lamp_ohms = lamp_resistance(situation, rows, embedded(situation)) if situation.has_lamp else None
    batches = [
        stamped(situation, network, situation.check.setup, rows, lamp_ohms) for network in situation.phases
    ]
    if situation.meter is not None and situation.check.meter is not None:
        batches.append(stamped(situation, situation.meter, situation.check.meter, rows))
    currents = []
    for batch in batches:
        solution, ohms, volts, which = solve_distinct(batch)
        laws(solution, ohms, volts, ledger, lambda row, w=which: where(int(np.argmax(w == row))))
        currents.append(solution.currents[which])
    response = respond(situation, rows)
    compare(
        situation, response, read_off(situation, rows, batches, currents, lamp_ohms), lamp_ohms, ledger, where
    )
    bounds(situation, response, batches, ledger, where)
    decided(situation, rows, response, ledger, where)
    for gauge in situation.gauges:
        stand = np.nan_to_num(response.positions[gauge.id], nan=UNDRIVEN)
        ledger.needle_moved = np.maximum(ledger.needle_moved, np.abs(stand - stand[0]))
    if response.reading is not None:
        moved = np.abs(response.reading - response.reading[0])
        ledger.reading_moved = np.maximum(ledger.reading_moved, moved)


def laws(solution: Solution, ohms: Floats, volts: Floats, ledger: Ledger, where: Where) -> None:
    """Kirchhoff's and Ohm's law at every node and branch, and as much power given out as taken up."""
    network, i = solution.network, solution.currents
    into = np.zeros((len(network.names), len(network.nodes) + 1))
    into[np.arange(len(into)), network.ends[:, 0]] -= 1
    into[np.arange(len(into)), network.ends[:, 1]] += 1
    ledger.note(
        "current into a node",
        np.abs(i @ into).max(axis=1) / np.maximum(np.abs(i).max(axis=1), LITTLE),
        where,
    )
    closed = np.isfinite(ohms)
    ledger.note("current of an open", np.abs(np.where(closed, 0.0, i)).max(axis=1), where)
    across = solution.voltages[:, network.ends[:, 0]] - solution.voltages[:, network.ends[:, 1]]
    dropped = np.where(closed, ohms, 0.0) * i
    # a part cut off from ground has no voltages, but may carry an ohmmeter's current
    off = np.where(closed & ~np.isnan(across), across - volts - dropped, 0.0)
    ledger.note("volts of a branch", np.abs(off).max(axis=1), where)
    power = -volts * i
    balance = power.sum(axis=1) - (dropped * i).sum(axis=1)
    ledger.note("power", np.abs(balance) / np.maximum(np.abs(power).sum(axis=1), LITTLE), where)


def compare(
    situation: Situation,
    response: Response,
    anew: Anew,
    lamp_ohms: Floats | None,
    ledger: Ledger,
    where: Where,
) -> None:
    """The package's answer against the full solution."""
    for gauge in situation.gauges:
        mine, theirs = anew.positions[gauge.id], response.positions[gauge.id]
        # where the field is the friction to the last digit, either answer is right
        edge = np.abs(anew.fields.get(gauge.id, np.zeros(len(mine))) - 1) < 1e-9
        same = (np.isnan(mine) & np.isnan(theirs)) | edge
        ledger.note("needle", np.where(same, 0.0, np.abs(mine - theirs)), where)
    ledger.note("duty", np.abs(anew.duty - response.duty), where)
    assert (anew.reading is None) == (response.reading is None)
    if anew.reading is None or response.reading is None:
        return
    if situation.check.reads == "ohms":
        # as the share of the ohmmeter's own volts that stands across what it measures
        ends = [value / (OHMMETER_OHMS + value) for value in (anew.reading, response.reading)]
        ledger.note("ohms", np.abs(ends[0] - ends[1]), where)
    else:
        ledger.note(situation.check.reads, np.abs(anew.reading - response.reading), where)
    if anew.settled is not None:
        ledger.note("lamp settles", np.abs(anew.settled / lamp_ohms - 1), where)


def bounds(
    situation: Situation, response: Response, batches: list[Batch], ledger: Ledger, where: Where
) -> None:
    """How far anything is out of its bounds; 0 if it is within."""
    for gauge in situation.gauges:
        stand = response.positions[gauge.id]
        low, high = gauge.stops
        stand = np.where(np.isnan(stand), low, stand)
        ledger.note("beyond a stop", np.maximum(np.maximum(low - stand, stand - high), 0.0), where)
    ledger.note("duty beyond 0 and 1", np.maximum(np.maximum(-response.duty, response.duty - 1), 0.0), where)
    if situation.check.reads == "ohms" and response.reading is not None:
        ledger.note("ohms below zero", np.maximum(-response.reading, 0.0), where)
        batch = batches[-1]
        driving = (batch.volts != 0) & np.isfinite(batch.ohms)
        driving[:, batch.network.branch(METER)] = False
        ledger.note("sources in a dead circuit", driving.sum(axis=1), where)


def decided(situation: Situation, rows: Scenarios, response: Response, ledger: Ledger, where: Where) -> None:
    """A fault all in what a check has joined, opened or taken away shows what the sound circuit shows."""
    setups = [situation.check.setup, *([situation.check.meter] if situation.check.meter else [])]
    taken = [
        {*setup.branches} | ({*situation.network.names} - {*setup.kept} if setup.kept is not None else set())
        for setup in setups
    ]
    alone = all(setup.kept is not None for setup in setups)
    covered = [all(name in each for each in taken) for name in rows.branches] + [alone] * len(rows.paths)
    inside = np.array([*covered, True])[rows.column].all(axis=1) & (rows.column >= 0).any(axis=1)
    for table, sound in (
        (rows.volts, np.nan),
        (rows.parameters, np.nan),
        (rows.stuck, np.nan),
        (rows.turns, 1),
    ):
        for values in table.values():
            inside &= np.isnan(values) if np.isnan(sound) else values == sound
    shown = [response.positions[gauge.id] for gauge in situation.gauges]
    if response.reading is not None:
        shown.append(response.reading)
    for values in shown:
        known = np.nan_to_num(values, nan=UNDRIVEN)
        ledger.note("decided by the check", np.abs(known - known[0])[inside], lambda _: where(0))
