"""Steps that a believed fault would make burn: what leads and new senders would then carry.

A wire to ground on a lead that is chafed through to a live one lets the battery's short-circuit current flow,
a resistor there or a new sender gets hot. Such a step is not proposed while the fault is believed at all, and
never on what was measured live with the key off; a meter asks first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaugesim.advice.remedy import Repair
from gaugesim.advice.suspects import Suspects
from gaugesim.arrays import Floats
from gaugesim.case import Case, Measured
from gaugesim.circuit import Circuit
from gaugesim.planning.problem import BELIEVED
from gaugesim.reading import Situation, respond
from gaugesim.reading.response import exceeded
from gaugesim.reading.several_checks import fits, lead_currents
from gaugesim.reading.situations import without_process
from gaugesim.scenario.check import LAMP, METER, NO_CHECK, Check, find_check
from gaugesim.scenario.fault import HEALTHY, Change
from gaugesim.scenario.lead_ratings import sender_limits
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.solve.network import GROUND

# with the key off a point with more than this against battery negative is live [V]: assumed
LIVE_VOLTS = 1.0
KEY_OFF = "key_off"
# what is told with a check at a lead that may be live, and with one that is refused but asked for
CAUTION, WARNING = "maybe_live", "would_burn"
# how a wire comes to be live that should not be
LIVE_WIRE = ("to_feed", "to_battery")

Asked = Sequence[tuple[Check, str]]


@dataclass(frozen=True)
class Refused:
    """A step that is not proposed, because a fault that is believed would make it burn.

    Attributes
    ----------
    name : str
        Of the check, or of the repair.
    state : str
        In which the check would be made; empty for a repair.
    words : str
        What would be done.
    short : str
        What it is called.
    probability : float
        That its leads, its resistor or a sender would carry more than they bear [1].
    """

    name: str
    state: str
    words: str
    short: str
    probability: float


def safe(part: Suspects, asked: Asked, chance: Floats) -> tuple[list[tuple[Check, str]], tuple[Refused, ...]]:
    """The checks that may be proposed, and those that may not.

    Parameters
    ----------
    part : Suspects
        Of the circuit on which the checks are made.
    asked : sequence of (Check, str)
        Checks with the state in which each is made.
    chance : ndarray, shape (asked, hypotheses)
        See `burning`.

    Returns
    -------
    proposed : list of (Check, str)
        Where some are refused, those that touch the same leads carry a caution, and a meter asks with the key
        off as well.
    refused : tuple of Refused
    """
    believed = chance @ part.weight / part.weight.sum()
    cut = [(*entry, float(p)) for entry, p in zip(asked, believed, strict=True) if p > BELIEVED]
    refused = tuple(
        Refused(check.id, state, check.words, check.short.removeprefix("with "), p) for check, state, p in cut
    )
    left = [entry for entry, p in zip(asked, believed, strict=True) if p <= BELIEVED]
    if not refused:
        return left, refused
    sheet = part.entry.cells.circuit.sheet
    if KEY_OFF in sheet.states:
        again = {check.id: check for check, _ in left if check.key_off}
        left += [(replace(check, words=check.key_off), KEY_OFF) for check in again.values()]
    touched = {node for check, _, _ in cut for node in _touched(part, check)}
    left = [
        (warned(part, check, CAUTION), state) if touched & _touched(part, check) else (check, state)
        for check, state in left
    ]
    return left, refused


def refused_repairs(part: Suspects, repairs: Sequence[Repair], chance: Floats) -> tuple[Refused, ...]:
    """The repairs that may not be proposed.

    Parameters
    ----------
    chance : ndarray, shape (repairs, hypotheses)
        See `mending`.
    """
    believed = chance @ part.weight / part.weight.sum()
    return tuple(
        Refused(repair.name, "", repair.sentence, repair.short, float(p))
        for repair, p in zip(repairs, believed, strict=True)
        if p > BELIEVED
    )


def warned(part: Suspects, check: Check, caution: str) -> Check:
    """A check with one more caution, if the sheet has it."""
    carried = caution in part.entry.cells.circuit.sheet.cautions
    return replace(check, cautions=(caution, *check.cautions)) if carried else check


def _touched(part: Suspects, check: Check) -> frozenset[str]:
    """Nodes that a check's leads and probes join, and those between which it opens the circuit."""
    netlist = part.entry.cells.circuit.netlist
    opened = [netlist.element(name) for name in check.setup.branches]
    nodes = {node for path in check.setup.paths for node in (path.node_a, path.node_b)}
    return frozenset(nodes | {node for each in opened for node in (each.node_a, each.node_b)}) - {GROUND}


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
    ndarray, shape (asked, hypotheses)
        Probability under each hypothesis [1]; 1 where a point measured live with the key off would do it.
    """
    chance = np.zeros((len(asked), len(part.kept)))
    circuit = part.entry.cells.circuit
    live = _live(part, case)
    together: dict[str, list[int]] = {}
    bases: dict[str, Situation] = {}
    for i, (check, state) in enumerate(asked):
        # a supply on the bench limits its current itself
        if not check.leads.limits or check.setup.kept is not None:
            continue
        base = bases.setdefault(state, part.entry.cells.situation_with(state, NO_CHECK))
        if fits(base, check) and [*check.leads.limits] == [check.setup.paths[0].name]:
            together.setdefault(state, []).append(i)
            continue
        situation = Situation.of(circuit, state, check)
        believed, measured = (
            exceeded(situation, without_process(rows, situation.pinned), check.leads.limits)
            for rows in (part.scenarios(situation.parameters), live)
        )
        chance[i] = np.maximum(part.share_of(believed[1:]), measured[1:].any())
    for state, members in together.items():
        checks = [asked[i][0] for i in members]
        most = np.array([[*check.leads.limits.values()] for check in checks])
        believed, measured = (
            np.abs(lead_currents(bases[state], checks, rows)) > most
            for rows in (part.scenarios(bases[state].parameters), live)
        )
        chance[members] = np.maximum(
            part.share_of(believed[:, 1:]), measured[:, 1:].any(axis=1, keepdims=True)
        )
    return chance


def mending(part: Suspects, repairs: Sequence[Repair], case: Case) -> Floats:
    """How likely a new sender would carry more than it bears, because something else is wrong.

    Returns
    -------
    ndarray, shape (repairs, hypotheses)
        Probability under each hypothesis [1]; what a repair mends does it no harm.
    """
    chance = np.zeros((len(repairs), len(part.kept)))
    circuit = part.entry.cells.circuit
    bears = sender_limits(circuit)
    parts, live = circuit.sheet.parts, _live(part, case)
    for r, repair in enumerate(repairs):
        mended = [parts[name] for name in repair.parts if name in parts]
        own = {each.element: bears[each.element] for each in mended if each.element in bears}
        if not own:
            continue
        for state in {circuit.sheet.default_state, KEY_OFF} & circuit.sheet.states.keys():
            situation = part.entry.cells.situation_with(state, NO_CHECK)
            believed, measured = (
                exceeded(situation, without_process(rows, situation.pinned), own)
                for rows in (part.scenarios(situation.parameters), live)
            )
            insulated = any(name in each.modes for each in mended for name in LIVE_WIRE)
            chance[r] = np.maximum(chance[r], part.share_of(believed[1:]))
            chance[r] = np.maximum(chance[r], measured[1:].any() and not insulated)
        chance[r, [cure.parts <= repair.parts for cure in part.repairs]] = 0.0
    return chance


def _live(part: Suspects, case: Case) -> Scenarios:
    """The sound circuit, and it with each point that was measured live."""
    return stack([HEALTHY, *_live_points(case, part.entry.cells.circuit, part.gauge)])


def _live_points(case: Case, circuit: Circuit, gauge: str) -> list[Change]:
    """A wire to battery positive from each point last measured live with the key off that should not be."""
    last: dict[str, Measured] = {}
    for entry in sorted(case.entries, key=lambda entry: entry.stage):
        if isinstance(entry, Measured) and entry.state == KEY_OFF:
            last[entry.check] = entry
    changes = []
    for name, entry in last.items():
        check = find_check(circuit, name, entry.gauge or gauge)
        # with the other pole on the body the meter's leads are exchanged
        probed = [
            path.node_a if path.node_b == GROUND else path.node_b
            for path in check.setup.paths
            if path.name in (METER, LAMP) and GROUND in (path.node_a, path.node_b)
        ]
        if not probed or not _is_live(entry):
            continue
        sound = respond(Situation.of(circuit, KEY_OFF, check)).reading
        if sound is not None and abs(sound[0]) < LIVE_VOLTS:
            ends = probed[0], circuit.sheet.points[circuit.sheet.live_pole].node
            changes.append(Change(np.zeros(1), paths={ends: np.zeros(1)}))
    return changes


def _is_live(entry: Measured) -> bool:
    volts = entry.volts
    if isinstance(volts, str):
        return volts != "none"
    if volts is not None:
        least = min(map(abs, volts)) if isinstance(volts, tuple) else abs(volts)
        return least > LIVE_VOLTS
    return entry.lamp in ("bright", "dim", "flashes")
