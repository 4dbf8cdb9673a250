"""What a complaint implies without a word: what nobody mentions works, and an engine that runs is fed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugesim import vocabulary
from gaugesim.arrays import Floats
from gaugesim.case import Case, Measured, Seen
from gaugesim.evidence import behaviour
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.evidence.asking import of_classes, tabulated, yes_or_no
from gaugesim.evidence.observable import WAS, WERE, Observable, Statement
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.rows import Rows
from gaugesim.scenario.tolerance import DEVIATIONS_95
from gaugesim.vocabulary import enumerated


def implied(case: Case, rows: Rows, gauge: str) -> tuple[Observable, ...]:
    """What a case answers by what it does not say, each by the first of its classes.

    Returns
    -------
    tuple of Observable
        Of every gauge that nobody mentions, of what else hangs on the same wires, and of an engine that was
        running when something was seen. None if the case says nothing of needles at all.
    """
    entries = [entry for entry in case.entries if isinstance(entry, Seen | Measured)]
    if not entries:
        return ()
    where = str(case.path.name)
    state = next((entry.state for entry in entries if isinstance(entry, Seen) and entry.state), None)
    sheet = rows.circuit.sheet
    spoken = {gauge} | {entry.gauge for entry in entries if entry.gauge}
    if any(isinstance(entry, Seen) and entry.others for entry in entries):
        spoken |= {*sheet.gauges}
    unspoken = [other for other in sheet.gauges if other not in spoken]
    observables = [_of_gauges(rows, unspoken, state, where)] if unspoken else []
    if not any(isinstance(entry, Seen) and entry.consumer for entry in entries):
        statement = Statement(
            "what else hangs on the same wires", where, implied=True, slip=like.SLIP_OF_MEMORY
        )
        observables.append(
            yes_or_no(statement, behaviour.MENTIONED, rows, lambda fault: 1 - fault.part.missed, 1.0)
        )
    states = {entry.state or sheet.default_state for entry in entries}
    if any(name in sheet.states and sheet.states[name].running for name in states):
        statement = Statement("the engine", where, implied=True, slip=like.SLIP_OF_MEMORY)
        observables.append(yes_or_no(statement, obs.RUNS, rows, lambda fault: fault.part.engine_runs, 1.0))
    return tuple(observables)


def _of_gauges(rows: Rows, gauges: Sequence[str], state: str | None, where: str) -> Observable:
    """Whether an owner says anything of gauges that he was not asked about.

    One observable for all of them: who speaks of one gauge only is silent about each of the others.
    """
    right = np.array([_passes(rows, gauge, state) for gauge in gauges])
    names = enumerated([gauge.replace("_", " ") for gauge in gauges])
    subject, verb = (f"the {names} gauges", WERE) if gauges[1:] else (f"the {names} gauge", WAS)
    statement = Statement(subject, where, verb=verb, implied=True, slip=like.SLIP_OF_MEMORY)
    return of_classes(statement, behaviour.MENTIONED, behaviour.mentioned_table(right))


def of_others(statement: Statement, rows: Rows, gauge: str, state: str | None) -> Observable:
    """Whether the other gauges are all right, or some of them or all are wrong as well."""
    right = np.array([_passes(rows, other, state) for other in rows.circuit.sheet.gauges if other != gauge])
    every, none = right.prod(axis=0), (1 - right).prod(axis=0)
    table = np.stack([every, np.clip(1 - every - none, 0.0, 1.0), none], axis=1)
    return of_classes(statement, vocabulary.OTHERS.classes, table / table.sum(axis=1, keepdims=True))


def _passes(rows: Rows, gauge: str, state: str | None) -> Floats:
    """Probability that a gauge's needle passes for right with an owner, shape (rows,)."""
    situation = rows.situation(state)
    off = off_sound(rows.position(situation, gauge), rows.sound(situation, gauge))
    return tabulated(off, lambda shown: behaviour.noticed_table(shown, doubt(rows, gauge)))[:, 0]


def doubt(rows: Rows, gauge: str) -> float:
    """How far an owner's own idea of the truth leaves a needle in doubt.

    Standard deviation [position]: who does not know what is in the tank does not see that its gauge reads
    high.
    """
    sheet = rows.circuit.sheet
    marks, quantity = sheet.gauges[gauge].marks, sheet.quantities[sheet.gauges[gauge].reads]
    if len(marks) < 2:
        return 0.0
    slope = (marks[-1].position - marks[0].position) / (marks[-1].at - marks[0].at)
    return abs(slope) * quantity.plus_minus / DEVIATIONS_95


def off_sound(shown: Prediction, sound: Prediction, share: float = 1.0) -> Prediction:
    """How far every row is from where it would be sound; what tolerances move in both moves nothing of that.

    Parameters
    ----------
    sound : Prediction
        What the rows would show with nothing wrong, see `Rows.sound`.
    share : float, optional
        In shares of this, in its unit.
    """
    usual = np.nan_to_num(sound.mean)
    rest = None
    if shown.rest is not None:
        rest = (shown.rest.reshape(len(shown.rest), -1) - usual) / share
    steps = (shown.steps - sound.steps) / share
    return Prediction((shown.mean - usual) / share, shown.names, steps, shown.pulses, rest=rest)
