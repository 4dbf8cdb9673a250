"""Several checks in one state at once: each is a small correction of the one solution of that state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gaugesim.arrays import Floats
from gaugesim.reading.correction import shifted, source_steps
from gaugesim.reading.instruments import INSTRUMENTS, SOUNDING_OHMS, Read, settled_lamp_ohms
from gaugesim.reading.response import Response, in_time, interpret
from gaugesim.reading.situations import Decided, Situation
from gaugesim.scenario.check import LAMP, METER, Check
from gaugesim.scenario.scenarios import Scenarios
from gaugesim.solve import nodal
from gaugesim.solve.network import Integers, Path, islands
from gaugesim.solve.nodal import Columns, Factored


def fits(situation: Situation, check: Check) -> bool:
    """Whether a check is a small correction of a situation without one.

    False if it takes other parts out, sets a process value, or opens what the needles or the regulator work
    by.

    Parameters
    ----------
    situation : Situation
        The state, without a check; or with the battery off, or with a gauge alone.
    """
    setup, base, network = check.setup, situation.check.setup, situation.network
    if check.meter is not None or setup.parameters or (setup.kept, setup.dead) != (base.kept, base.dead):
        return False
    if setup.kept is not None:
        # loose pieces that a check joins would need a solution of their own
        piece = islands(network.ends, np.isfinite(network.ohms)[None], len(network.nodes))[0]
        ends = [[network.node(node) for node in _ends(path)] for path in setup.paths]
        return not setup.branches and all(piece[a] == piece[b] for a, b in ends)
    own = {network.names[k] for k in situation.outputs}
    own |= {name for name, volts in zip(network.names, network.volts, strict=True) if volts != 0}
    if situation.circuit.sheet.regulator:
        own.add(situation.circuit.sheet.regulator.contact)
    return not own & set(setup.branches)


def respond_to_each(
    situation: Situation, checks: Sequence[Check], scenarios: Scenarios, needles: bool = True
) -> Response:
    """What each scenario shows under each of several checks that read the same kind of thing.

    Parameters
    ----------
    situation : Situation
        The state, without a check; or with the battery off, or with a gauge alone.

    Returns
    -------
    Response
        With arrays of shape (checks, n).
    """
    shape = (len(checks), len(scenarios))
    reads = checks[0].reads
    lamp_ohms = None
    if reads == "lamp":
        first = _Phase(situation, 0, checks, scenarios)
        soundings = (first.solved(np.full(shape, ohms)).own for ohms in SOUNDING_OHMS)
        lamp_ohms = settled_lamp_ohms(*soundings, rated_volts=situation.circuit.sheet.volts)
    instrument = INSTRUMENTS.get(reads)
    count = 1 if instrument is not None and instrument.steady else len(situation.phases)
    phases = [_Phase(situation, k, checks, scenarios).solved(lamp_ohms) for k in range(count)]
    whole = interpret(situation, scenarios, [phase.outputs for phase in phases], needles=needles)
    duty = np.broadcast_to(whole.duty, shape)
    reading: Floats | None = None
    pulses = np.zeros(shape, dtype=np.bool_)
    if instrument is not None:
        own = np.array([[_own(check).ohms] for check in checks]) if lamp_ohms is None else lamp_ohms
        amperes = in_time(situation, [phase.own for phase in phases], duty)
        reading, pulses = instrument.shows(Read(amperes, own, duty, situation.circuit.sheet.volts))
    positions = {name: np.broadcast_to(values, shape) for name, values in whole.positions.items()}
    return Response(positions, reading, pulses, duty)


def lead_currents(situation: Situation, checks: Sequence[Check], scenarios: Scenarios) -> Floats:
    """Current of the first lead of each check, a regulator's contact closed, shape (checks, n) [A]."""
    return _Phase(situation, 0, checks, scenarios).solved().own


@dataclass(frozen=True)
class _Currents:
    """Currents of the situation's outputs, shape (checks, n, outputs), and of each check's own instrument."""

    outputs: Floats
    own: Floats


