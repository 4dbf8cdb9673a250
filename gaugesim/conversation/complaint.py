"""What is wrong: the complaint in a few words, and the entries of a case that it makes."""

from __future__ import annotations

from collections.abc import Sequence

from gaugesim.case import Case, Seen
from gaugesim.circuit import Circuit
from gaugesim.conversation.answers import HEAT, NEEDLE
from gaugesim.conversation.casefile import Field
from gaugesim.conversation.question import Choice, Question

COMPLAINT = "complaint"
DEAD, STUCK, STOP, HIGH, LOW = "dead", "stuck", "on_a_stop", "high", "low"
JUMPS, SWITCHED, LATER, WRONG_WAY = "jumps", "switched", "later", "wrong_way"
COMPLAINTS = (
    Choice(
        DEAD,
        "dead, key on or off",
        ("does not move", "does not work", "not working", "no life", "no reading", "nothing"),
    ),
    Choice(STUCK, "stuck in one place", ("frozen", "stays")),
    Choice(
        STOP,
        "on a stop",
        ("pegged", "pinned", "full", "max", "empty", "zero", "min", "off the scale", "end of the scale"),
    ),
    Choice(HIGH, "too high", ("reads high", "hot", "overheating", "over")),
    Choice(LOW, "too low", ("reads low", "cold", "under", "lazy", "sluggish")),
    Choice(
        JUMPS,
        "jumps, comes and goes",
        (
            "jumpy",
            "flickers",
            "swings",
            "bounces",
            "fluctuates",
            "wanders",
            "erratic",
            "intermittent",
            "cuts out",
        ),
    ),
    Choice(SWITCHED, "wrong only with lights or loads on", ("lights", "loads", "lamps")),
    Choice(LATER, "wrong only after some minutes", ("when warm", "minutes", "warm")),
    Choice(WRONG_WAY, "moves the wrong way", ("backwards", "reversed", "wrong way")),
)
_UP_DOWN = (
    Choice("up", "up, to the high end", ("high", "top", "higher", "full", "hot", "max", "f")),
    Choice(
        "down",
        "down, to the low end",
        ("low", "bottom", "lower", "empty", "cold", "zero", "min", "e", "dead"),
    ),
)
# what needles are said to be where nothing more was asked
PLAIN = ("dead", "reads_high", "reads_low")
# what is asked beside a complaint: text, what may be answered
_DETAILS: dict[str, tuple[str, tuple[Choice, ...]]] = {
    STUCK: ("Where is it stuck? (The place tells which coils still carry current.)", NEEDLE),
    STOP: ("On which stop? (It tells an open wire from a shorted one.)", _UP_DOWN),
    JUMPS: (
        "Which way does it jump? (It tells a contact that opens from a wire that touches.)",
        (*_UP_DOWN, Choice("about", "both ways", ("both", "all over"))),
    ),
    SWITCHED: (
        "What does it do then? (It tells which ground carries too much.)",
        (
            Choice("lights rises", "rises with the lights", ("up with lights", "lights up")),
            Choice("lights falls", "falls with the lights", ("down with lights", "lights down")),
            Choice("loads rises", "rises with other loads", ("up with loads", "loads up")),
            Choice("loads falls", "falls with other loads", ("down with loads", "loads down")),
        ),
    ),
    LATER: (
        "How is it wrong then? (It tells a bad contact from a gauge that is right.)",
        (
            Choice("reads_high", "too high", ("high",)),
            Choice("reads_low", "too low", ("low",)),
            Choice("dead", "dead", ("nothing", "gone")),
        ),
    ),
}


def complaint_question() -> Question:
    """What is wrong."""
    return Question(COMPLAINT, "What is wrong with the gauge? (The search begins there.)", COMPLAINTS)


def detail_question(complaint: str) -> Question | None:
    """What is asked beside a complaint; None if it says all."""
    if complaint not in _DETAILS:
        return None
    text, choices = _DETAILS[complaint]
    return Question("detail", text, choices, "position" if complaint == STUCK else "")


