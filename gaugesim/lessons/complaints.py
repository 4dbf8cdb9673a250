"""The complaint: what the owner of a vehicle with a hidden fault tells of its dials."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit
from gaugesim.conversation.casefile import Field, with_entry, with_top
from gaugesim.evidence import likelihood as like
from gaugesim.lessons.vehicle import FaultyVehicle
from gaugesim.reading import Situation, respond
from gaugesim.reading.words import needle_word
from gaugesim.scenario.fault import change, combine
from gaugesim.scenario.scenarios import stack
from gaugesim.vocabulary import CHANGE

# what is further off than this anybody notices [position]
NOTICED = like.NOTICED_LIMIT
# a needle that the lamps move by more than this is told of [position]
LAMPS_MOVE = 2 * CHANGE.limits[1]


# what is never told of: the key off, and states that differ in lamps and loads only
_UNTOLD = ("key_off", "lights_on", "lights_off", "loads_on")
_LIGHTS = ("lights_off", "lights_on")


def told_states(circuit: Circuit, gauge: str) -> tuple[str, ...]:
    """The states that an owner tells of.

    The two of ordinary use between which the sound needle moves most.
    """
    names = [name for name in circuit.sheet.states if name not in _UNTOLD]
    stands = [_sound(circuit, name, gauge) for name in names]
    return tuple(dict.fromkeys([names[int(np.argmin(stands))], names[int(np.argmax(stands))]]))


def _sound(circuit: Circuit, state: str, gauge: str) -> float:
    """Where the needle of a sound circuit stands."""
    stands = circuit.recall(
        ("sound needles", state), {}, lambda: respond(Situation.of(circuit, state)).positions
    )
    return float(np.nan_to_num(stands[gauge][0]))


def complaint(vehicle: FaultyVehicle) -> str | None:
    """What the owner tells, as a case file.

    None if nobody would notice anything on the gauge complained of.
    """
    shown = {name: vehicle.response(name)[1].positions for name in _looked_at(vehicle)}
    return _told(vehicle, {name: _of_row(stands, 0) for name, stands in shown.items()})


def likely_complaints(vehicles: Sequence[FaultyVehicle]) -> list[str | None]:
    """What the owners of vehicles would tell if all parts but the faulty one had their nominal values.

    Quick, as all are worked out together: nearly always it is the complaint.

    Parameters
    ----------
    vehicles : sequence of FaultyVehicle
        Of one circuit and gauge, each with one fault that does not come and go.
    """
    circuit = vehicles[0].circuit
    shown = {}
    for state in _looked_at(vehicles[0]):
        where = Situation.of(circuit, state)
        makes = [
            partial(change, circuit, fault, np.array([severity]))
            for vehicle in vehicles
            for fault, severity in vehicle.left
        ]
        shown[state] = respond(where, stack([combine([make], where.parameters) for make in makes])).positions
    return [
        _told(vehicle, {state: _of_row(stands, row) for state, stands in shown.items()})
        for row, vehicle in enumerate(vehicles)
    ]


def _of_row(positions: Mapping[str, Floats], row: int) -> dict[str, float]:
    return {gauge: float(stands[row]) for gauge, stands in positions.items()}


def _looked_at(vehicle: FaultyVehicle) -> tuple[str, ...]:
    """The states that an owner tells of, and those between which the lamps make a difference."""
    lights = () if vehicle.intermittent or not {*_LIGHTS} <= {*vehicle.circuit.sheet.states} else _LIGHTS
    return tuple(dict.fromkeys((*told_states(vehicle.circuit, vehicle.gauge), *lights)))


def _told(vehicle: FaultyVehicle, shown: Mapping[str, Mapping[str, float]]) -> str | None:
    """The same out of where the needles stand in each state."""
    circuit = vehicle.circuit
    several = len(circuit.sheet.gauges) > 1
    fields = [
        entry
        for gauge in circuit.sheet.gauges
        for entry in _seen(vehicle, gauge, {name: stands[gauge] for name, stands in shown.items()}, several)
    ]
    own = [entry for entry in fields if entry.get("gauge", vehicle.gauge) == vehicle.gauge]
    if not own:
        return None
    return _text(circuit, vehicle.gauge, own + [entry for entry in fields if entry not in own])


def nothing_noticed(circuit: Circuit, gauge: str) -> str:
    """All that an owner could tell of, and nothing wrong with it: what any complaint asks of the circuit."""
    fields: list[dict[str, Field]] = []
    for name in circuit.sheet.gauges:
        of = {"gauge": name} if len(circuit.sheet.gauges) > 1 else {}
        fields += [{"state": state, "needle": "normal", **of} for state in told_states(circuit, gauge)]
        if {*_LIGHTS} <= {*circuit.sheet.states}:
            fields.append({"between": _LIGHTS, "needle": "same", **of})
    return _text(circuit, gauge, fields)


def _text(circuit: Circuit, gauge: str, fields: list[dict[str, Field]]) -> str:
    def text() -> str:
        named = {"gauge": gauge} if len(circuit.sheet.gauges) > 1 else {}
        text = with_top('circuit = ""\n', circuit=circuit.id, **named)
        for entry in fields:
            text = with_entry(text, "seen", entry)
        return text

    # many vehicles have the same complaint
    return circuit.recall(("complaint", gauge, repr(fields)), {}, text)


def _seen(
    vehicle: FaultyVehicle, gauge: str, shown: Mapping[str, float], several: bool
) -> Iterator[dict[str, Field]]:
    """What is told of one gauge; nothing if it looks right, as nobody speaks of what works."""
    circuit = vehicle.circuit
    entries: list[dict[str, Field]] = []
    noticed = False
    for state in told_states(circuit, vehicle.gauge):
        stands = shown[state]
        off = np.isnan(stands) or abs(stands - _sound(circuit, state, gauge)) > NOTICED
        noticed |= bool(off)
        word = "dead" if np.isnan(stands) else needle_word(circuit.sheet.gauges[gauge], stands)
        entry: dict[str, Field] = {"state": state, "needle": word}
        if several:
            entry["gauge"] = gauge
        if vehicle.intermittent and off:
            entry["often"] = "sometimes"
        # while a fault sleeps all is as it should be, and nobody says so
        if off or not vehicle.intermittent:
            entries.append(entry)
    if noticed:
        yield from entries
        moved = shown[_LIGHTS[1]] - shown[_LIGHTS[0]] if {*_LIGHTS} <= {*shown} else 0.0
        # what the needle does when the lamps are switched on, where it does anything
        if abs(moved) > LAMPS_MOVE:
            entry = {"between": _LIGHTS, "needle": "rises" if moved > 0 else "falls"}
            yield entry | ({"gauge": gauge} if several else {})