class _Phase:
    """One phase of a situation under several checks: the check's changes first, then the scenario's."""

    def __init__(
        self, situation: Situation, phase: int, checks: Sequence[Check], scenarios: Scenarios
    ) -> None:
        self.factored: Factored = situation.factored[phase]
        network = self.factored.network
        decided = situation.decided(network)
        branches = list(dict.fromkeys(name for check in checks for name in check.setup.branches))
        ends = list(dict.fromkeys(_ends(path) for check in checks for path in check.setup.paths))
        columns = self.factored.columns(
            [network.branch(name) for name in (*scenarios.branches, *branches)],
            [(network.node(a), network.node(b)) for a, b in (*scenarios.paths, *ends)],
        )
        count = len(scenarios.branches)
        number = {name: count + k for k, name in enumerate(branches)}
        path_number = {pair: count + len(branches) + len(scenarios.paths) + k for k, pair in enumerate(ends)}
        width = max(len(check.setup.branches) + len(check.setup.paths) for check in checks)
        column = np.zeros((len(checks), width), dtype=np.intp)
        ohms = np.full((len(checks), width), np.nan)
        # electromotive force of what a check adds: an ohmmeter drives its own current
        emf = np.zeros((len(checks), width))
        for c, check in enumerate(checks):
            paths = sorted(check.setup.paths, key=lambda path: path.name not in (METER, LAMP))
            for k, path in enumerate(paths):
                column[c, k] = path_number[_ends(path)]
                ohms[c, k] = path.ohms
                emf[c, k] = path.volts
            for k, (name, value) in enumerate(check.setup.branches.items(), start=len(paths)):
                column[c, k] = number[name]
                ohms[c, k] = value
        amount = np.where(np.isnan(ohms), 0.0, columns.amount(column, ohms))
        used = (scenarios.column >= 0).any(axis=0)
        theirs, their_ohms = scenarios.column[:, used], scenarios.ohms[:, used]
        moved = np.maximum(np.where(theirs >= count, theirs + len(branches), theirs), 0)
        acts = _acts(checks, scenarios, decided)[:, theirs]
        given = np.where(acts, columns.amount(moved, their_ohms), 0.0)
        shape = (len(checks), len(scenarios))
        self.index: Integers = np.concatenate(
            [
                np.broadcast_to(column[:, None], (*shape, width)),
                np.broadcast_to(moved, (*shape, moved.shape[1])),
            ],
            axis=2,
        )
        self.amount = np.concatenate([np.broadcast_to(amount[:, None], (*shape, width)), given], axis=2)
        columns, self.index, self.amount = self.factored.freed(columns, self.index, self.amount)
        p, q = (columns.p_index, columns.p_sign), (columns.q_index, columns.q_sign)
        rows = self.factored.rows([(len(network.nodes) + k, self.factored.size) for k in situation.outputs])
        steps = source_steps(self.factored, scenarios, decided)
        base, self.base = (shifted(self.factored, each, steps, len(scenarios)) for each in (q, rows))
        drive = base[np.arange(len(scenarios))[:, None], self.index]
        drive[:, :, :width] -= emf[:, None]
        self.drive = drive
        self.coupling = self.factored.transfer(q, p)
        self.transfer = self.factored.transfer(rows, p)
        self._columns: Columns = columns

    def solved(self, lamp_ohms: Floats | None = None) -> _Currents:
        """Currents, with a test lamp of so many ohms in each scenario if there is one."""
        amount = self.amount
        if lamp_ohms is not None:
            amount = amount.copy()
            amount[:, :, 0] = self._columns.amount(self.index[:, :, 0], lamp_ohms)
        k = amount.shape[2]
        index = self.index.reshape(-1, k)
        coupling = self.coupling[index[:, :, None], index[:, None, :]]
        drive, amount = self.drive.reshape(-1, k), amount.reshape(-1, k)
        solved = nodal.corrections(coupling, drive, amount).reshape(self.index.shape)
        outputs = self.base - np.einsum("cnk,cnko->cno", solved, self.transfer.T[self.index])
        return _Currents(outputs, solved[:, :, 0])


def _acts(checks: Sequence[Check], scenarios: Scenarios, decided: Decided) -> NDArray[np.bool_]:
    """Whether each column of the scenarios may act under each check, (checks, columns + 1), none last."""
    branches = [*scenarios.branches]
    loose = np.ones((len(checks), len(branches) + len(scenarios.paths) + 1), dtype=np.bool_)
    if decided.paths:
        loose[:, len(branches) :] = False
    loose[:, -1] = False
    for c, check in enumerate(checks):
        for name in {*check.setup.branches, *decided.branches} & {*branches}:
            loose[c, branches.index(name)] = False
    return loose


def _ends(path: Path) -> tuple[str, str]:
    return path.node_a, path.node_b


def _own(check: Check) -> Path:
    return next(path for path in check.setup.paths if path.name in (METER, LAMP))
