"""What is done for a check in turn: when power comes off to get there, and when it is back."""

from __future__ import annotations

from collections.abc import Collection

from gaugesim.circuit import Circuit
from gaugesim.scenario.apparatus import Check

OFF, ON = "battery negative off", "battery negative on again"


def sequence(circuit: Circuit, check: Check, opened: Collection[str] = ()) -> tuple[str, ...]:
    """The steps of a check in order.

    Joints are made and broken with the key off; the battery is off while a place is opened whose studs are
    live, on for what needs power, and off again before the place is closed.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.scenario.check import find_check
    >>> circuit = find("temp_opposed_coil")
    >>> for text in sequence(circuit, find_check(circuit, "volts_at:stud_bias")):
    ...     print(text)
    battery negative off
    get behind the panel, panel out on its leads
    key off, everything connected, voltmeter clipped from stud B (bias) to battery negative
    battery negative on again
    key on, read it
    key off before it is undone
    battery negative off before it is closed
    """
    places = circuit.sheet.places
    shut = [places[name] for name in check.places if name not in opened and places[name].battery_off]
    turns = [text[:1].lower() + text[1:] for text in check.turns]
    if not shut:
        return tuple(turns)
    airbag = "airbag" in check.cautions
    first = [OFF + (", the maker's wait for the airbag" if airbag else "")]
    first += [f"get {place.words}" for place in shut]
    closing = f"{OFF} before it is closed"
    if check.setup.dead or check.kind.inspects or check.setup.kept is not None:
        return (*first, *turns, f"closed again, then {ON}")
    back = ON + (", every airbag plug connected" if airbag else "")
    connect, *watch = turns if len(turns) > 1 else ["", *turns]
    return tuple(text for text in (*first, connect, back, *watch, closing) if text)


def sequence_words(circuit: Circuit, check: Check, opened: Collection[str] = ()) -> str:
    """The same in a sentence where the battery comes off, as the check's own words do not say that.

    Empty where they say all there is to do.
    """
    steps = sequence(circuit, check, opened)
    return f"In order: {'; '.join(steps)}." if len(steps) > len(check.turns) else ""
