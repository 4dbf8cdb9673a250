"""The complaint: what the owner of a vehicle with a hidden fault tells of its dials."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gaugesim.conversation.casefile import Field, with_entry, with_top
from gaugesim.evidence import likelihood as like
from gaugesim.practice.vehicle import Vehicle
from gaugesim.reading import respond, situation
from gaugesim.reading.words import needle_word

# what is further off than this anybody notices [position]
NOTICED = like.NOTICED_LIMIT
# a needle that the lamps move by more than this is told of [position]
LAMPS_MOVE = 2 * like.CHANGE_LIMIT


def told_states(vehicle: Vehicle) -> tuple[str, ...]:
    """The states that an owner tells of.

    Returns
    -------
    tuple of str
        The two of ordinary use between which the sound needle moves most.
    """
    sheet = vehicle.circuit.sheet
    names = [name for name in sheet.states if name not in ("key_off", "lights_on", "lights_off", "loads_on")]
    stands = [
        float(np.nan_to_num(respond(situation(vehicle.circuit, name)).positions[vehicle.gauge][0]))
        for name in names
    ]
    return tuple(dict.fromkeys([names[int(np.argmin(stands))], names[int(np.argmax(stands))]]))


def complaint(vehicle: Vehicle) -> str | None:
    """What the owner tells, as a case file.

    Returns
    -------
    str or None
        None if nobody would notice anything on the gauge complained of.
    """
    several = len(vehicle.circuit.sheet.gauges) > 1
    fields = [entry for gauge in vehicle.circuit.sheet.gauges for entry in _seen(vehicle, gauge, several)]
    own = [entry for entry in fields if entry.get("gauge", vehicle.gauge) == vehicle.gauge]
    if not own:
        return None
    named = {"gauge": vehicle.gauge} if several else {}
    text = with_top('circuit = ""\n', circuit=vehicle.circuit.id, **named)
    for entry in own + [entry for entry in fields if entry not in own]:
        text = with_entry(text, "seen", entry)
    return text


def _seen(vehicle: Vehicle, gauge: str, several: bool) -> Iterator[dict[str, Field]]:
    """What is told of one gauge; nothing if it looks right, as nobody speaks of what works."""
    entries: list[dict[str, Field]] = []
    noticed = False
    for state in told_states(vehicle):
        where, response = vehicle.response(state)
        stands = float(response.positions[gauge][0])
        sound = float(np.nan_to_num(respond(situation(vehicle.circuit, state)).positions[gauge][0]))
        off = np.isnan(stands) or abs(stands - sound) > NOTICED
        noticed |= bool(off)
        word = "dead" if np.isnan(stands) else needle_word(vehicle.circuit.sheet.gauges[gauge], stands)
        entry: dict[str, Field] = {"state": where.state, "needle": word}
        if several:
            entry["gauge"] = gauge
        if vehicle.intermittent and off:
            entry["often"] = "sometimes"
        # while a fault sleeps all is as it should be, and nobody says so
        if off or not vehicle.intermittent:
            entries.append(entry)
    if noticed:
        yield from entries
        yield from _with_lamps(vehicle, gauge, several)


def _with_lamps(vehicle: Vehicle, gauge: str, several: bool) -> Iterator[dict[str, Field]]:
    """What the needle does when the lamps are switched on, where it does anything."""
    pair = ("lights_off", "lights_on")
    if vehicle.intermittent or not all(name in vehicle.circuit.sheet.states for name in pair):
        return
    before, after = (float(vehicle.response(name)[1].positions[gauge][0]) for name in pair)
    moved = after - before
    if abs(moved) > LAMPS_MOVE:
        entry: dict[str, Field] = {"between": pair, "needle": "rises" if moved > 0 else "falls"}
        yield entry | ({"gauge": gauge} if several else {})
