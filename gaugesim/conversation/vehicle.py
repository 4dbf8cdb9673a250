"""Mine is different: a vehicle in a handful of questions, none of which needs an answer.

What is not said stays open, and all published kinds that fit remain candidates.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from gaugesim.compose import load_kinds
from gaugesim.compose.words import QUANTITIES
from gaugesim.conversation.question import Choice, Question

PREFIX = "vehicle:"
MINE = Choice("vehicle", "mine is different: describe it", ("mine", "different", "describe"))
OHMS = f"{PREFIX}ohms"
# ranges of the trade, ohms at the low mark and at the top mark: published sender lists
_RANGES = {
    "fuel": ("0-90", "0-30", "240-33", "10-180", "73-10", "240-20"),
    "oil_pressure": ("240-33", "10-180", "73-10", "240-20"),
    "temperature": ("287-22", "240-33", "450-30", "700-20", "73-10"),
}
_NUMBER = r"(\d+(?:[.,]\d+)?)"
_PAIR = re.compile(rf"\s*{_NUMBER}\s*(?:-|\N{{EN DASH}}|to)\s*{_NUMBER}\s*(?:ohms?)?\s*")
_POINTS = re.compile(rf"\s*{_NUMBER}\s*:\s*{_NUMBER}\s*[,; ]\s*{_NUMBER}\s*:\s*{_NUMBER}\s*")


def next_question(text: str, gauge: str, passed: frozenset[str]) -> Question | None:
    """What is asked next of a vehicle; None if there is no more.

    Parameters
    ----------
    text : str
        The case file.
    passed : frozenset of str
        Questions that were asked already.
    """
    said = tomllib.loads(text).get("vehicle", {})
    return next((one for one in _questions(said, gauge) if one.id not in passed), None)


def _questions(said: Mapping[str, Any], gauge: str) -> Iterator[Question]:
    two, quantity = said.get("stations") == 2, _quantity(gauge)
    stations = [Choice("stations", "a boat with two stations")] if quantity == "temperature" else []
    yield _asked(
        "craft",
        "What is it in? (Its wires and plugs.)",
        Choice("land", "a car, lorry, tractor or engine set", ("car", "truck", "lorry", "tractor")),
        Choice("boat", "a boat"),
        *stations,
    )
    volts = [Choice(one, f"{one} V") for one in ("6", "12", "24")]
    asked = _asked("volts", "System volts? (12 if nothing is said.)", *volts)
    yield replace(asked, labels=tuple(one.value for one in volts))
    yield _asked(
        "earth",
        "Which pole of the battery is on the frame? (Negative if nothing is said.)",
        Choice("negative", "negative"),
        Choice("positive", "positive"),
    )
    others = [name for name in QUANTITIES if name != quantity]
    if not two:
        text = "Which other gauges are in the panel? (Numbers, as 1 3; 0 none. What they share.)"
        yield _asked("gauges", text, *(Choice(name, name.replace("_", " ")) for name in others), several=True)
    if any(name in said for name in others):
        text = "What do the gauges share? (Numbers, as 1 2; 0 nothing. Feed and ground if nothing is said.)"
        yield _asked("shares", text, Choice("feed", "a feed"), Choice("ground", "a ground"), several=True)
    if quantity == "voltmeter":
        return
    sense = (
        Choice("top", "not known, but fewest ohms at the top mark"),
        Choice("bottom", "not known, but fewest ohms at the low mark"),
    )
    text = (
        "The sender's ohms at the low and at the top mark? (Or type them: 240-33. It names the kind of gauge."
    )
    text += " A thermistor by two points, degC and ohm: 20:700 90:60.)" if quantity == "temperature" else ")"
    listed = (Choice(pair, f"{pair} ohm") for pair in _RANGES[quantity])
    yield _asked("ohms", text, *listed, *(() if quantity == "temperature" else sense))
    movements = load_kinds().movements
    kinds = [Choice(name, one.words) for name, one in movements.items() if one.family == "air_core"]
    heater = Choice(
        "bimetal", "heater and bimetal: the needle creeps for ten seconds or so", ("heater", "creeps")
    )
    studs = [Choice(f"studs {count}", f"not known, {count} studs on its back") for count in (2, 3, 4)]
    yield _asked("movement", "What moves the needle? (Only if you know.)", heater, *kinds, *studs)
    held = [
        Choice(f"{volts} {kind}", f"{volts} V, {words}")
        for kind, words in (("points", "points: its output pulses"), ("electronic", "electronic: steady"))
        for volts in (5, 7, 10)
    ]
    yield _asked("regulator", "An instrument regulator behind the panel?", Choice("none", "none"), *held)
    yield _asked(
        "sender_ground",
        "How is the sender grounded?",
        Choice("thread", "through its threads or flange"),
        Choice("wire", "by a wire of its own"),
    )


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
    numbers = [float(one.replace(",", ".")) for one in re.findall(_NUMBER, typed)]
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
        return {one: {} for one in answer}
    if name == "shares":
        return {"shares": list(answer)}
    [one] = answer
    first, _, second = one.partition(" ")
    if name == "craft":
        return {"wiring": "vehicle" if one == "land" else "boat"} | (
            {"stations": 2} if one == "stations" else {}
        )
    if name == "volts":
        return {"volts": int(one)}
    if name == "regulator":
        return {"regulator": one} if one == "none" else {"regulator": int(first), "regulator_kind": second}
    if name == "ohms":
        return (
            {f"{own}.low_ohms": one} if one in ("top", "bottom") else {f"{own}.ohms": typed_ohms(one)["ohms"]}
        )
    if first == "studs":
        return {f"{own}.studs": int(second)}
    return {name: one} if name == "earth" else {f"{own}.{name}": one}
