"""What is not said is filled in from the published kinds: a handful of whole vehicles with their shares."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from gaugesim.compose.kinds import Family, Kinds, PublishedMovement, load_kinds
from gaugesim.compose.words import Said, Vehicle
from gaugesim.errors import CaseError
from gaugesim.movement import MOVEMENTS

# kinds rarer than this beside the others are left out, and of the rest no more than these are kept
RAREST, MOST = 0.04, 6
# how much less likely a kind becomes whose own sender range or regulator is not what was said, and whose own
# movement is not: assumed
UNLIKE_RANGE, UNLIKE_MOVEMENT = 0.1, 0.02
# two ranges count as the same when their larger ohms differ by less than this share
SAME_RANGE = 0.2
# where a warm engine stands [celsius], and what part of the scale its oil pressure is: assumed
NORMAL_CELSIUS, NORMAL_PRESSURE = 85.0, 0.4


@dataclass(frozen=True)
class ChosenGauge:
    """One gauge, nothing left open; attributes as of `words.Said`."""

    quantity: str
    movement: PublishedMovement
    ohms: tuple[float, ...]
    scale: tuple[float, float]
    normal: float
    sender_ground: str
    regulated: bool


@dataclass(frozen=True)
class ChosenVehicle:
    """A vehicle, nothing left open.

    Attributes
    ----------
    vehicle : Vehicle
        What was said.
    family : Family
        What the rest was filled in from.
    share : float
        How likely it is before anything is measured [1].
    regulator : float
        What the regulator holds, 0 for none [V].
    """

    vehicle: Vehicle
    family: Family
    share: float
    regulator: float
    choices: tuple[ChosenGauge, ...]

    @property
    def id(self) -> str:
        """Name of its circuit: what it shows, and the kind it is."""
        shown = [choice.quantity for choice in self.choices]
        what = shown[0] if len(shown) == 1 else "cluster"
        return f"vehicle_{what}_{self.family.id}" if shown != ["voltmeter"] else "vehicle_voltmeter"


def fitting_vehicles(vehicle: Vehicle) -> tuple[ChosenVehicle, ...]:
    """The kinds that fit what was said. The most common first; their shares add up to one.

    Raises
    ------
    CaseError
        If no kind fits: which word stands in the way.
    """
    kinds = load_kinds()
    vehicles: dict[tuple[ChosenGauge, ...], ChosenVehicle] = {}
    for family in kinds.families.values():
        made = _filled_in(vehicle, family, kinds)
        if made is None:
            continue
        before = vehicles.get(made.choices)
        if before is None:
            vehicles[made.choices] = made
        else:  # what was said leaves no difference between the two
            best = max(before, made, key=lambda each: each.share)
            vehicles[made.choices] = replace(best, share=before.share + made.share)
    if not vehicles:
        raise CaseError(
            "no kind of gauge has all of this together",
            vehicle.where,
            "leave movement, studs or regulator out, or give movement, ohms and regulator of every gauge",
        )
    listed = sorted(vehicles.values(), key=lambda each: -each.share)
    total = sum(each.share for each in listed)
    kept = [each for each in listed if each.share >= RAREST * total][:MOST]
    total = sum(each.share for each in kept)
    return tuple(replace(each, share=each.share / total) for each in kept)


def _filled_in(vehicle: Vehicle, family: Family, kinds: Kinds) -> ChosenVehicle | None:
    """A vehicle of one kind; None if that does not fit what was said."""
    usual = family.regulator if vehicle.regulator is None else vehicle.regulator
    share = family.share.get(vehicle.volts, 0.0) * (1.0 if usual == family.regulator else UNLIKE_RANGE)
    choices, held = [], set()
    for said in vehicle.gauges:
        choice = _choice(vehicle, said, family, usual, kinds)
        if choice is None:
            return None
        choices.append(choice)
        share *= _fit(said, family)
        if choice.regulated:
            held.add(usual if said.regulator is None else said.regulator)
    if len(held) > 1 or (vehicle.regulator and not held):
        return None
    # a kind that is unknown at these volts is still an answer where everything was said
    return ChosenVehicle(vehicle, family, max(share, 1e-9), max(held, default=0.0), tuple(choices))


def _fit(said: Said, family: Family) -> float:
    """How well a kind goes with what was said of a gauge [1]."""
    if said.quantity == "voltmeter":
        return 1.0
    own = family.gauges.get(said.quantity)
    if own is None:
        return UNLIKE_RANGE * UNLIKE_MOVEMENT
    fit = 1.0
    if said.ohms is not None and not same_range(said.ohms, own.ohms):
        fit *= UNLIKE_RANGE
    if said.movement is not None and said.movement != own.movement:
        fit *= UNLIKE_MOVEMENT
    return fit


def _choice(vehicle: Vehicle, said: Said, family: Family, usual: float, kinds: Kinds) -> ChosenGauge | None:
    """A gauge of one kind of vehicle; None if that does not fit what was said."""
    if said.quantity == "voltmeter":
        share = vehicle.volts / 12
        scale = said.scale or (10.0 * share, 16.0 * share)
        return ChosenGauge(
            "voltmeter", kinds.movements["moving_coil"], (), scale, said.normal or 13.4 * share, "wire", False
        )
    own = family.gauges.get(said.quantity)
    name = said.movement or (own.movement if own else None)
    ohms: tuple[float, ...] | None = said.ohms or (own.ohms if own else None)
    if name is None or ohms is None:
        return None
    movement = kinds.movements[name]
    if vehicle.stations == 2 and not MOVEMENTS[movement.family].along_field:
        return None
    if said.studs is not None and said.studs != len(movement.studs):
        return None
    if said.low_ohms is not None and (ohms[0] > ohms[-1]) != (said.low_ohms == "top"):
        return None
    # a regulator is there for heaters; another movement hangs on it only if that is said of it
    regulated = bool(said.regulator) or (bool(usual) and said.regulator is None and name == "bimetal")
    if vehicle.stations == 2 and said.ohms is None:  # one sender for two gauges has half the ohms
        ohms = tuple(float(f"{entry / 2:.4g}") for entry in ohms)
    ground = said.sender_ground or ("wire" if said.quantity == "fuel" else "thread")
    scale = said.scale or (own.scale if own else _usual_scale(said.quantity))
    return ChosenGauge(said.quantity, movement, ohms, scale, _normal(said, scale), ground, regulated)


def _usual_scale(quantity: str) -> tuple[float, float]:
    return {"temperature": (40.0, 120.0), "fuel": (0.0, 1.0)}.get(quantity, (0.0, 10.0))


def _normal(said: Said, scale: tuple[float, float]) -> float:
    if said.normal is not None:
        return said.normal
    if said.quantity == "temperature":
        return min(max(NORMAL_CELSIUS, scale[0]), scale[1])
    return 0.5 if said.quantity == "fuel" else NORMAL_PRESSURE * scale[1]


def same_range(ohms: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Whether two senders are of one range, and in the same sense.

    Parameters
    ----------
    ohms, other : tuple of float
        Ohms at the low and at the top mark [ohm].

    Examples
    --------
    >>> same_range((240.0, 33.0), (250.0, 30.0)), same_range((240.0, 33.0), (33.0, 240.0))
    (True, False)
    """
    return (ohms[0] > ohms[-1]) == (other[0] > other[-1]) and all(
        abs(math.log((a + 5) / (b + 5))) < SAME_RANGE for a, b in ((ohms[0], other[0]), (ohms[-1], other[-1]))
    )
