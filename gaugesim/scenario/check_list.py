"""Which checks and looks make sense on a circuit."""

from __future__ import annotations

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError, UnknownNameError
from gaugesim.scenario.check import find_check, kinds_of
from gaugesim.scenario.kinds import CHECKS, LOOKS
from gaugesim.scenario.kinds.checks import FIRST


def check_ids(circuit: Circuit, gauge: str | None = None) -> tuple[str, ...]:
    """Every check that makes sense on a circuit and takes more than looking, see `looks`.

    Ids that `find_check` takes.
    """

    def harmless() -> tuple[str, ...]:
        gauges = [entry for entry in circuit.sheet.gauges.values() if gauge in (None, entry.id)]
        rules = circuit.sheet.checks
        kinds = [CHECKS[name] for name in rules if not kinds_of(circuit)[name].is_look]
        names = [name for kind in kinds for name in kind.where(circuit, rules[kind.id].targets, gauges)]
        return tuple(name for name in dict.fromkeys(names) if _harmless(circuit, name))

    return circuit.recall(("check ids", gauge), {}, harmless)


def first_checks(circuit: Circuit, gauge: str) -> tuple[str, ...]:
    """Those that anybody makes first, as far as a gauge has them."""
    possible, targets = check_ids(circuit, gauge), [] if len(circuit.sheet.gauges) == 1 else [gauge]
    return tuple(name for kind in FIRST if (name := kind.check(*targets)) in possible)


def looks(circuit: Circuit, gauge: str) -> tuple[tuple[str, str], ...]:
    """Every look that makes sense on a circuit, with the state that it is made in."""
    possible = [kind for kind in LOOKS.values() if kind.id in circuit.sheet.checks]
    return tuple(named for kind in possible for named in kind.named(circuit, gauge))


def _harmless(circuit: Circuit, name: str) -> bool:
    """Whether a check burns nothing and hangs no hot lamp where vapour may be."""
    try:
        check = find_check(circuit, name)
    except CaseError:
        return False
    except UnknownNameError:
        return True  # of a point that the sheet lacks: who does the check is told which
    return not (check.kind.sparks and any(circuit.sheet.places[place].vapour for place in check.places))
