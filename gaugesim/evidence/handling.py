"""What parts look like when they are uncovered, and what comes of moving and replacing them."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from gaugesim import vocabulary
from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.overload import overloads
from gaugesim.scenario.check import Check
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.sheet import FOUND, GAUGE_KINDS
from gaugesim.solve.network import GROUND
from gaugesim.vocabulary import RESULT

SOUND_LOOKS = np.array([*vocabulary.FOUND.row("sound").values()])
SOUND_LOOKS /= SOUND_LOOKS.sum()
# probability of each result of a repair: see the vocabulary
RIGHT, WRONG, DISTURBED, OVERLOADED, HALF = map(
    RESULT.row, ("right", "wrong", "disturbed", "overloaded", "half")
)
SOUND_REPLACED = np.array([*WRONG.values()])

# kinds of contacts, which work beside them disturbs
_CONTACTS = ("pin", "stud_nut", "case_ground", "foil")
_OF_CONTACTS = ("open", "high", "intermittent")
# kinds of parts that cleaning and tightening mends
_CLEANED = (*_CONTACTS, "cable", "fuse")


def _looks(fault: Fault) -> Floats:
    """Probability of each way a part with a fault looks; what shows nothing looks as a sound part does."""
    looks = fault.mode.found
    if looks == ("sound",):
        return SOUND_LOOKS
    row = np.full(len(FOUND), (1 - sum(like.FOUND_SHARES[: len(looks)])) / len(FOUND))
    for word, share in zip(looks, like.FOUND_SHARES, strict=False):
        row[FOUND.index(word)] += share
    return np.asarray(row / row.sum())


def found_table(faults: Sequence[Fault | Pair], part: str, how: str = "") -> Floats:
    """Probability of each way a part is found.

    Parameters
    ----------
    faults : sequence of Fault or Pair
        The fault of each row.
    how : str, optional
        How that is known: ``looked``, ``tugged`` or ``measured``; empty if that is not told.

    Returns
    -------
    ndarray, shape (faults, len(FOUND))
    """
    tested, sound = like.TESTED[how], FOUND.index("sound")
    table = np.tile(SOUND_LOOKS, (len(faults), 1))
    for i, entry in enumerate(faults):
        for fault in entry.singles:
            if fault.part.id == part:
                row = _looks(fault)
                resting = fault.mode.at_times
                missed = resting * like.TESTED_RESTING + (1 - resting) * like.TESTED_SOUND
                seen = np.where(np.arange(len(FOUND)) == sound, 0.0, row + 1e-3)
                seen *= (1 - missed) / seen.sum()
                seen[sound] = missed
                table[i] = (1 - tested) * row + tested * seen
    return table


def jump_chance(faults: Sequence[Fault | Pair], touched: str) -> Floats:
    """Probability that the needle jumps when a part is moved, or a gauge tapped.

    Parameters
    ----------
    faults : sequence of Fault or Pair
        The fault of each row.
    touched : str
        The part that is moved, or ``gauge:`` and the gauge that is tapped.

    Returns
    -------
    ndarray, shape (faults,)
    """
    tapped = touched.startswith("gauge:")
    chances = like.JUMP_WHEN_TAPPED if tapped else like.JUMP_WHEN_MOVED

    def chance(fault: Fault) -> float:
        at_gauge = f"gauge:{fault.part.gauge}" if fault.part.kind in ("stud_nut", *GAUGE_KINDS) else ""
        if touched != (at_gauge if tapped else fault.part.id):
            return chances["sound"]
        if fault.mode.id in chances:
            return chances[fault.mode.id]
        loose = "loose" in fault.mode.found and fault.mode.id in ("open", "high")
        steady = chances["loose"] if loose else chances["sound"]
        return fault.mode.at_times * chances["intermittent"] + (1 - fault.mode.at_times) * steady

    return np.array([max(chance(fault) for fault in entry.singles) for entry in faults])


def of_process(faults: Sequence[Fault | Pair]) -> Floats:
    """1 for each fault that is that the gauge tells the truth, shape (faults,)."""
    own = [all(fault.part.kind == "process" for fault in entry.singles) for entry in faults]
    return np.array(own, dtype=float)


def sticks(entry: Fault | Pair, kind: str, gauge: str) -> bool:
    """Whether a fault is that a gauge's part of a kind sticks, and nothing else."""
    return all(
        fault.mode.id == "stuck" and fault.part.kind == kind and fault.part.gauge in ("", gauge)
        for fault in entry.singles
    )


