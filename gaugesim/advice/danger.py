"""What cannot wait until a gauge has been worked out: signs of a hot engine, oil pressure that is gone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gaugesim.case import Case, Seen
from gaugesim.circuit import Circuit
from gaugesim.diagnosis import Diagnosis, complained_of
from gaugesim.errors import GaugesimError
from gaugesim.scenario.kinds import KINDS
from gaugesim.sheet import ENGINE, Scope
from gaugesim.vocabulary.quantity import DialFigure

# a charging path of more than this is none: the engine does not run [ohm]
NOT_CHARGING = 1e6
# checks that turn the engine, whatever the state
# an oil gauge that stands no higher than this shows no pressure [position]
NO_PRESSURE = 0.05
# the same of a dial of five bar, and a little more [bar]
NO_BAR = 0.3
# above this the caution about a truly hot engine is given
REALLY_HOT = 0.02
REALLY_HOT_WORDS = "The engine may really be hot: find that out by other means before it is run any further."
# above this the caution about an overcharged battery is given; assumed
OVERCHARGES = 0.05
OVERCHARGES_WORDS = (
    "The battery may be overcharged: it gives off gas that explodes, and can burst; too many volts destroy "
    "electronics. Stop the engine, no spark or flame, let it vent and cool, goggles on. Run it only while a "
    "reading is taken; put the charging right by its maker's procedure."
)
ADVISES = (
    "This advises and does not certify: work by the maker's procedure, local rules, "
    "and with a licence where one is asked."
)
_NO_PRESSURE_WORDS = ("pegged_low", "low", "dead")


@dataclass(frozen=True)
class Danger:
    """Something that has to be done before anything else; until it is, the engine is not to run.

    Attributes
    ----------
    short : str
        A name for it, once it has been told in full.
    """

    id: str
    words: str
    short: str


HOT_ENGINE = Danger(
    "hot_engine",
    "The engine may really be hot: stop the engine, let it cool, do not open it.",
    "stop the engine, let it cool, do not open it",
)
NO_OIL_PRESSURE = Danger(
    "no_oil_pressure",
    "The oil pressure may really be gone: stop the engine; "
    "oil level and a mechanical gauge before it runs again.",
    "stop the engine; oil level and a mechanical gauge before it runs again",
)


def dangers(case: Case, circuits: Sequence[Circuit]) -> tuple[Danger, ...]:
    """What has to be done first.

    Empty if the case tells of nothing that cannot wait. While there is any the engine is not to be run.

    Parameters
    ----------
    circuits : sequence of Circuit
        The candidates.
    """
    listed = [HOT_ENGINE] if _signs_of_heat(case) else []
    if any(_no_oil_pressure(case, circuit) for circuit in circuits):
        listed.append(NO_OIL_PRESSURE)
    return tuple(listed)


def scopes(case: Case, circuits: Sequence[Circuit]) -> tuple[Scope, ...]:
    """What has to be known before the first check; empty once one was made."""
    made = any(not isinstance(entry, Seen) for entry in case.entries)
    # whoever does not know which circuit it is may stand in a boat
    own = [scope for circuit in circuits for scope in circuit.sheet.own_scope]
    return () if made else tuple({scope.short: scope for scope in own}.values())


def really_hot(diagnosis: Diagnosis, circuits: Sequence[Circuit]) -> tuple[str, ...]:
    """That the engine may really be hot, whichever gauge is complained of. Empty if that is unlikely."""
    faults = {
        f"{circuit.short_name(part.id, diagnosis.gauge)}=real_high"
        for circuit in circuits
        for part in circuit.sheet.parts.values()
        for gauge in circuit.sheet.gauges.values()
        if part.kind == "process" and part.gauge in ("", gauge.id) and gauge.reads == "coolant_celsius"
    }
    return (REALLY_HOT_WORDS,) if _believed(diagnosis, faults) > REALLY_HOT else ()


def overcharging(diagnosis: Diagnosis, circuits: Sequence[Circuit]) -> tuple[str, ...]:
    """That the battery may be overcharged. Empty if that is unlikely."""
    faults = {
        f"{circuit.short_name(part.id, diagnosis.gauge)}=high_volts"
        for circuit in circuits
        for part in circuit.sheet.parts.values()
        if part.kind == "charging"
    }
    return (OVERCHARGES_WORDS,) if _believed(diagnosis, faults) > OVERCHARGES else ()


def _believed(diagnosis: Diagnosis, faults: set[str]) -> float:
    """Probability of some faults, alone or beside others."""
    ranking = diagnosis.ranking
    return sum(suspect.probability for suspect in ranking if faults & {*suspect.fault.split("+")})


def engine_runs(circuit: Circuit, state: str, check: str = "") -> bool:
    """Whether the engine runs in a state, or is turned by a check.

    True as well where the circuit does not tell.
    """
    engine = circuit.sheet.states[state].engine
    if check and KINDS[check.partition(":")[0]].turns_engine:
        return True
    if engine:
        return engine == ENGINE[-1]
    values = circuit.parameter_values(circuit.parameters(state))
    parts = [part.id for part in circuit.sheet.parts.values() if part.kind in ("charging", "switch")]
    return all(values.get(name, 0.0) < NOT_CHARGING for name in parts)


def _signs_of_heat(case: Case) -> bool:
    """Whether the last that is told of the engine is that it shows signs of heat."""
    entries = [entry for entry in case.entries if isinstance(entry, Seen) and entry.engine]
    last = max((entry.stage for entry in entries), default=1)
    return any(entry.engine == "signs_of_heat" for entry in entries if entry.stage == last)


def _no_oil_pressure(case: Case, circuit: Circuit) -> bool:
    """Whether the last that is told of an oil gauge while the engine ran is that it showed nothing."""
    entries = [*_with_engine_running(case, circuit)]
    last = max((entry.stage for entry in entries), default=1)
    return any(_shows_none(entry) for entry in entries if entry.stage == last)


def _with_engine_running(case: Case, circuit: Circuit) -> Iterator[Seen]:
    """What was seen of an oil gauge while the engine ran."""
    oil = {gauge.id for gauge in circuit.sheet.gauges.values() if gauge.reads == "oil_bar"}
    try:
        complained = complained_of(case, circuit)
    except GaugesimError:
        complained = ""
    for entry in case.entries:
        if not isinstance(entry, Seen) or entry.between or (entry.gauge or complained) not in oil:
            continue
        state = entry.state or circuit.sheet.default_state
        if state in circuit.sheet.states and engine_runs(circuit, state):
            yield entry


def _shows_none(entry: Seen) -> bool:
    needle = entry.needle
    if isinstance(needle, str):
        return needle in _NO_PRESSURE_WORDS
    if needle is None:
        return entry.moves == "never"  # where nothing drives it
    if isinstance(needle, DialFigure):
        return needle.high <= NO_BAR
    return (max(needle) if isinstance(needle, tuple) else needle) <= NO_PRESSURE
