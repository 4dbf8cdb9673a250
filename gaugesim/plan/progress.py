"""How far a case has come: what was changed, what need not be checked again, whether it is at its end."""

from __future__ import annotations

from gaugesim.case import Case, Inspected, Measured, Replaced
from gaugesim.circuit import Circuit


def stage(case: Case) -> int:
    """The stage of what is seen now: one more for each change that the case tells of.

    Parameters
    ----------
    case : Case

    Returns
    -------
    int
    """
    last = max((entry.stage for entry in case.entries), default=1)
    changed = any(isinstance(entry, Replaced) and entry.stage == last for entry in case.entries)
    return last + changed


def cured(case: Case) -> str:
    """The part whose replacement was the cure and the end of the case so far.

    Parameters
    ----------
    case : Case

    Returns
    -------
    str
        Empty if there is none.
    """
    last = max((entry.stage for entry in case.entries), default=1)
    return next(
        (
            entry.part
            for entry in case.entries
            if isinstance(entry, Replaced) and entry.stage == last and entry.result == "cured"
        ),
        "",
    )


def done(case: Case, circuit: Circuit, gauge: str) -> frozenset[str]:
    """Checks that need not be made again: ``check@state``, or ``check@`` for a part that was looked at.

    Parameters
    ----------
    case : Case
    circuit : Circuit
    gauge : str
        The gauge complained of.

    Returns
    -------
    frozenset of str
    """
    now = stage(case)
    found = {
        f"{entry.check}@{entry.state or circuit.sheet.default_state}"
        for entry in case.entries
        if isinstance(entry, Measured) and entry.stage == now
    }
    parts = {entry.part for entry in case.entries if isinstance(entry, Inspected) and entry.stage == now}
    for part in circuit.sheet.parts:
        if part in parts or circuit.short_name(part, gauge) in parts:
            found.add(f"look_at:{part}@")
    return frozenset(found)


def is_past(check: str, state: str, past: frozenset[str]) -> bool:
    """Whether a check in a state is one of those that `done` names.

    Parameters
    ----------
    check, state : str
    past : frozenset of str

    Returns
    -------
    bool
    """
    return f"{check}@{state}" in past or f"{check}@" in past
