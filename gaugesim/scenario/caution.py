"""Which cautions a step carries, the worst first."""

from __future__ import annotations

from collections.abc import Iterable

from gaugesim.circuit import Circuit
from gaugesim.scenario.apparatus import Check
from gaugesim.sheet import CAN, ENGINE, Caution, Part

# told with a check at a tank, or with a sender out, in a state in which the engine runs
STOPPED = "engine_stopped"


def in_order(circuit: Circuit, ids: Iterable[str], engine: str = "") -> tuple[Caution, ...]:
    """Cautions by their ids, each once, in the order of what they can do.

    Parameters
    ----------
    engine : str, optional
        What the engine does, one of `ENGINE`; cautions of an engine that does more are left out.
    """
    cautions = (circuit.sheet.cautions[name] for name in dict.fromkeys(ids))
    does = ENGINE.index(engine) if engine else len(ENGINE)
    holding = [caution for caution in cautions if ENGINE.index(caution.engine) <= does]
    return tuple(sorted(holding, key=lambda caution: CAN.index(caution.can)))


def check_cautions(circuit: Circuit, check: Check, state: str | None = None) -> tuple[Caution, ...]:
    """Cautions of a check in a state: its own, those of its places and of the state."""
    if state is None:
        return in_order(circuit, check.cautions)
    there = circuit.sheet.states[state]
    first = [STOPPED] if check.stopped and there.running and STOPPED in circuit.sheet.cautions else []
    return in_order(circuit, (*first, *check.cautions, *there.cautions), there.engine)


def mending_cautions(circuit: Circuit, parts: Iterable[Part]) -> tuple[Caution, ...]:
    """Cautions of mending or replacing parts: their own and those of their places.

    Returns
    -------
    tuple of Caution
        With those of a warm engine, but of none that runs.
    """
    names = [name for part in parts for name in (*part.cautions, *circuit.sheet.places[part.place].cautions)]
    return in_order(circuit, names, "warm")