def detailed(case: Case) -> bool:
    """Whether something was asked beside the complaint: where the needle stands, which way it goes."""
    seen = [entry for entry in case.entries if isinstance(entry, Seen)]
    return any(entry.often or entry.moves or entry.needle not in (None, *PLAIN) for entry in seen)


def heat_question() -> Question:
    """What comes before everything else where a coolant gauge reads high."""
    text = "First: is the engine really hot? (Steam, smell, a thermometer. Keep the cooling system closed.)"
    return Question("heat", text, HEAT, "", "seen", (), "engine")


def after_question() -> Question:
    """Since when it has been so."""
    choices = (
        Choice(
            "nothing",
            "nothing that anybody knows of",
            ("no", "none", "nothing special", "sudden", "suddenly"),
        ),
        Choice("sender_work", "work on a sender or the tank, a new sender", ("sender", "tank", "new sender")),
        Choice("gauge_work", "work on the gauges or the panel, a new gauge", ("gauge", "panel", "new gauge")),
        Choice(
            "electrical_work",
            "other electrical work",
            ("electrical", "battery", "new battery", "alternator", "new alternator", "charging", "radio"),
        ),
        Choice("engine_work", "work on the engine", ("engine", "engine swap", "thermostat", "water pump")),
        Choice("wet", "rain, a wash or spray", ("rain", "water", "wash", "washed", "flood")),
        Choice("lay_up", "a long time of standing", ("lay up", "winter", "storage", "standing")),
    )
    text = "Since when: after what did it begin? (It tells the likely faults from the others.)"
    return Question("after", text, choices, "", "seen", (), "after")


def entries(complaint: str, detail: Field, circuits: Sequence[Circuit], gauge: str) -> list[dict[str, Field]]:
    """The entries of ``[[seen]]`` that a complaint makes.

    Parameters
    ----------
    complaint : str
        One of `COMPLAINTS`.
    detail : str, float or range
        What was answered beside it, empty for nothing.
    circuits : sequence of Circuit
        The candidates: only states that all of them have are spoken of.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> entries("on_a_stop", "up", [find("temp_bridge")], "temperature")
    [{'state': 'running_warm', 'needle': 'pegged_high'}]
    """
    sheet = circuits[0].sheet
    usual = sheet.default_state
    possible = [state for state in sheet.states if all(state in circuit.sheet.states for circuit in circuits)]

    def seen(**fields: Field) -> dict[str, Field]:
        state = {} if usual not in possible else {"state": usual}
        return {**state, **fields}

    if complaint == DEAD:
        return [seen(needle="dead")]
    if complaint == STUCK:
        return [seen(needle=detail, moves="never") if detail else seen(moves="never")]
    if complaint in (HIGH, LOW):
        return [seen(needle=f"reads_{complaint}")]
    if complaint == STOP:
        return [seen(needle={"up": "pegged_high", "down": "pegged_low"}.get(str(detail), "pegged_low"))]
    if complaint == JUMPS:
        where = {"up": "high", "down": "low"}.get(str(detail))
        return [seen(needle=where, often="sometimes", moves="jumps") if where else seen(moves="jumps")]
    if complaint == LATER:
        wrong = seen(needle=detail or "reads_high")
        return [{"state": "key_on_cold", "needle": "normal"}, wrong] if "key_on_cold" in possible else [wrong]
    before, after, way = _change(complaint, str(detail), usual, sheet.gauges[gauge].reads)
    if before in possible and after in possible:
        return [{"between": (before, after), "needle": way}]
    return [seen(moves="jumps" if complaint == SWITCHED else "never")]


def _change(complaint: str, detail: str, usual: str, reads: str) -> tuple[str, str, str]:
    """The states before and after something, and what the needle does."""
    if complaint == SWITCHED:
        what, _, way = (detail or "lights rises").partition(" ")
        return (*(("lights_off", "lights_on") if what == "lights" else (usual, "loads_on")), way)
    return (*(("tank_empty", "tank_full") if reads == "fuel_level" else ("key_on_cold", usual)), "falls")
