"""The words that people use of needles, meters, lamps, parts and repairs: each stands here and nowhere else.

A word has how it is said, what else people type for it, and how likely it is: the limit up to which a value
is called so (an ordered probit, see `gaugesim.evidence.likelihood`), or its probability under each condition.
All of that is a guess of how people speak, to be replaced by counts where somebody has them.
"""

from __future__ import annotations

from gaugesim.vocabulary.topic import Topic, Word

UNDRIVEN = "undriven"
# what people say of whatever is as it should be
_FINE = ("right", "good", "fine", "ok")
# where a needle stands on its scale [position]; the stops' words reach halfway to the marks. A person names a
# position as finely as a sixth of a quarter of the scale either way
NEEDLE = Topic(
    "needle",
    (
        Word(
            "pegged_low",
            "on the low stop",
            also=("bottom", "off the bottom", "below the scale", "pegged low", "min", "minimum"),
        ),
        Word("low", "at the low end", also=("e", "c", "zero"), same=("empty", "cold"), below=0.125),
        Word("quarter", "at a quarter", below=0.375),
        Word(
            "half", "at half", also=("middle", "mid", "centre", "center", "halfway", "half way"), below=0.625
        ),
        Word("three_quarters", "at three quarters", below=0.875),
        Word("high", "at the high end", also=("f", "top"), same=("full", "hot")),
        Word("pegged_high", "on the high stop", also=("off the top", "above the scale", "max", "buried")),
        Word(
            UNDRIVEN,
            "where it was before",
            also=("still", "no change", "same", "nothing", "does not move"),
            entry=("moves", "never"),
            apart=True,
        ),
    ),
    subject="needle ",
    asks="Where is the needle?",
    spread=0.08,
    number="position",
    or_number=", or where from 0.0 to 1.0 of the scale",
    near=(0.0, 0.15),
)
# against the truth: "reads high" is beyond a tenth of the scale from where it should be, give or take half
JUDGED = Topic(
    "needle",
    (
        Word(
            "reads_low",
            "reading low",
            offered="too low",
            also=("under", "reads low", "low reading"),
            below=-0.10,
        ),
        Word("normal", "where it should be", also=(*_FINE, "all right", "correct"), below=0.10),
        Word("reads_high", "reading high", offered="too high", also=("over", "reads high", "high reading")),
        Word("dead", offered="dead, key on or off", also=("dead", "nothing", "no life"), apart=True),
    ),
    subject="needle ",
    asks="Where is that needle?",
    spread=0.05,
    order=("normal", "reads_low", "reads_high", "dead"),
)
# "rises": by more than a twentieth of the scale, give or take half of that: few see one where there is none
CHANGE = Topic(
    "needle",
    (
        Word(
            "falls",
            "falling",
            "needle falls",
            "falls",
            also=("down", "lower", "drops", "goes down"),
            below=-0.05,
        ),
        Word(
            "same",
            "staying",
            "needle stays where it is",
            "stays where it is",
            also=("no", "nothing", "none", "no change", "stays"),
            below=0.05,
        ),
        Word("rises", "rising", "needle rises", "rises", also=("up", "higher", "goes up")),
    ),
    subject="needle ",
    asks="What does the needle do?",
    spread=0.025,
    order=("rises", "falls", "same"),
)
# P(so | a steady fault; an intermittent one that acts half the time); a winding that heats makes it creep,
# and so does what is really hot or low at times
MOVES = Topic(
    "moves",
    (
        Word("never", "not moving", "needle never moves", "never", ("no", "dead", "stuck", "still")),
        Word(
            "slowly",
            "moving slowly",
            "needle moves slowly",
            offered="slowly, it creeps",
            also=("creeps", "slow"),
            row={
                "steady": 0.08,
                "intermittent": 0.10,
                "steady_heated": 0.60,
                "intermittent_heated": 0.45,
                "quantity": 0.6,
            },
        ),
        Word(
            "at_once",
            "moving at once",
            "needle moves at once",
            offered="at once",
            also=("fast", "quickly", "instantly"),
            row={
                "steady": 0.89,
                "intermittent": 0.05,
                "steady_heated": 0.37,
                "intermittent_heated": 0.05,
                "quantity": 0.2,
            },
        ),
        Word(
            "jumps",
            "jumping",
            "needle jumps about",
            "jumps about",
            ("comes and goes", "swings", "flickers", "erratic"),
            row={
                "steady": 0.03,
                "intermittent": 0.80,
                "steady_heated": 0.03,
                "intermittent_heated": 0.45,
                "quantity": 0.2,
            },
        ),
        Word(
            "follows",
            "moving the right way",
            "needle moves the right way",
            offered="follows as it should",
            also=("follows", "normal", *_FINE),
            apart=True,
        ),
    ),
    subject="needle ",
    asks="How does the needle move?",
)
OFTEN = Topic(
    "often",
    (
        Word("always", row={"steady": 0.94}),
        Word("sometimes", row={"steady": 0.05, "intermittent": 0.8}),
        Word("once", row={"steady": 0.01, "intermittent": 0.2}),
    ),
)
# what else hangs on the wires, by its share of the usual volts
LOOKS = Topic(
    "looks",
    (
        Word("dead", also=("out", "off", "no", "nothing"), below=0.25),
        Word("dim", also=("weak",), below=0.85),
        Word(
            "normal",
            shown="as always",
            offered="normal",
            also=(*_FINE, "yes", "works", "on"),
            below=1.12,
        ),
        Word("bright", shown="too bright", also=("bright",)),
        Word("flickers", also=("comes and goes", "on and off"), row={"intermittent": 0.9}),
    ),
    asks="How does it look or work?",
    spread=0.06,
    order=("normal", "dim", "bright", "dead", "flickers"),
)
# of the other gauges
OTHERS = Topic(
    "others",
    (Word("right"), Word("some_wrong", offered="wrong in part"), Word("all_wrong", offered="wrong as well")),
)
# of the needle, against the real value found out by other means
TRUTH = Topic(
    "truth",
    (
        Word("right", "right", offered="yes, it tells the truth", also=("y", "yes", "true", "same")),
        Word("wrong", "wrong", offered="no, it is wrong", also=("n", "no", "not", "false")),
    ),
    asks="Does the gauge tell the truth?",
)
# of the engine; P(so | a fault that has nothing to do with it): of the coolant assumed; the others say theirs
HEAT = Topic(
    "engine",
    (
        Word("signs_of_heat", offered="yes", also=("y", "hot", "overheating", "steam"), row={"usual": 0.04}),
        Word("no_signs_of_heat", offered="no", also=("n", "none", "cool", "cold", "normal", *_FINE)),
    ),
    asks="Are there signs of heat?",
)
COOLANT = Topic(
    "engine",
    (
        Word(
            "coolant_low",
            "low",
            offered="low, or none to be seen",
            also=("low", "empty", "none"),
            row={"usual": 0.05},
        ),
        Word("coolant_full", "at its mark", also=("full", "normal", *_FINE)),
    ),
    subject="coolant ",
    asks="Where does the coolant stand?",
)
CRANKING = Topic(
    "engine",
    (
        Word(
            "cranks_well",
            "cranking well",
            offered="as it always did",
            also=("well", "normal", *_FINE),
            row={"usual": 0.97},
        ),
        Word(
            "cranks_badly",
            "cranking badly",
            offered="slowly, or not at all",
            also=("badly", "slow", "slowly", "cranks slowly", "sluggish", "dead", "no"),
        ),
    ),
    asks="How does the engine crank?",
)
# as a share of the battery's
VOLTS = Topic(
    "volts",
    (
        Word("none", "next to nothing", "no voltage", also=("nothing", "dead", "zero"), below=0.05),
        Word("low", shown="clearly less than battery voltage", also=("less", "weak"), below=0.90),
        Word("battery", "battery voltage", also=("full", "live", "on", *_FINE)),
        Word("pulsing", also=("pulses", "on and off", "swings", "jumps", "flickers")),
    ),
    asks="What does the meter show? (A small whole number with its unit: 3 V.)",
    spread=0.03,
    number="volts",
    unit="V",
    meter="the voltmeter",
    or_number=", or how many volts",
    near=(0.1, 0.5),
)
# in decades; "high" ends where the sound value is doubled
OHMS = Topic(
    "ohms",
    (
        Word("none", shown="next to no resistance", also=("nothing", "short", "zero"), below=0.0),
        # a case file has no word for it, so what a sound circuit reads stands there
        Word("sound", "as it should be", also=(*_FINE, "normal"), entry=("ohms", "")),
        Word("high", shown="twice what it should be, or more", also=("too high",), below=6.0),
        Word("open", also=("broken", "dead", "no continuity")),
    ),
    asks="What does the meter show? (A small whole number with its unit: 3 ohm.)",
    spread=0.15,
    number="ohms",
    unit="ohm",
    meter="the ohmmeter",
    or_number=", or how many ohms",
    near=(0.25, 0.5),
)
# by its volts as a share of the rated, see `gaugesim.physics.lamp`
LAMP = Topic(
    "lamp",
    (
        Word("out", also=("off", "dark", "dead", "nothing", "no"), below=0.2),
        Word("dim", also=("weak",), below=0.7),
        Word("bright", also=("on", "full", "lit", "normal", *_FINE)),
        Word(
            "flashes",
            shown="lamp flashes",
            offered="flashes",
            also=("pulses", "on and off", "blinks", "flickers"),
        ),
    ),
    subject="lamp ",
    asks="How is the lamp?",
    spread=0.07,
    meter="the test lamp",
)
JUMP = Topic(
    "moves",
    (
        Word(
            "steady",
            shown="needle holds steady",
            offered="the needle holds steady",
            also=("still", "no", "nothing", "fine", "ok"),
            entry=("moves", "never"),
        ),
        Word("jumps", shown="needle jumps", offered="the needle jumps", also=("yes", "moves", "swings")),
    ),
    subject="needle ",
    asks="Does the needle jump?",
)
# of a part; P(so | it is sound): old parts are seldom spotless
FOUND = Topic(
    "found",
    (
        Word("sound", "as it should be", also=(*_FINE, "clean", "tight"), row={"sound": 0.90}),
        Word("loose", also=("slack",), row={"sound": 0.025}),
        Word("corroded", also=("rusty", "rust", "green", "dirty"), row={"sound": 0.045}),
        Word("broken", also=("cracked", "snapped", "off"), row={"sound": 0.004}),
        Word("burnt", also=("melted", "black"), row={"sound": 0.004}),
        Word("chafed", also=("worn", "rubbed through"), row={"sound": 0.008}),
        Word("missing", row={"sound": 0.003}),
        Word("seized", also=("stuck", "jammed"), row={"sound": 0.003}),
        Word("crossed", row={"sound": 0.008}),
    ),
    asks="What does it look like?",
)
# of a repair, where the faulty part is among those replaced (new parts are bad now and then), where the fault
# is elsewhere and no contact was disturbed, where it is in a contact that the work disturbed (a new sender
# that helps for a while), where the fault destroys the new part again, as a bare feed does a fuse or a
# regulator (assumed), and where one of two faults is mended
RESULT = Topic(
    "result",
    (
        Word(
            "no_change",
            also=("nothing", "same", "no", "none"),
            row={"right": 0.10, "wrong": 0.87, "disturbed": 0.40, "overloaded": 0.40, "half": 0.25},
        ),
        Word(
            "changed",
            "a change",
            offered="it changed, but it is not right",
            also=("changed", "different"),
            row={"right": 0.08, "wrong": 0.07, "disturbed": 0.12, "overloaded": 0.08, "half": 0.60},
        ),
        Word(
            "cured_for_a_while",
            "a cure for a while",
            offered="cured for a while, then it came back",
            also=("came back", "for a while"),
            row={"right": 0.07, "wrong": 0.04, "disturbed": 0.36, "overloaded": 0.45, "half": 0.10},
        ),
        Word(
            "cured",
            "a cure",
            offered="cured",
            also=("yes", "good", "fixed", "right", "works"),
            row={"right": 0.75, "wrong": 0.02, "disturbed": 0.12, "overloaded": 0.07, "half": 0.05},
        ),
    ),
)
# what a trouble came after; P(said so | any fault that this has nothing to do with): assumed
AFTER = Topic(
    "after",
    (
        Word("gauge_work", "after work on the gauges or the panel", row={"usual": 0.06}),
        Word("sender_work", "after work on a sender or the tank", row={"usual": 0.06}),
        Word("electrical_work", "after electrical work", row={"usual": 0.06}),
        Word("engine_work", "after work on the engine", row={"usual": 0.06}),
        Word("wet", "after rain, a wash or spray", row={"usual": 0.05}),
        Word("lay_up", "after a long time of standing", row={"usual": 0.06}),
        Word("nothing", "after nothing that anybody knows of", row={"usual": 0.5}),
    ),
)
# by what a check reads, see `gaugesim.scenario.check.Check`
TOPICS = {
    "needle": NEEDLE,
    "judged": JUDGED,
    "change": CHANGE,
    "moves": MOVES,
    "consumer": LOOKS,
    "heat": HEAT,
    "coolant": COOLANT,
    "cranking": CRANKING,
    "truth": TRUTH,
    "volts": VOLTS,
    "ohms": OHMS,
    "lamp": LAMP,
    "jump": JUMP,
    "look": FOUND,
}
