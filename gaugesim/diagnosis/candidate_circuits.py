"""Which circuits a case may be about, and which gauge it complains of."""

from __future__ import annotations

from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import Path

from gaugesim import circuit as circuits
from gaugesim.case import Case, Entry, Measured, Seen
from gaugesim.circuit import Circuit
from gaugesim.compose import Vehicle, compose
from gaugesim.diagnosis.fits import fits_vehicle
from gaugesim.errors import CaseError, unknown_name


def candidates(case: Case, netlists_folder: Path | None = None) -> tuple[Circuit, ...]:
    """Circuits that a case names, or those that the vehicle it describes may have.

    Parameters
    ----------
    netlists_folder : path, optional
        Searched first.

    Raises
    ------
    CaseError
        If a name or pattern fits none, or none that is named fits what is said of the vehicle.
    """
    if case.vehicle is not None and (composed := _composed(case, case.vehicle)):
        return composed
    available = circuits.available(netlists_folder)
    chosen: dict[str, Circuit] = {}
    for pattern in case.circuits:
        if pattern.endswith(".cir"):
            path = Path(pattern)
            made = circuits.read(path if path.is_absolute() else case.path.parent / path)
            chosen[made.id] = made
            continue
        fitting = [name for name in available if fnmatchcase(name, pattern)]
        if not fitting:
            reason = unknown_name("circuit", pattern, available)
            raise CaseError(reason.problem, f"{case.path.name}: circuit", reason.remedy)
        chosen |= {name: circuits.find(name, netlists_folder) for name in fitting if name not in chosen}
    if case.vehicle is None:
        return tuple(chosen.values())
    left = tuple(circuit for circuit in chosen.values() if fits_vehicle(circuit, case.vehicle))
    if not left:
        raise CaseError(
            f"does not fit circuit {', '.join(case.circuits)}",
            case.vehicle.where,
            "leave circuit out, and one is composed from these words",
        )
    return left


def _composed(case: Case, vehicle: Vehicle) -> tuple[Circuit, ...]:
    """Circuits out of what is said of the vehicle; of those that the case names too, if any, only these."""
    wanted = case.circuits or ("*",)
    return tuple(
        circuits.of_composed(each)
        for each in compose(vehicle)
        if any(fnmatchcase(each.id, pattern) for pattern in wanted)
    )


def complained_of(case: Case, circuit: Circuit) -> str:
    """The gauge complained of on a circuit: the one that the case names, or the first that its entries name.

    Raises
    ------
    CaseError
        If the circuit has none of those that the case names.
    """
    gauges = list(circuit.sheet.gauges)
    named = [case.gauge] if case.gauge else list(named_gauges(case))
    possible = [gauge for gauge in named if gauge in gauges]
    if named and not possible:
        where = f"{case.path.name}: gauge"
        raise CaseError(f"{circuit.id} has no gauge {named[0]!r}", where, f"it has {', '.join(gauges)}")
    return possible[0] if possible else gauges[0]


def named_gauges(case: Case) -> dict[str, None]:
    """Gauges that the entries of a case name, in their order."""
    entries = (entry for entry in case.entries if isinstance(entry, Seen | Measured))
    return dict.fromkeys(entry.gauge for entry in entries if entry.gauge)


def gauges_spoken_of(case: Case, circuit: Circuit) -> frozenset[str]:
    """The gauges of which a case speaks. Gauges of the circuit."""
    spoken = {complained_of(case, circuit), *named_gauges(addressed(case, circuit))}
    return frozenset(spoken & {*circuit.sheet.gauges})


def gauges_wrong(case: Case, circuit: Circuit) -> tuple[str, ...]:
    """The gauge complained of; where a case does not say which that is, all that were seen wrong."""
    seen = (
        () if case.gauge else (entry for entry in addressed(case, circuit).entries if isinstance(entry, Seen))
    )
    wrong = [
        entry.gauge
        for entry in seen
        if entry.needle not in (None, "normal") or entry.moves not in (None, "follows")
    ]
    named = dict.fromkeys([complained_of(case, circuit), *filter(None, wrong)])
    return tuple(gauge for gauge in named if gauge in circuit.sheet.gauges)


def addressed(case: Case, circuit: Circuit) -> Case:
    """A case whose entries say which gauge they are of.

    A case that names no gauge speaks of all that are alike: on a panel with several, what was seen of "the
    needle" was seen of each of them.
    """
    gauges = tuple(circuit.sheet.gauges)
    if case.gauge or len(gauges) == 1 or named_gauges(case):
        return case
    entries: list[Entry] = []
    for entry in case.entries:
        if isinstance(entry, Seen) and (entry.needle is not None or entry.moves):
            entries += [replace(entry, gauge=gauge) for gauge in gauges]
        else:
            entries.append(entry)
    return replace(case, entries=tuple(entries))
