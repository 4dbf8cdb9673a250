"""Mine is different: what is asked of a vehicle, each by itself and none of it needed.

What is not said stays open, and all published kinds that fit remain candidates.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from gaugesim.advice.jobs import Job
from gaugesim.advice.telling import information
from gaugesim.circuit import Circuit
from gaugesim.compose import load_kinds
from gaugesim.compose.words import QUANTITIES
from gaugesim.conversation.question import Choice, Question
from gaugesim.sheet.parts import GAUGE_KINDS

PREFIX = "vehicle:"
MINE = Choice("vehicle", "mine is different: describe it", ("mine", "different", "describe"))
OHMS = f"{PREFIX}ohms"
# passed over where the gauge was said to be by itself
ALONE = f"{PREFIX}alone"
# what is asked where the answer tells of the fault
TELLING = ("ohms", "regulator", "movement")
# what is seen behind the panel only
BEHIND = {"regulator", "movement"}
# a question tells enough to be asked from so much of what is to be mended [bit]
LEAST_BITS = 0.05
# seconds that an answer takes: assumed
ANSWER_SECONDS = 10.0
# ranges of the trade, ohms at the low mark and at the top mark: published sender lists
_RANGES = {
    "fuel": ("0-90", "0-30", "240-33", "10-180", "73-10", "240-20"),
    "oil_pressure": ("240-33", "10-180", "73-10", "240-20"),
    "temperature": ("287-22", "240-33", "450-30", "700-20", "73-10"),
}
_NUMBER = r"(\d+(?:[.,]\d+)?)"
_PAIR = re.compile(rf"\s*{_NUMBER}\s*(?:-|\N{{EN DASH}}|to)\s*{_NUMBER}\s*(?:ohms?)?\s*")
_POINTS = re.compile(rf"\s*{_NUMBER}\s*:\s*{_NUMBER}\s*[,; ]\s*{_NUMBER}\s*:\s*{_NUMBER}\s*")


def begun(circuits: Sequence[Circuit], gauge: str) -> dict[str, Any]:
    """What is known of a vehicle before anything is asked of it: keys of ``[vehicle]``.

    Parameters
    ----------
    circuits : sequence of Circuit
        Those that were in question so far.
    gauge : str
        The one complained of.
    """
    crafts = {circuit.sheet.craft for circuit in circuits}
    described: dict[str, Any] = {_quantity(gauge): {}}
    if crafts in ({"boat"}, {"land"}):
        described["wiring"] = "boat" if crafts == {"boat"} else "vehicle"
    return described | ({"wiring": "boat", "stations": 2} if gauge != _quantity(gauge) else {})


def about(name: str, gauge: str) -> Question:
    """What is asked of a vehicle.

    Parameters
    ----------
    name : str
        One of `topics`.
    """
    quantity = _quantity(gauge)
    if name == "craft":
        stations = [Choice("stations", "a boat with two stations")] if quantity == "temperature" else []
        return _asked(
            name,
            "What is it in? (Its wires, its plugs and how to get at them.)",
            Choice("land", "a car, lorry, tractor or engine set", ("car", "truck", "lorry", "tractor")),
            Choice("boat", "a boat"),
            *stations,
        )
    if name == "battery":
        systems = [
            Choice(f"{volts} {pole}", f"{volts} V, {pole} pole on the frame", (f"{volts}{mark}", f"{volts}v"))
            for pole, mark in (("negative", ""), ("positive", "p"))
            for volts in ("12", "24", "6")
        ]
        labels = tuple(each.others[0] for each in systems)
        text = "Which battery? (What a meter has to read, and which way round it goes on.)"
        return replace(_asked(name, text, *systems), labels=labels)
    if name == "gauges":
        others = (Choice(each, each.replace("_", " ")) for each in QUANTITIES if each != quantity)
        text = "Which other gauges are in the panel? (Numbers, as 1 3; 0 none. What they share.)"
        return _asked(name, text, *others, several=True)
    if name == "shares":
        text = "What do the gauges share? (Numbers, as 1 2; 0 nothing. Feed and ground if nothing is said.)"
        return _asked(name, text, Choice("feed", "a feed"), Choice("ground", "a ground"), several=True)
    if name == "ohms":
        return _ohms_question(quantity)
    if name == "movement":
        movements = load_kinds().movements
        kinds = [Choice(each.id, each.words) for each in movements.values() if each.family == "air_core"]
        heater = Choice(
            "bimetal", "heater and bimetal: the needle creeps for ten seconds or so", ("heater", "creeps")
        )
        studs = [Choice(f"studs {count}", f"not known, {count} studs on its back") for count in (2, 3, 4)]
        text = "What moves the needle? (It tells what a good one shows.)"
        return _asked(name, text, heater, *kinds, *studs)
    if name == "regulator":
        held = [
            Choice(f"{volts} {kind}", f"{volts} V, {words}")
            for kind, words in (("points", "points: its output pulses"), ("electronic", "electronic: steady"))
            for volts in (5, 7, 10)
        ]
        text = "An instrument regulator behind the panel? (It feeds all heater gauges.)"
        return _asked(name, text, Choice("none", "none"), *held)
    return _asked(
        name,
        "How is the sender grounded? (It is one more joint, or none.)",
        Choice("thread", "through its threads or flange"),
        Choice("wire", "by a wire of its own"),
    )


def _ohms_question(quantity: str) -> Question:
    sense = (
        Choice("top", "not known, but fewest ohms at the top mark"),
        Choice("bottom", "not known, but fewest ohms at the low mark"),
    )
    text = "The sender's ohms at the low and at the top mark? (Or type them: 240-33. They tell the kind."
    text += " A thermistor by two points, degC and ohm: 20:700 90:60.)" if quantity == "temperature" else ")"
    listed = (Choice(pair, f"{pair} ohm") for pair in _RANGES[quantity])
    return _asked("ohms", text, *listed, *(() if quantity == "temperature" else sense))


def topics(said: Mapping[str, Any], gauge: str) -> tuple[Choice, ...]:
    """What may be told of a vehicle, beside what nobody has to be asked.

    Parameters
    ----------
    said : mapping
        The table ``[vehicle]``.
    """
    quantity = _quantity(gauge)
    words = {
        "craft": "what it is in",
        "battery": "volts and grounded pole",
        "gauges": "the other gauges",
        "shares": "what the gauges share",
        "ohms": "the sender's ohms",
        "movement": "what moves the needle",
        "regulator": "the instrument regulator",
        "sender_ground": "how the sender is grounded",
    }
    alone = not any(name in said for name in QUANTITIES if name != quantity)
    left_out = {"gauges"} if said.get("stations") == 2 else set()
    left_out |= {"shares"} if alone else set()
    left_out |= {"ohms", "movement", "regulator", "sender_ground"} if quantity == "voltmeter" else set()
    return tuple(Choice(name, text) for name, text in words.items() if name not in left_out)


def topics_question(said: Mapping[str, Any], gauge: str) -> Question:
    """What of the vehicle is to be told."""
    return Question(MINE.value, "What of it is to be told? (All else stays open.)", topics(said, gauge))


def before_touching(said: Mapping[str, Any], gauge: str) -> tuple[Question, ...]:
    """What has to be known of a vehicle before anything is touched, as far as nothing is said of it."""
    wanted = {"craft": "wiring", "battery": "volts"}
    return tuple(about(name, gauge) for name, key in wanted.items() if key not in said)


def telling(said: Mapping[str, Any], gauge: str, passed: frozenset[str], work: Job, rate: float) -> str:
    """The question of a vehicle that tells most of what is to be mended; empty if a check tells more.

    Which gauges there are comes first, for what they share; what is seen behind the panel only is not asked
    before it is out.

    Parameters
    ----------
    rate : float
        What the next check tells [bit/min].
    """
    able = {topic.value for topic in topics(said, gauge)}
    others = any(name in said for name in QUANTITIES if name != _quantity(gauge))
    if "gauges" in able and not others and not {ALONE, f"{PREFIX}gauges"} & passed:
        return "gauges"
    if not _is_seen(work, gauge):
        able -= BEHIND
    bits = {
        name: _bits(name, gauge, work)
        for name in TELLING
        if name in able and f"{PREFIX}{name}" not in passed and not _is_said(name, said, gauge)
    }
    best = max(bits, key=lambda name: bits[name], default="")
    return best if best and bits[best] > max(LEAST_BITS, rate * ANSWER_SECONDS / 60) else ""


def _is_said(name: str, said: Mapping[str, Any], gauge: str) -> bool:
    own = said.get(_quantity(gauge), {})
    keys = {"ohms": ("ohms", "points", "low_ohms"), "movement": ("movement", "studs")}
    return name in said or any(key in own for key in keys.get(name, (name,)))


def _bits(name: str, gauge: str, work: Job) -> float:
    """What an answer tells of which part is to be mended [bit]."""
    quantity, families = _quantity(gauge), load_kinds().families.values()

    def answer(circuit: Circuit) -> object:
        kind = next((each for each in families if circuit.id.endswith(f"_{each.id}")), None)
        own = kind.gauges.get(quantity) if kind else None
        if kind is None or own is None:
            return circuit.id
        return {"regulator": kind.regulator, "movement": own.movement, "ohms": own.ohms}[name]

    answers = [answer(part.entry.cells.circuit) for part in work.suspects for _ in part.hypotheses]
    listed = list(dict.fromkeys(answers))
    joint = np.zeros((len(work.repairs), len(listed)))
    column = np.array([listed.index(each) for each in answers])
    np.add.at(joint, (work.problem.repair_of, column), work.weight)
    weight = joint.sum(axis=1)
    return information(weight, joint / np.where(weight > 0, weight, 1.0)[:, None])


def _is_seen(work: Job, gauge: str) -> bool:
    """Whether the back of the gauge has been seen."""
    parts = work.circuit.sheet.parts.values()
    return {part.place for part in parts if part.gauge == gauge and part.kind in GAUGE_KINDS} <= work.opened


def _asked(name: str, text: str, *choices: Choice, several: bool = False) -> Question:
    return Question(f"{PREFIX}{name}", text, choices, several=several)


def _quantity(gauge: str) -> str:
    return gauge.removesuffix("_second")


def typed_ohms(typed: str) -> dict[str, Any]:
    """A sender's ohms at the marks, or two points of a thermistor, as typed; empty if it is neither.

    Examples
    --------
    >>> typed_ohms("240-33"), typed_ohms("20:700 90:60"), typed_ohms("2")
    ({'ohms': [240.0, 33.0]}, {'points': [[20.0, 700.0], [90.0, 60.0]]}, {})
    """
    numbers = [float(number.replace(",", ".")) for number in re.findall(_NUMBER, typed)]
    if _PAIR.fullmatch(typed):
        return {"ohms": numbers}
    return {"points": [numbers[:2], numbers[2:]]} if _POINTS.fullmatch(typed) else {}


def values(name: str, answer: tuple[str, ...], gauge: str) -> dict[str, Any]:
    """What an answer puts into ``[vehicle]``: its keys, the gauge in front of those of a gauge.

    Parameters
    ----------
    name : str
        Of the question, without `PREFIX`.
    answer : tuple of str
        The chosen values.

    Examples
    --------
    >>> values("regulator", ("10 electronic",), "fuel")
    {'regulator': 10, 'regulator_kind': 'electronic'}
    >>> values("ohms", ("240-33",), "fuel")
    {'fuel.ohms': [240.0, 33.0]}
    """
    own = _quantity(gauge)
    if name == "gauges":
        return {word: {} if word in answer else None for word in QUANTITIES if word != own}
    if name == "shares":
        return {"shares": list(answer)}
    [word] = answer
    first, _, second = word.partition(" ")
    if name == "craft":
        return {"wiring": "vehicle" if word == "land" else "boat"} | (
            {"stations": 2} if word == "stations" else {}
        )
    if name == "battery":
        return {"volts": int(first), "earth": second}
    if name == "regulator":
        return {"regulator": word} if word == "none" else {"regulator": int(first), "regulator_kind": second}
    if name == "ohms":
        return (
            {f"{own}.low_ohms": word}
            if word in ("top", "bottom")
            else {f"{own}.ohms": typed_ohms(word)["ohms"]}
        )
    if first == "studs":
        return {f"{own}.studs": int(second)}
    return {f"{own}.{name}": word}
