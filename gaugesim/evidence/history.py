"""A user's own counts of past repairs, and what they make of a sheet's prior shares.

The sheet's shares are the mean of a Dirichlet distribution that is worth a number of repairs; counts are
added to it. It is nested: which kind of part, which part of that kind, in which way it fails. A count that
stops at the part ("eleven senders") so says nothing of the way, and one without a gauge nothing of the gauge.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from pathlib import Path

from gaugesim import circuit as circuits
from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError, unknown_name
from gaugesim.scenario.fault import all_faults
from gaugesim.sheet import MODES, Part
from gaugesim.table import Table, load

# how many past repairs the sheet's own shares are worth where a file does not say, assumed: ten repairs then
# move a share a quarter of the way to what they say, a hundred three quarters
SHEET_WORTH = 30.0


@dataclass(frozen=True)
class PastRepair:
    """How often one part was the fault.

    Attributes
    ----------
    part : str
        Its id; without the gauge's name it stands for that part of any gauge.
    mode : str or None
        In which way, None if that is not known.
    count : float
        How often [1].
    circuits : tuple of str
        Ids and patterns of the circuits that it was counted on; empty for any.
    where : str
        File and key, empty for what was not written by a person.
    """

    part: str
    mode: str | None
    count: float
    circuits: tuple[str, ...] = ()
    where: str = ""


@dataclass(frozen=True)
class PastRepairs:
    """All counts.

    Attributes
    ----------
    source : str
        Name of the file or folder that they come from.
    sheet_worth : float
        How many repairs the sheet's own shares are worth [1].
    unreadable : tuple of str
        Why files among them are not counted.
    """

    source: str
    entries: tuple[PastRepair, ...]
    sheet_worth: float = SHEET_WORTH
    unreadable: tuple[str, ...] = ()


@dataclass(frozen=True)
class Share:
    """What the counts change for one fault.

    Attributes
    ----------
    before, after : float
        Its share of all faults by the sheet alone, and with the counts [1].
    """

    fault: str
    words: str
    before: float
    after: float


@dataclass(frozen=True)
class Effect:
    """What the counts change on one circuit.

    Attributes
    ----------
    counted, elsewhere : float
        How many of the repairs are of faults that the circuit has, and how many are not [1].
    shares : tuple of Share
        Largest change first.
    """

    circuit: str
    past: PastRepairs
    counted: float
    elsewhere: float
    shares: tuple[Share, ...]


def read(path: Path) -> PastRepairs:
    """Read a file of past repairs.

    Parameters
    ----------
    path : Path
        A ``.toml`` file of ``[[history]]`` entries with ``part``, ``count`` and, where they are known,
        ``mode`` and ``circuit``; ``sheet_worth`` above them says how many repairs the sheet is worth.

    Raises
    ------
    CaseError
        By file and key: what is wrong and what would be right.
    """
    top = Table(load(path, CaseError), path.name, CaseError)
    worth = top.number("sheet_worth", SHEET_WORTH, low=0.1, high=1e6)
    entries = []
    for entry in top.list_of_tables("history"):
        entries.append(
            PastRepair(
                entry.text("part"),
                entry.choice("mode", MODES, None),
                entry.number("count", low=0.0, high=1e9),
                entry.texts("circuit", ()),
                entry.where,
            )
        )
        entry.end()
    top.end()
    if not entries:
        raise CaseError(
            "has no [[history]] entry", path.name, 'write [[history]], part = "sender", count = 3'
        )
    return PastRepairs(path.name, tuple(entries), worth)


def learn(
    chosen: Sequence[Circuit], past: PastRepairs, netlists_folder: Path | None = None
) -> tuple[Circuit, ...]:
    """Add the counts to the shares of circuits. The same, with other weights of their parts and modes.

    Parameters
    ----------
    netlists_folder : Path, optional
        Searched first for circuits that have a part which none of these has.

    Raises
    ------
    CaseError
        By file and key, where no circuit at all has such a part, or the part no such mode.

    Examples
    --------
    >>> circuit = circuits.find("temp_two_coil")
    >>> past = PastRepairs("mine", (PastRepair("sender", None, 30.0),), sheet_worth=30.0)
    >>> share = effect_on(circuit, *learn([circuit], past), past).shares[0]
    >>> share.fault, share.after > share.before
    ('sender=open', True)
    """
    for entry in past.entries:
        if entry.where:
            _check(entry, chosen, netlists_folder)
    return tuple(_learn(circuit, past) for circuit in chosen)


def effect_on(before: Circuit, after: Circuit, past: PastRepairs) -> Effect:
    """What counts changed in a circuit.

    Parameters
    ----------
    before, after : Circuit
        As its sheet has it, and as `learn` made it.
    """
    first, last = all_faults(before), all_faults(after)
    totals = [sum(fault.weight for fault in faults) for faults in (first, last)]
    changed = [
        Share(old.id, old.words, old.weight / totals[0], new.weight / totals[1])
        for old, new in zip(first, last, strict=True)
    ]
    counted = sum(entry.count for entry in past.entries if _parts(entry, before))
    whole = sum(entry.count for entry in past.entries)
    changed.sort(key=lambda share: -abs(share.after - share.before))
    return Effect(before.id, past, counted, whole - counted, tuple(changed))


def _bare(circuit: Circuit, part: Part) -> str:
    """A part's id without the name of its gauge."""
    return circuit.short_name(part.id, part.gauge)


