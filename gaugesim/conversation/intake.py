"""What is asked before anything is measured: which gauge, what is known of it, what the needle does."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from gaugesim.case import Case, Inspected, Measured, Replaced, Seen
from gaugesim.circuit import Circuit
from gaugesim.conversation.answers import (
    CHANGES,
    DEAD,
    HEAT,
    JUDGED,
    LOOKS,
    MOVES,
    NEEDLE,
    NOTHING,
    WHOLES,
    YES_NO,
)
from gaugesim.conversation.question import Choice, Question
from gaugesim.diagnose import complained_of, named_gauges
from gaugesim.errors import GaugesimError

# states in which the needle is asked after, by what the gauge reads
_STATES = {"fuel_level": ("key_on_cold", "tank_full", "tank_half", "tank_empty")}
_USUAL_STATES = ("key_on_cold", "running_warm")
_LIGHTS = ("lights_off", "lights_on")


@dataclass(frozen=True)
class Feature:
    """Something that can be seen of a gauge and tells candidate circuits apart.

    Attributes
    ----------
    of : callable
        From circuit and gauge to which of the choices it is.
    choices : tuple of Choice
        Empty if the choices are the values themselves.
    """

    id: str
    text: str
    of: Callable[[Circuit, str], str]
    choices: tuple[Choice, ...] = ()


def _studs(circuit: Circuit, gauge: str) -> str:
    names = [
        point.id.removeprefix(f"{gauge}_") for point in circuit.sheet.points.values() if point.gauge == gauge
    ]
    return str(sum(name.startswith("stud_") for name in names))


FEATURES = (
    Feature(
        "company",
        "Is it by itself, or one of several gauges on a panel?",
        lambda circuit, gauge: "several" if len(circuit.sheet.gauges) > 1 else "alone",
        (
            Choice("alone", "by itself", ("alone", "single", "one")),
            Choice("several", "one of several", ("several", "panel", "cluster")),
        ),
    ),
    Feature(
        "regulator",
        "Does an instrument voltage regulator feed it? (The needle creeps to its place.)",
        lambda circuit, gauge: "yes" if circuit.sheet.regulator else "no",
        YES_NO,
    ),
    Feature("studs", "How many studs are on its back?", _studs),
)


def gauge_of(case: Case, circuits: Sequence[Circuit]) -> str:
    """The gauge complained of, empty while it is not known."""
    if not case.gauge and not named_gauges(case) and any(len(one.sheet.gauges) > 1 for one in circuits):
        return ""
    gauges: set[str] = set()
    for circuit in circuits:
        try:
            gauges.add(complained_of(case, circuit))
        except GaugesimError:
            if not case.gauge:  # one of several, and which is not said
                return ""
    return gauges.pop() if len(gauges) == 1 else ""


def gauge_question(circuits: Sequence[Circuit]) -> Question:
    """Which gauge it is about.

    Parameters
    ----------
    circuits : sequence of Circuit
        All that may be meant.
    """
    others = {
        "temperature": ("temp", "coolant", "water", "heat"),
        "oil_pressure": ("oil",),
        "fuel": ("tank",),
    }
    # from the simplest circuit that has it, for its words; the commonest gauge first
    words: dict[str, str] = {}
    count: dict[str, int] = {}
    for circuit in sorted(circuits, key=lambda one: len(one.sheet.gauges)):
        for gauge in circuit.sheet.gauges.values():
            words.setdefault(gauge.id, gauge.words)
            count[gauge.id] = count.get(gauge.id, 0) + 1
    names = sorted(words, key=lambda name: -count[name])
    return Question(
        "gauge",
        "Which gauge is wrong? The worst one, if several are.",
        tuple(Choice(name, words[name], others.get(name, ())) for name in names),
    )


def feature_questions(circuits: Sequence[Circuit], gauge: str) -> Iterator[Question]:
    """What tells the candidate circuits apart at a glance, and in the end which one it is."""
    if len(circuits) < 2:
        return
    named = tuple(Choice(circuit.id, f"{circuit.sheet.words} ({circuit.id})") for circuit in circuits)
    for feature in FEATURES:
        values = sorted({feature.of(circuit, gauge) for circuit in circuits})
        if len(values) > 1:
            choices = tuple(choice for choice in feature.choices if choice.value in values)
            labels = () if choices else tuple(values)
            yield Question(
                f"feature:{feature.id}",
                feature.text,
                choices or tuple(Choice(value, value) for value in values),
                labels=labels,
                more=named,
            )
    yield Question("circuit", "Which of these is it?", named)


def narrowed(circuits: Sequence[Circuit], gauge: str, question: Question, value: str) -> tuple[Circuit, ...]:
    """The candidates that an answer leaves.

    Parameters
    ----------
    question : Question
        One of `feature_questions`.
    """
    if any(circuit.id == value for circuit in circuits):
        return tuple(circuit for circuit in circuits if circuit.id == value)
    feature = next(one for one in FEATURES if question.id == f"feature:{one.id}")
    return tuple(circuit for circuit in circuits if feature.of(circuit, gauge) == value)


def seen_questions(case: Case, circuits: Sequence[Circuit], gauge: str) -> Iterator[tuple[Question, bool]]:
    """What the dial and the owner can tell.

    Parameters
    ----------
    circuits : sequence of Circuit
        The candidates: what one of them lacks is not asked after.

    Yields
    ------
    question : Question
    answered : bool
        Whether the case says it already.
    """
    sheet = circuits[0].sheet
    known = {name for name in sheet.states if all(name in circuit.sheet.states for circuit in circuits)}
    seen = [entry for entry in case.entries if isinstance(entry, Seen)]
    own = [entry for entry in seen if entry.gauge in (None, gauge)]
    needles = {
        entry.state or sheet.default_state: entry.needle
        for entry in own
        if not entry.between and entry.needle is not None
    }
    states = [state for state in _states(circuits[0], gauge) if state in known]
    for state in states:
        words = f"{sheet.states[state].words}: where is the needle?"
        yield _needle_question(state, words[0].upper() + words[1:]), state in needles
    if states:
        text = "How does the needle move?"
        fixed = (("state", sheet.default_state),)
        yield Question("moves", text, MOVES, "", "seen", fixed, "moves"), any(entry.moves for entry in own)
    if known.issuperset(_LIGHTS):
        text = "What does the needle do when the lights are switched on?"
        change = next((entry.needle for entry in own if entry.between == _LIGHTS), None)
        yield (
            Question("lights", text, CHANGES, "", "seen", (("between", _LIGHTS),), "needle"),
            change is not None,
        )
        if change in ("rises", "falls"):
            yield from _consumer(seen, circuits[0], "panel_lamps", "How do the panel lamps look, lights on?")
    dead = any(needle in ("dead", "pegged_low", "low") for needle in needles.values())
    if dead or any(entry.moves == "never" for entry in own):
        yield from _consumer(
            seen, circuits[0], "same_fuse", "What else is on the same fuse: how does it work?"
        )
    if sheet.gauges[gauge].reads == "coolant_celsius" and {*needles.values()} & {
        "reads_high",
        "high",
        "pegged_high",
    }:
        text = "Is the engine really hot? (Steam, smell, a thermometer. Keep the cooling system closed.)"
        yield Question("engine", text, HEAT, "", "seen", (), "engine"), any(entry.engine for entry in seen)
    for other in sheet.gauges.values():
        if other.id != gauge and all(other.id in circuit.sheet.gauges for circuit in circuits):
            yield (
                Question(
                    f"other:{other.id}",
                    f"And the {other.called} gauge?",
                    (*JUDGED, DEAD),
                    "",
                    "seen",
                    (("state", sheet.default_state), ("gauge", other.id)),
                    "needle",
                ),
                any(entry.gauge == other.id for entry in seen),
            )


def _states(circuit: Circuit, gauge: str) -> tuple[str, ...]:
    """States in which the needle is asked after, or the first few of a circuit that has no such state."""
    known = circuit.sheet.states
    wanted = _STATES.get(circuit.sheet.gauges[gauge].reads, _USUAL_STATES)
    return (
        tuple(state for state in wanted if state in known)
        or tuple(state for state in known if state != "key_off")[:3]
    )


def _needle_question(state: str, text: str) -> Question:
    fixed = (("state", state),)
    return Question(f"needle:{state}", text, (*NEEDLE, *JUDGED, DEAD), "position", "seen", fixed, "needle")


def _consumer(
    seen: Sequence[Seen], circuit: Circuit, name: str, text: str
) -> Iterator[tuple[Question, bool]]:
    if name in circuit.sheet.consumers:
        fixed = (("consumer", name),)
        yield (
            Question(f"consumer:{name}", text, LOOKS, "", "seen", fixed, "looks"),
            any(entry.consumer == name for entry in seen),
        )


def replaced_question(circuit: Circuit, gauge: str) -> Question:
    """Whether anything has been replaced before."""
    return part_question(
        "replaced_before", "Has anything been replaced or mended already?", circuit, gauge, ()
    )


def part_question(
    name: str, text: str, circuit: Circuit, gauge: str, likely: Sequence[str], wholes: bool = True
) -> Question:
    """Which part.

    Parameters
    ----------
    name, text : str
        The question's.
    likely : sequence of str
        Short names of the parts that come first.
    wholes : bool, optional
        Whether it may be the whole gauge or panel.
    """
    parts = {
        circuit.short_name(part.id, gauge): part
        for part in circuit.sheet.parts.values()
        if part.kind != "process"
    }
    first = [one for one in dict.fromkeys(likely) if one in parts] or [
        one
        for one in ("sender", "sender_connector", "sender_wire", "panel_connector_sender", "fuse")
        if one in parts
    ]
    listed = [Choice(one, parts[one].words, (parts[one].id,)) for one in first]
    more = [Choice(one, part.words, (part.id,)) for one, part in parts.items() if one not in first]
    if wholes:
        listed += WHOLES
    if name == "replaced_before":
        listed.insert(0, Choice(NOTHING, "nothing", ("no", "none", "n")))
    return Question(name, f"{text} (Any other part by its name.)", tuple(listed), more=tuple(more))


def has_checks(case: Case) -> bool:
    """Whether a case has come as far as checks, so that there is no more to ask beforehand."""
    return any(isinstance(entry, Measured | Inspected) for entry in case.entries)


def has_replaced(case: Case) -> bool:
    """Whether a case says what was replaced."""
    return any(isinstance(entry, Replaced) for entry in case.entries)
