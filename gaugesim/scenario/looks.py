"""Looks: checks that take nothing apart and hang nothing on, and what is seen, heard or felt in each.

Their answers are entries that anybody may tell, see `gaugesim.evidence.looked`.
"""

from __future__ import annotations

from collections.abc import Iterator

from gaugesim.circuit import Circuit
from gaugesim.errors import unknown_name
from gaugesim.scenario.apparatus import Check
from gaugesim.scenario.request import Job, Request

NEEDLE, OTHER_NEEDLE, MOVES, CHANGE, CONSUMER = "needle", "judged", "moves", "change", "consumer"
HEAT, COOLANT, CRANKING = "heat", "coolant", "cranking"
# kind, and what is read
LOOKS = {
    "watch_needle": NEEDLE,
    "watch_moves": MOVES,
    "turn_key": CHANGE,
    "switch_lights": CHANGE,
    "switch_loads": CHANGE,
    "see_consumer": CONSUMER,
    "feel_heat": HEAT,
    "look_coolant": COOLANT,
    "crank": CRANKING,
}
# kinds that speak of a gauge and may take it first
LOOKS_AT_GAUGE = ("watch_needle", "watch_moves", "turn_key", "switch_lights", "switch_loads")
# the states before and after what is turned or switched
BETWEEN = {
    "turn_key": ("key_off", "key_on_cold"),
    "switch_lights": ("lights_off", "lights_on"),
    "switch_loads": ("running_warm", "loads_on"),
}
# where the engine is felt: hot still, if it can be had, but stopped
_AT_ENGINE = ("feel_heat", "look_coolant")


def look(kind: str, ask: Request) -> Job:
    """Read one of the looks."""
    sheet, reads = ask.circuit.sheet, LOOKS[kind]
    ask.need(reads == CONSUMER, reads == CONSUMER, ":CONSUMER" if reads == CONSUMER else "")
    at = "engine" if kind in _AT_ENGINE else "dash"
    places = (at,) if at in sheet.places else ()
    if reads != CONSUMER:
        return Job(reads=reads, places=places)
    [name] = ask.arguments
    if name not in sheet.consumers:
        raise unknown_name("consumer", name, sheet.consumers, ask.circuit.id)
    return Job(reads=reads, target=sheet.consumers[name].words, places=places, part=name)


def is_look(check: Check) -> bool:
    """Whether a check takes nothing apart and hangs nothing on."""
    return check.kind in LOOKS


def looks(circuit: Circuit, gauge: str) -> Iterator[tuple[str, str]]:
    """Every look that makes sense on a circuit, with the state that it is made in.

    Parameters
    ----------
    gauge : str
        The gauge complained of.

    Yields
    ------
    name : str
        An id that `find_check` takes.
    state : str
    """
    sheet = circuit.sheet
    known, usual = sheet.states, sheet.default_state
    several = len(sheet.gauges) > 1
    own = f":{gauge}" if several else ""
    cold_or_usual = dict.fromkeys(state for state in ("key_on_cold", usual) if state in known)
    for kind, reads in LOOKS.items():
        if kind not in sheet.checks:
            continue
        if kind == "watch_needle":
            yield from ((f"{kind}{own}", state) for state in known if _can_be_had(circuit, state))
            others = [other for other in sheet.gauges if other != gauge]
            yield from ((f"{kind}:{other}", state) for other in others for state in cold_or_usual)
        elif kind == "watch_moves":
            yield f"{kind}{own}", usual
        elif reads == CHANGE:
            if known.keys() >= {*BETWEEN[kind]}:
                yield f"{kind}{own}", BETWEEN[kind][0]
        elif reads == CONSUMER:
            for consumer in sheet.consumers.values():
                yield f"{kind}:{consumer.id}", [*consumer.states, *cold_or_usual][0]
        elif reads in (HEAT, COOLANT):
            if sheet.gauges[gauge].reads == "coolant_celsius":
                yield kind, _stopped(circuit, "warm" if reads == HEAT else "cold")
        elif "key_on_cold" in known:
            yield kind, "key_on_cold"


def _can_be_had(circuit: Circuit, state: str) -> bool:
    """Whether nobody has to fill or empty a tank for a look, nor to switch what another look switches."""
    usual = circuit.sheet.states[circuit.sheet.default_state].minutes
    return circuit.sheet.states[state].minutes <= usual and state != BETWEEN["switch_loads"][1]


def _stopped(circuit: Circuit, engine: str) -> str:
    """The first state with the engine stopped and that warm, else the usual one."""
    states = circuit.sheet.states.values()
    return next((state.id for state in states if state.engine == engine), circuit.sheet.default_state)
