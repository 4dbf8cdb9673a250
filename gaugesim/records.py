"""Finished cases kept in a plain folder, and what they say of how often which part failed.

A record is the case file itself, as its person wrote it; nothing in the folder is ever overwritten. From all
cases that ended with a cure come counts by part and mode: the ``[[history]]`` that priors are updated with.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from gaugesim import case as cases
from gaugesim.case import WHOLES, Case, Replaced
from gaugesim.circuit import Circuit
from gaugesim.diagnosis import candidates, complained_of, diagnose
from gaugesim.errors import CaseError, GaugesimError
from gaugesim.evidence import history
from gaugesim.evidence.handling import parts_of_whole
from gaugesim.evidence.history import Effect, PastRepair, PastRepairs
from gaugesim.files import read_file, write_files

# shares of a count below this are left out
LEAST_COUNT = 0.005


@dataclass(frozen=True)
class History:
    """What finished cases say of how often which part failed.

    Attributes
    ----------
    counts : mapping
        From (part, mode), the part as its sheet calls it, to how often that was the fault; need not be whole.
    cured : tuple of Path
        The cases that were counted.
    open : tuple of Path
        Cases that did not end with a cure.
    refused : mapping
        From case files that cannot be counted to the reason.
    """

    counts: Mapping[tuple[str, str], float]
    cured: tuple[Path, ...]
    open: tuple[Path, ...]
    refused: Mapping[Path, str]


def keep(case_path: Path, folder: Path, name: str | None = None) -> Path:
    """Put a case among the finished ones.

    Parameters
    ----------
    folder : Path
        It is made if it is not there.
    name : str, optional
        What to call the record, without ``.toml``; as the case file if left out.

    Returns
    -------
    Path
        Where it is kept. A case that is there already, word for word, is left as it is.

    Raises
    ------
    CaseError
        If the file is no case, or another case is there under that name: nothing is overwritten.
    """
    cases.read(case_path)
    target = folder / f"{case_path.stem if name is None else name}.toml"
    if target.parent.resolve() != folder.resolve():
        raise CaseError(f"a record cannot be called {name!r}", "", "use a name without / in it")
    content = read_file(case_path)
    if target.exists():
        if read_file(target) != content:
            raise CaseError(
                "another case is kept there already and is not overwritten",
                str(target),
                "give it another name",
            )
        return target
    folder.mkdir(parents=True, exist_ok=True)
    write_files({target: content})
    return target


def cure_of(case: Case) -> Replaced | None:
    """The repair that ended a case.

    The last repair of the case, if it cured; None if it did not, or there was none.

    Examples
    --------
    >>> tried = [{"part": "sender", "result": "no_change"}, {"part": "stud_bias", "result": "cured"}]
    >>> cure_of(cases.parse({"circuit": "temp_opposed_coil", "replaced": tried})).part
    'stud_bias'
    """
    repairs = [entry for entry in case.entries if isinstance(entry, Replaced)]
    if not repairs:
        return None
    last = max(enumerate(repairs), key=lambda pair: (pair[1].stage, pair[0]))[1]
    return last if last.result == "cured" else None


def history_of(folder: Path, netlists_folder: Path | None = None) -> History:
    """Count the faults of the finished cases in a folder.

    Raises
    ------
    CaseError
        If there is no such folder.
    """
    if not folder.is_dir():
        raise CaseError("there is no such folder", str(folder), "name a folder of case files")
    counts: dict[tuple[str, str], float] = defaultdict(float)
    cured: list[Path] = []
    still_open: list[Path] = []
    refused: dict[Path, str] = {}
    for path in sorted(folder.glob("*.toml")):
        try:
            case = cases.read(path)
            cure = cure_of(case)
            if cure is None:
                still_open.append(path)
                continue
            for fault, share in _shares(case, cure.part, netlists_folder).items():
                counts[fault] += share
            cured.append(path)
        except GaugesimError as error:
            refused[path] = str(error)
    return History(dict(counts), tuple(cured), tuple(still_open), refused)


def _shares(case: Case, repaired: str, netlists_folder: Path | None) -> dict[tuple[str, str], float]:
    """The one count of a case over the faults that its repair did away with.

    Where a part can fail in several ways, or a whole gauge was replaced, the rest of the case decides.
    """
    diagnosis = diagnose(case, candidates(case, netlists_folder))
    shares: dict[tuple[str, str], float] = defaultdict(float)
    for posterior in diagnosis.posteriors:
        circuit = posterior.cells.circuit
        weight = diagnosis.circuits[circuit.id]
        gauge = complained_of(case, circuit)
        if repaired in WHOLES:
            parts = parts_of_whole(circuit, repaired, gauge)
        else:
            parts = frozenset({circuit.part(repaired, gauge).id})
        for fault, probability in zip(posterior.cells.faults, posterior.fault.tolist(), strict=True):
            for single in fault.singles:
                if single.part.id in parts:
                    shares[single.part.id, single.mode.id] += weight * probability
    total = sum(shares.values())
    if not total > 0:
        raise CaseError(
            f"nothing that {repaired!r} could have had explains it", case.path.name, "was that the repair?"
        )
    return {fault: share / total for fault, share in shares.items() if share / total >= LEAST_COUNT}


def past_repairs(path: Path, netlists_folder: Path | None = None) -> PastRepairs:
    """Counts of past repairs from a file of them, or counted from a folder of finished cases.

    Raises
    ------
    CaseError
        If there is neither, the file has a mistake, or no case in the folder ended with a cure.
    """
    if not path.is_dir():
        return history.read(path)
    counted = history_of(path, netlists_folder)
    if not counted.cured:
        refused = f" ({len(counted.refused)} cannot be read)" if counted.refused else ""
        raise CaseError(
            f"none of its cases has ended with a cure{refused}",
            str(path),
            'a finished case ends with [[replaced]], result = "cured"',
        )
    entries = [PastRepair(part, mode, count) for (part, mode), count in sorted(counted.counts.items())]
    return PastRepairs(path.name, tuple(entries), unreadable=tuple(counted.refused.values()))


def keep_finished(case: Case, folder: Path) -> Path:
    """Put a case among the finished ones, if it is finished.

    Raises
    ------
    CaseError
        If it did not end with a cure.
    """
    if cure_of(case) is None:
        raise CaseError(
            "the case has not ended with a cure",
            case.path.name,
            'kept are finished cases: give the repair as [[replaced]] with result = "cured"',
        )
    return keep(case.path, folder)


def learned(
    chosen: Sequence[Circuit], path: Path | None, netlists_folder: Path | None
) -> tuple[tuple[Circuit, ...], tuple[Effect, ...]]:
    """Circuits with past repairs in their priors.

    Parameters
    ----------
    path : Path or None
        A file of past repairs or a folder of finished cases; None leaves the circuits as they are.

    Returns
    -------
    effects : tuple of Effect
        What the past repairs changed on each; empty if there are none.
    """
    if path is None:
        return tuple(chosen), ()
    past = past_repairs(path, netlists_folder)
    after = history.learn(chosen, past, netlists_folder)
    return after, tuple(history.effect_on(*both, past) for both in zip(chosen, after, strict=True))
