"""What is asked beside the complaint: which gauge, by itself or one of several, and which part."""

from __future__ import annotations

from collections.abc import Sequence

from gaugesim.case import Case, Seen
from gaugesim.circuit import Circuit
from gaugesim.conversation.answers import WHOLES
from gaugesim.conversation.question import Choice, Question
from gaugesim.diagnosis import complained_of, named_gauges
from gaugesim.errors import GaugesimError
from gaugesim.sheet import roles

OTHERS = "others"
ALONE, SEVERAL = "alone", "several"
_NUMBERS = {ALONE: "by itself", SEVERAL: "one of several"}
_CRAFTS = {"boat": "in a boat", "land": "on land", "": "in something else"}
# what else parts of a kind are called
_CALLED = {
    "charging": ("alternator", "dynamo", "generator"),
    "switch": ("key switch", "ignition"),
    "regulator": ("voltage stabiliser", "stabilizer"),
}
# a complaint makes no more entries than this
MOST_COMPLAINT = 2


def gauge_of(case: Case, circuits: Sequence[Circuit]) -> str:
    """The gauge complained of, empty while it is not known."""
    if not case.gauge and not named_gauges(case) and any(len(each.sheet.gauges) > 1 for each in circuits):
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
        "temperature": ("temp", "coolant", "water", "water temp", "heat"),
        "oil_pressure": ("oil",),
        "fuel": ("tank", "petrol", "diesel", "gas"),
        "voltmeter": ("volts", "battery", "charging", "alternator"),
    }
    # from the simplest circuit that has it, for its words; the commonest gauge first
    words: dict[str, str] = {}
    company: dict[str, list[str]] = {}
    for circuit in sorted(circuits, key=lambda each: len(each.sheet.gauges)):
        for gauge in circuit.sheet.gauges.values():
            words.setdefault(gauge.id, gauge.words)
            company.setdefault(gauge.id, []).append(_company(circuit))
    listed: list[Choice] = []
    more: list[Choice] = []
    for name in sorted(words, key=lambda each: -len(company[each])):
        among = sorted({*company[name]})
        whole = Choice(name, words[name], others.get(name, ()))
        (more if len(among) > 1 else listed).append(whole)
        for kind in among if len(among) > 1 else ():
            number, _, craft = kind.partition("/")
            texts = [words[name]]
            texts += [_NUMBERS[number]] if ALONE in among else []
            texts += [_CRAFTS[craft]] if number == SEVERAL and len({*among} - {ALONE}) > 1 else []
            listed.append(Choice(f"{name}/{kind}", ", ".join(texts)))
    more += [Choice(circuit.id, circuit.sheet.words) for circuit in circuits]
    text = "Which gauge? The worst one, if several are wrong. (Its wires and its sender are searched.)"
    return Question("gauge", text, tuple(listed), more=tuple(more))


def others_question(circuits: Sequence[Circuit]) -> Question | None:
    """How the other gauges are; None where a candidate has none."""
    if any(len(circuit.sheet.gauges) == 1 for circuit in circuits):
        return None
    choices = (
        Choice("right", "they are right", ("all right", "fine", "good", "ok", "they work")),
        Choice("some_wrong", "some are wrong as well", ("some",)),
        Choice(
            "all_wrong",
            "all are wrong as well",
            ("all", "all dead", "both", "same", "wrong", "dead", "none works"),
        ),
    )
    text = "How are the other gauges? (One wrong: its own branch. All wrong: what they share.)"
    return Question(OTHERS, text, choices)


def narrowed(circuits: Sequence[Circuit], value: str) -> tuple[str, tuple[Circuit, ...]]:
    """The gauge, and the candidates that have it, by itself or beside others; of a circuit's name that alone.

    Parameters
    ----------
    value : str
        An answer to `gauge_question`.
    """
    named = tuple(circuit for circuit in circuits if circuit.id == value)
    if named:
        return "", named
    gauge, _, company = value.partition("/")
    fitting = tuple(circuit for circuit in circuits if gauge in circuit.sheet.gauges)
    return gauge, tuple(each for each in fitting if company in ("", _company(each)))


def _company(circuit: Circuit) -> str:
    """Whether a circuit has one gauge, which may be fitted anywhere, or several, and then in what."""
    return f"{SEVERAL}/{circuit.sheet.craft}" if len(circuit.sheet.gauges) > 1 else ALONE


def reads_hot(case: Case, circuits: Sequence[Circuit], gauge: str) -> bool:
    """Whether a coolant gauge is said to read high, and nothing of the engine."""
    seen = [entry for entry in case.entries if isinstance(entry, Seen)]
    own = {entry.needle for entry in seen if entry.gauge in (None, gauge)}
    hot = circuits[0].sheet.gauges[gauge].reads == "coolant_celsius"
    return hot and bool(own & {"reads_high", "high", "pegged_high"}) and not any(each.engine for each in seen)


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
    first = [each for each in dict.fromkeys(likely) if each in parts] or [
        each for each in roles().asked_first if each in parts
    ]
    offered = {
        each: Choice(each, part.words, (part.id, *_CALLED.get(part.kind, ()))) for each, part in parts.items()
    }
    listed = [*(offered.pop(each) for each in first), *(WHOLES if wholes else ())]
    return Question(
        name, f"{text} (Any other part by its name.)", tuple(listed), more=tuple(offered.values())
    )


def has_checks(case: Case) -> bool:
    """Whether more has been told than a complaint, what it came after and how other gauges are."""
    return (
        len([entry for entry in case.entries if not (isinstance(entry, Seen) and entry.others)])
        > MOST_COMPLAINT
    )


def has_begun(case: Case) -> bool:
    """Whether a case has come further than the complaint, so that there is no more to ask beforehand."""
    entries = [
        entry for entry in case.entries if not (isinstance(entry, Seen) and (entry.engine or entry.others))
    ]
    return len(entries) > MOST_COMPLAINT or any(
        not isinstance(entry, Seen) or entry.after for entry in entries
    )