def shown_by_hand(faults: Sequence[Fault | Pair], check: Check) -> tuple[tuple[str, ...], Floats]:
    """What a part that is moved or looked at shows.

    Parameters
    ----------
    check : Check
        By hand.

    Returns
    -------
    classes : tuple of str
    table : ndarray, shape (faults, classes)
    """
    if check.kind.inspects:
        return FOUND, found_table(faults, check.part, "looked")
    chance = jump_chance(faults, check.part)
    return vocabulary.JUMP.classes, np.stack([1 - chance, chance], axis=1)


def parts_of_whole(circuit: Circuit, name: str, gauge: str) -> frozenset[str]:
    """Parts of a whole gauge, or of a whole panel.

    Parameters
    ----------
    name : str
        ``gauge`` or ``panel``.
    """
    parts = circuit.sheet.parts.values()
    if name == "gauge":
        return frozenset(part.id for part in parts if part.kind in GAUGE_KINDS and part.gauge in ("", gauge))
    kinds = (*GAUGE_KINDS, "foil", "stud_nut", "regulator")
    return frozenset(part.id for part in parts if part.kind in kinds)


def disturbed(circuit: Circuit, parts: Collection[str]) -> frozenset[str]:
    """Contacts that are moved while other parts are replaced: those beside them, and at the same place."""
    sheet = circuit.sheet

    def ends(name: str) -> set[str]:
        if not sheet.parts[name].element:
            return set()
        element = circuit.netlist.element(sheet.parts[name].element)
        return {element.node_a, element.node_b}

    nodes = {node for name in parts for node in ends(name)} - {GROUND}
    places = {sheet.parts[name].place for name in parts}
    contacts = [part for part in sheet.parts.values() if part.kind in _CONTACTS and part.id not in parts]
    return frozenset(part.id for part in contacts if part.place in places or ends(part.id) & nodes)


def mends(how: str, fault: Fault) -> bool:
    """Whether a fault is mended by what is done to its part: cleaning mends poor contacts alone.

    Parameters
    ----------
    how : str
        ``new``, ``used`` or ``cleaned``.
    """
    if how != "cleaned":
        return True
    poor = any(word in fault.mode.found for word in ("loose", "corroded"))
    return poor and fault.part.kind in _CLEANED and fault.mode.id in _OF_CONTACTS


def replaced_table(
    circuit: Circuit, faults: Sequence[Fault | Pair], parts: Collection[str], how: str = "new"
) -> Floats:
    """Probability of each result of a replacement.

    Parameters
    ----------
    faults : sequence of Fault or Pair
        The fault of each row.
    parts : collection of str
        What was replaced.
    how : str
        By a ``new`` or a ``used`` part, or that the old one was ``cleaned`` and tightened.

    Returns
    -------
    ndarray, shape (faults, len(RESULT.classes))
    """
    moved = disturbed(circuit, parts)
    vain = {"new": 0.0, "used": like.USED_BAD, "cleaned": like.CLEANED_IN_VAIN}[how]
    right, piece = (
        {word: (1 - share) * chance + share * WRONG[word] for word, chance in RIGHT.items()}
        for share in (vain, like.ANOTHER_PIECE)
    )
    destroyed = overloads(circuit, faults, parts) if how != "cleaned" else np.zeros(len(faults), dtype=bool)

    def row(fault: Fault) -> dict[str, float]:
        if fault.part.id in parts and fault.part.kind == "process":
            return piece if fault.mode.severity.quantity else WRONG
        if fault.part.id in parts:
            return right if mends(how, fault) else WRONG
        contact = fault.part.id in moved and fault.mode.id in _OF_CONTACTS
        return DISTURBED if contact else WRONG

    def rows(entry: Fault | Pair, fails_again: bool) -> list[float]:
        result, *other = [row(fault) for fault in entry.singles]
        if fails_again:
            result = OVERLOADED
        elif other and (result is right) != (other[0] is right):
            result = HALF
        elif other and other[0] is DISTURBED:
            result = other[0]
        return [result[word] for word in RESULT.classes]

    return np.array([rows(fault, bool(fails)) for fault, fails in zip(faults, destroyed, strict=True)])
