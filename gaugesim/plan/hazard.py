"""Checks that a believed fault would make burn: what their leads would then carry, weighed by belief.

A wire to ground on a lead that is chafed through to a live one lets the battery's short-circuit current flow,
a resistor there or a sender gets hot. Such a check is not proposed while the fault is believed at all, and
never on what was measured live with the key off; a meter asks first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaugesim.case import Case, Measured
from gaugesim.circuit import Circuit
from gaugesim.plan.suspects import Suspects
from gaugesim.reading import respond, situation
from gaugesim.reading.response import embedded
from gaugesim.reading.situation import Situation, without_process
from gaugesim.reading.together import fits, lead_currents
from gaugesim.scenario.check import LAMP, METER, NO_CHECK, Check, find_check
from gaugesim.scenario.fault import HEALTHY, Change
from gaugesim.scenario.stack import Scenarios, stack
from gaugesim.solve.network import GROUND, Floats

# a check is not proposed if what it hangs on the circuit burns with more than this probability: assumed
BELIEVED = 0.02
# with the key off a point with more than this against battery negative is live [V]: assumed
LIVE_VOLTS = 1.0
KEY_OFF = "key_off"
# what is told with a check at a lead that may be live, and with one that is refused but asked for
CAUTION, WARNING = "maybe_live", "would_burn"

Asked = Sequence[tuple[Check, str]]


@dataclass(frozen=True)
class Refused:
    """A check that is not proposed, because a fault that is believed would make it burn.

    Attributes
    ----------
    probability : float
        That its leads, its resistor or a sender would carry more than they bear [1].
    """

    check: Check
    state: str
    probability: float


def safe(part: Suspects, asked: Asked, case: Case) -> tuple[list[tuple[Check, str]], tuple[Refused, ...]]:
    """The checks that may be proposed, and those that may not.

    Parameters
    ----------
    part : Suspects
        Of the circuit on which the checks are made.
    asked : sequence of (Check, str)
        Checks with the state in which each is made.
    case : Case
        What was measured.

    Returns
    -------
    proposed : list of (Check, str)
        Where some are refused, those that touch the same leads carry a caution, and a meter asks with the key
        off as well.
    refused : tuple of Refused
    """
    chance = burning(part, asked, case)
    refused = tuple(
        Refused(check, state, float(p))
        for (check, state), p in zip(asked, chance, strict=True)
        if p > BELIEVED
    )
    left = [entry for entry, p in zip(asked, chance, strict=True) if p <= BELIEVED]
    if not refused:
        return left, refused
    sheet = part.entry.cells.circuit.sheet
    if KEY_OFF in sheet.states:
        again = {check.id: check for check, _ in left if check.key_off}
        left += [(replace(check, words=check.key_off), KEY_OFF) for check in again.values()]
    touched = {node for entry in refused for node in _touched(part, entry.check)}
    left = [
        (warned(part, check, CAUTION), state) if touched & _touched(part, check) else (check, state)
        for check, state in left
    ]
    return left, refused


def warned(part: Suspects, check: Check, caution: str) -> Check:
    """A check with one more caution, if the sheet has it."""
    known = caution in part.entry.cells.circuit.sheet.cautions
    return replace(check, cautions=(caution, *check.cautions)) if known else check


def _touched(part: Suspects, check: Check) -> frozenset[str]:
    """Nodes that a check's leads and probes join, and those between which it opens the circuit."""
    netlist = part.entry.cells.circuit.netlist
    opened = [netlist.element(name) for name in check.setup.branches]
    nodes = {node for path in check.setup.paths for node in (path.node_a, path.node_b)}
    return frozenset(nodes | {node for one in opened for node in (one.node_a, one.node_b)}) - {GROUND}


def burning(part: Suspects, asked: Asked, case: Case) -> Floats:
    """How likely a check's leads, its resistor or a sender would carry more than they bear.

    Parameters
    ----------
    part : Suspects
        Of the circuit on which the checks are made.
    asked : sequence of (Check, str)
        Checks with the state in which each is made.
    case : Case
        What was measured.

    Returns
    -------
    ndarray, shape (asked,)
        Probability if it is this circuit [1]; 1 where a point measured live with the key off would do it.
    """
    found = np.zeros(len(asked))
    circuit = part.entry.cells.circuit
    live = stack([HEALTHY, *_live_points(case, circuit, part.gauge)])
    weight = part.weight[part.row_of] * part.row_weight / part.weight.sum()
    together: dict[str, list[int]] = {}
    bases: dict[str, Situation] = {}
    for i, (check, state) in enumerate(asked):
        # a supply on the bench limits its current itself
        if not check.leads.limits or check.setup.kept is not None:
            continue
        base = bases.setdefault(state, part.entry.cells.place_with(state, NO_CHECK))
        if fits(base, check) and [*check.leads.limits] == [check.setup.paths[0].name]:
            together.setdefault(state, []).append(i)
            continue
        where = situation(circuit, state, check)
        believed, measured = (
            _exceeded(where, without_process(rows, where.known))
            for rows in (part.scenarios(where.parameters), live)
        )
        found[i] = max(believed[1:] @ weight, measured[1:].any())
    for state, members in together.items():
        checks = [asked[i][0] for i in members]
        most = np.array([[*check.leads.limits.values()] for check in checks])
        believed, measured = (
            np.abs(lead_currents(bases[state], checks, rows)) > most
            for rows in (part.scenarios(bases[state].parameters), live)
        )
        found[members] = np.maximum(believed[:, 1:] @ weight, measured[:, 1:].any(axis=1))
    return found


def _exceeded(where: Situation, rows: Scenarios) -> np.ndarray:
    """Whether any of a check's leads or senders carries more than it bears, in each scenario."""
    limits = where.check.leads.limits
    outputs = [where.network.branch(name) for name in limits]
    currents = embedded(where)(where.network, outputs, rows, None)
    return np.asarray((np.abs(currents) > np.array([*limits.values()])).any(axis=1))


def _live_points(case: Case, circuit: Circuit, gauge: str) -> list[Change]:
    """A wire to battery positive from each point last measured live with the key off that should not be."""
    last: dict[str, Measured] = {}
    for entry in sorted(case.entries, key=lambda entry: entry.stage):
        if isinstance(entry, Measured) and entry.state == KEY_OFF:
            last[entry.check] = entry
    found = []
    for name, entry in last.items():
        check = find_check(circuit, name, entry.gauge or gauge)
        probes = [path for path in check.setup.paths if path.name in (METER, LAMP) and path.node_b == GROUND]
        if not probes or not _is_live(entry):
            continue
        sound = respond(situation(circuit, KEY_OFF, check)).reading
        if sound is not None and abs(sound[0]) < LIVE_VOLTS:
            ends = probes[0].node_a, circuit.sheet.points[circuit.sheet.live_pole].node
            found.append(Change(np.zeros(1), paths={ends: np.zeros(1)}))
    return found


def _is_live(entry: Measured) -> bool:
    volts = entry.volts
    if isinstance(volts, str):
        return volts != "none"
    if volts is not None:
        least = min(map(abs, volts)) if isinstance(volts, tuple) else abs(volts)
        return least > LIVE_VOLTS
    return entry.lamp in ("bright", "dim", "flashes")