def _named(circuit: Circuit, name: str) -> list[Part]:
    """The parts that a name stands for."""
    parts = circuit.sheet.parts
    return (
        [parts[name]] if name in parts else [each for each in parts.values() if _bare(circuit, each) == name]
    )


def _parts(entry: PastRepair, circuit: Circuit) -> list[Part]:
    """The parts of a circuit that a count may be of."""
    if entry.circuits and not any(fnmatchcase(circuit.id, pattern) for pattern in entry.circuits):
        return []
    return [
        part
        for part in _named(circuit, entry.part)
        if _can_fail(part) and (entry.mode is None or entry.mode in part.modes)
    ]


def _can_fail(part: Part) -> bool:
    return part.weight > 0 and any(mode.weight for mode in part.modes.values())


def _check(entry: PastRepair, chosen: Sequence[Circuit], netlists_folder: Path | None) -> None:
    """See that the part and its mode exist; in circuits that are not in question too, if need be."""
    possible = list(chosen)
    parts = [part for circuit in possible for part in _named(circuit, entry.part)]
    if not parts:
        # slow, but only for what this case has nothing to do with
        possible += [circuits.find(name, netlists_folder) for name in circuits.available(netlists_folder)]
        parts = [part for circuit in possible for part in _named(circuit, entry.part)]
    if not parts:
        names = {
            name
            for each in possible
            for part in each.sheet.parts.values()
            for name in (part.id, _bare(each, part))
        }
        reason = unknown_name("part", entry.part, names)
        raise CaseError(reason.problem, f"{entry.where}.part", reason.remedy)
    modes = {mode for part in parts for mode in part.modes}
    if entry.mode is not None and entry.mode not in modes:
        reason = unknown_name(f"mode of {entry.part}", entry.mode, modes)
        raise CaseError(reason.problem, f"{entry.where}.mode", reason.remedy)
    ids = {each.id for each in possible} | set(circuits.available(netlists_folder))
    for pattern in entry.circuits:
        if not any(fnmatchcase(name, pattern) for name in ids):
            reason = unknown_name("circuit", pattern, ids)
            raise CaseError(reason.problem, f"{entry.where}.circuit", reason.remedy)


def _learn(circuit: Circuit, past: PastRepairs) -> Circuit:
    """One circuit with the counts."""
    parts = {part.id: part for part in circuit.sheet.parts.values() if _can_fail(part)}
    weight = sum(part.weight for part in parts.values())
    # what the sheet's shares are worth in repairs, and what was counted, for kinds of part, parts, and modes
    own = {name: past.sheet_worth * part.weight / weight for name, part in parts.items()}
    kind = {name: _bare(circuit, part) for name, part in parts.items()}
    of_kind: dict[str, float] = defaultdict(float)
    of_part: dict[str, float] = defaultdict(float)
    of_mode: dict[tuple[str, str], float] = defaultdict(float)
    for entry in past.entries:
        named = _parts(entry, circuit)
        if not named:
            continue
        of_kind[kind[named[0].id]] += entry.count
        if len(named) == 1:
            of_part[named[0].id] += entry.count
        if entry.mode is not None:
            for part in named:
                # of several the way is known and the part is not: each learns it by its own share
                of_mode[part.id, entry.mode] += (
                    entry.count * own[part.id] / sum(own[each.id] for each in named)
                )
    learned = {}
    for name, part in parts.items():
        alike = [other for other in parts if kind[other] == kind[name]]
        of_alike = sum(own[other] for other in alike)
        inside = (own[name] + of_part[name]) / (of_alike + sum(of_part[other] for other in alike))
        whole = sum(mode.weight for mode in part.modes.values())
        modes = {
            mode.id: replace(mode, weight=own[name] * mode.weight / whole + of_mode[name, mode.id])
            for mode in part.modes.values()
        }
        learned[name] = replace(part, weight=(of_alike + of_kind[kind[name]]) * inside, modes=modes)
    return replace(circuit, sheet=replace(circuit.sheet, parts={**circuit.sheet.parts, **learned}))
