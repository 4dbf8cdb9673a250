"""The answers that questions offer: the words of a case file, how they are said, what else people type."""

from __future__ import annotations

from gaugesim.conversation.question import Choice
from gaugesim.reading.words import UNDRIVEN, spoken
from gaugesim.sheet import FOUND

NEEDLE = (
    Choice("pegged_low", "on the low stop", ("bottom", "off the bottom", "below the scale", "pegged low")),
    Choice("low", "at the low end", ("empty", "cold", "e", "zero")),
    Choice("quarter", "at a quarter"),
    Choice("half", "at half", ("middle", "mid", "centre", "center", "halfway", "half way")),
    Choice("three_quarters", "at three quarters"),
    Choice("high", "at the high end", ("full", "hot", "f", "top")),
    Choice("pegged_high", "on the high stop", ("off the top", "above the scale", "pegged high")),
)
DEAD = Choice("dead", "dead, key on or off", ("dead", "does not move", "no life"))
JUDGED = (
    Choice("normal", "where it should be", ("right", "good", "fine", "all right", "correct")),
    Choice("reads_low", "too low", ("under", "reads low", "low reading")),
    Choice("reads_high", "too high", ("over", "reads high", "high reading")),
)
MOVES = (
    Choice("never", "never", ("no", "stuck", "still", "does not move")),
    Choice("slowly", "slowly, it creeps", ("creeps", "slow")),
    Choice("at_once", "at once", ("fast", "quickly", "instantly")),
    Choice("jumps", "jumps about", ("comes and goes", "swings", "flickers", "erratic")),
    Choice("follows", "follows as it should", ("follows", "normal", "right")),
)
CHANGES = (
    Choice("rises", "rises", ("up", "higher", "goes up")),
    Choice("falls", "falls", ("down", "lower", "drops", "goes down")),
    Choice("same", "stays where it is", ("no", "nothing", "none", "no change", "stays")),
)
LOOKS = (
    Choice("normal", "normal", ("fine", "good", "ok", "yes", "works")),
    Choice("dim", "dim", ("weak",)),
    Choice("bright", "too bright", ("bright",)),
    Choice("dead", "dead", ("out", "off", "no", "nothing")),
    Choice("flickers", "flickers", ("comes and goes", "on and off")),
)
HEAT = (
    Choice("signs_of_heat", "yes", ("y", "hot", "steam", "smell")),
    Choice("no_signs_of_heat", "no", ("n", "none", "cool")),
)
RESULTS = (
    Choice("no_change", "no change", ("nothing", "same", "no", "none")),
    Choice("changed", "it changed, but it is not right", ("changed", "different")),
    Choice("cured_for_a_while", "cured for a while, then it came back", ("came back", "for a while")),
    Choice("cured", "cured", ("yes", "good", "fixed", "right", "works")),
)
NOTHING = "nothing"
WHOLES = (Choice("gauge", "the whole gauge"), Choice("panel", "the whole panel"))
YES_NO = (Choice("yes", "yes", ("y",)), Choice("no", "no", ("n",)))
_ALSO_FOUND = {
    "sound": ("good", "ok", "fine", "clean", "tight"),
    "loose": ("slack",),
    "corroded": ("rusty", "rust", "green", "dirty"),
    "broken": ("cracked", "snapped", "off"),
    "burnt": ("melted", "black"),
    "chafed": ("worn", "rubbed through"),
    "seized": ("stuck", "jammed"),
}
LOOKED = tuple(Choice(word, spoken(word), _ALSO_FOUND.get(word, ())) for word in FOUND)

COOLANT = (
    Choice("coolant_low", "low, or none to be seen", ("low", "empty", "none")),
    Choice("coolant_full", "at its mark", ("full", "good", "right", "ok")),
)
CRANKS = (
    Choice("cranks_well", "as it always did", ("well", "good", "ok", "fine")),
    Choice("cranks_badly", "slowly, or not at all", ("badly", "slow", "dead", "no")),
)

# by what a check reads: what it may show, the kind of number, the key of the case file
SHOWS: dict[str, tuple[tuple[Choice, ...], str, str]] = {
    "needle": (
        (*NEEDLE, Choice(UNDRIVEN, "where it was before", ("still", "no change", "same"), "moves", "never")),
        "position",
        "needle",
    ),
    "volts": (
        (
            Choice("none", "no voltage", ("nothing", "dead")),
            Choice("low", "clearly less than battery voltage", ("less", "weak")),
            Choice("battery", "battery voltage", ("full", "good")),
            Choice("pulsing", "pulsing", ("pulses", "on and off", "swings")),
        ),
        "volts",
        "volts",
    ),
    "ohms": (
        (
            Choice("none", "next to no resistance", ("nothing", "short")),
            Choice("sound", "as it should be", ("good", "right", "ok")),
            Choice("high", "twice what it should be, or more", ("too high",)),
            Choice("open", "open", ("broken", "no continuity")),
        ),
        "ohms",
        "ohms",
    ),
    "lamp": (
        (
            Choice("out", "out", ("off", "dark", "nothing", "no")),
            Choice("dim", "dim", ("weak",)),
            Choice("bright", "bright", ("on", "full", "lit")),
            Choice("flashes", "flashes", ("pulses", "on and off", "blinks")),
        ),
        "",
        "lamp",
    ),
    "jump": (
        (
            Choice("steady", "the needle holds steady", ("still", "no", "nothing"), "moves", "never"),
            Choice("jumps", "the needle jumps", ("yes", "moves"), "moves", "jumps"),
        ),
        "",
        "moves",
    ),
}
SHOWS |= {
    "judged": ((*JUDGED, DEAD), "", "needle"),
    "change": (CHANGES, "", "needle"),
    "moves": (MOVES, "", "moves"),
    "consumer": (LOOKS, "", "looks"),
    "heat": (HEAT, "", "engine"),
    "coolant": (COOLANT, "", "engine"),
    "cranking": (CRANKS, "", "engine"),
}
ASKS = {
    "judged": "Where is that needle?",
    "change": "What does the needle do?",
    "moves": "How does the needle move?",
    "consumer": "How does it look or work?",
    "heat": "Are there signs of heat?",
    "coolant": "Where does the coolant stand?",
    "cranking": "How does the engine crank?",
    "needle": "Where is the needle?",
    "volts": "What does the meter show? (A small whole number with its unit: 3 V.)",
    "ohms": "What does the meter show? (A small whole number with its unit: 3 ohm.)",
    "lamp": "How is the lamp?",
    "jump": "Does the needle jump?",
}
