"""How far a case has come: what was changed, what need not be checked again, whether it is at its end."""

from __future__ import annotations

from dataclasses import replace

from gaugesim.case import Case, Entry, Inspected, Measured, Replaced, Seen
from gaugesim.circuit import Circuit
from gaugesim.evidence.look_entries import answers_to, as_seen
from gaugesim.scenario.check import Check, find_check
from gaugesim.scenario.kinds.by_hand import LOOK_AT


def stage(case: Case) -> int:
    """The stage of what is seen now: one more for each change that the case tells of."""
    last = max((entry.stage for entry in case.entries), default=1)
    changed = any(isinstance(entry, Replaced) and entry.stage == last for entry in case.entries)
    return last + changed


def complaints(case: Case, gauge: str) -> frozenset[str]:
    """Where a case says that the needle is wrong: file and key of each entry."""
    return frozenset(
        entry.where
        for entry in case.entries
        if isinstance(entry, Seen) and entry.gauge in (None, gauge)
        if entry.moves or entry.needle not in (None, "normal", "same")
    )


def may_be_taken_again(case: Case, gauge: str) -> frozenset[str]:
    """Where entries stand that others may speak against: not the one complaint, nor what comes and goes."""
    wrong = complaints(case, gauge)
    kept = {
        entry.where
        for entry in case.entries
        if isinstance(entry, Seen) and (entry.often or entry.moves == "jumps" or {entry.where} == wrong)
    }
    return frozenset(entry.where for entry in case.entries) - kept


def cured(case: Case) -> str:
    """The part whose repair was the cure and the end of the case.

    Empty if there is none, or if something was seen after it that is not right.
    """
    repairs = [entry for entry in case.entries if isinstance(entry, Replaced)]
    last = max(repairs, key=lambda entry: entry.stage, default=None)
    if last is None or last.result != "cured":
        return ""
    after = [entry for entry in case.entries if entry.stage > last.stage]
    return last.part if all(_right(entry) for entry in after) else ""


def proven(case: Case) -> frozenset[str]:
    """States in which the needle was seen to be right after the cure."""
    if not cured(case):
        return frozenset()
    repaired = max(entry.stage for entry in case.entries if isinstance(entry, Replaced))
    after = (entry for entry in case.entries if entry.stage > repaired)
    return frozenset(entry.state for entry in after if isinstance(entry, Seen) and entry.state)


def until_cured(case: Case) -> Case:
    """A case without what was seen to be right after the cure; the same if there was none."""
    if not cured(case):
        return case
    repaired = max(entry.stage for entry in case.entries if isinstance(entry, Replaced))
    return replace(case, entries=tuple(entry for entry in case.entries if entry.stage <= repaired))


def _right(entry: Entry) -> bool:
    return isinstance(entry, Seen) and (entry.needle == "normal" or entry.moves == "follows")


def done(case: Case, circuit: Circuit, gauge: str) -> frozenset[str]:
    """Checks that need not be made again: ``check@state``, or ``check@`` for what is the same in any state.

    Parameters
    ----------
    gauge : str
        The gauge complained of.
    """
    # what changed nothing leaves all as it was seen before
    changed = [entry for entry in case.entries if isinstance(entry, Replaced) and entry.result != "no_change"]
    since = max((entry.stage for entry in changed), default=0)
    names: set[str] = set()
    for entry in case.entries:
        if entry.stage > since and isinstance(entry, Seen | Measured):
            names |= _told(entry, circuit, gauge)
    parts = {entry.part for entry in case.entries if isinstance(entry, Inspected) and entry.stage > since}
    for part in circuit.sheet.parts:
        if part in parts or circuit.short_name(part, gauge) in parts:
            names.add(f"{LOOK_AT.check(part)}@")
    return frozenset(names)


def _told(entry: Seen | Measured, circuit: Circuit, gauge: str) -> set[str]:
    """The checks whose answer an entry is."""
    if isinstance(entry, Measured):
        check = find_check(circuit, entry.check, entry.gauge or gauge)
        if not check.kind.is_look:
            names = {entry.check, _in_full(check, circuit)}
            return {f"{name}@{entry.state or circuit.sheet.default_state}" for name in names}
        entry = as_seen(entry, check)
    return {*answers_to(entry, circuit, gauge)}


def _in_full(check: Check, circuit: Circuit) -> str:
    """A check's id with the gauge that it speaks of, where that is left out though there are several."""
    kind, _, target = check.id.partition(":")
    if not check.kind.takes_gauge or len(circuit.sheet.gauges) == 1 or target.startswith(check.gauge):
        return check.id
    return ":".join(part for part in (kind, check.gauge, target) if part)


def is_past(check: str, state: str, past: frozenset[str]) -> bool:
    """Whether a check in a state is one of those that `done` names."""
    return f"{check}@{state}" in past or f"{check}@" in past
