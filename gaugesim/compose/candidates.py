"""From what is said of a vehicle to the circuits that it may have."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from gaugesim import netlist as netlists
from gaugesim.compose.choose import ChosenVehicle, fitting_vehicles
from gaugesim.compose.layout import VehicleLayout
from gaugesim.compose.senders import QUARTERS, Sender, sender, with_ohms
from gaugesim.compose.words import Vehicle
from gaugesim.errors import CaseError
from gaugesim.paths import shipped_netlists
from gaugesim.vocabulary import enumerated


@dataclass(frozen=True)
class Composed:
    """A circuit as text.

    Attributes
    ----------
    words : str
        What it is, in one line.
    share : float
        How likely it is among the candidates before anything is measured [1].
    netlist, sheet : str
        What its two files say; they include files of ``netlists``.
    """

    id: str
    words: str
    share: float
    netlist: str
    sheet: str

    @property
    def path(self) -> Path:
        """Where its netlist would stand beside the files that it includes."""
        return shipped_netlists() / f"{self.id}.cir"


def compose(vehicle: Vehicle) -> tuple[Composed, ...]:
    """Circuits that a vehicle may have. The most common first; their shares add up to one.

    Raises
    ------
    CaseError
        If nothing fits what was said, or a movement does not follow its sender.

    Examples
    --------
    >>> from gaugesim.compose.words import read_vehicle
    >>> from gaugesim.errors import CaseError
    >>> from gaugesim.table import Table
    >>> said = {"fuel": {"movement": "three_coil", "ohms": [240, 33]}}
    >>> compose(read_vehicle(Table(said, "lorry.toml: vehicle", CaseError)))[0].id
    'vehicle_fuel_three_coil_240_33'
    """
    made: list[Composed] = []
    refused: list[CaseError] = []
    for each in fitting_vehicles(vehicle):
        try:
            made.append(_composed(each))
        except CaseError as error:  # a movement that cannot follow this sender is not what is there
            refused.append(error)
    if not made:
        raise refused[0]
    total = sum(each.share for each in made)
    return tuple(replace(each, share=each.share / total) for each in made)


def _composed(candidate: ChosenVehicle) -> Composed:
    # what writes a circuit is loaded with the first one that is written
    from gaugesim.compose.circuit_text import netlist_text
    from gaugesim.compose.composed_sheet import sheet_text
    from gaugesim.compose.scale import scaled

    layout = VehicleLayout(candidate)
    title = _title(candidate)
    senders = {gauge.choice.quantity: sender(gauge) for gauge in layout.gauges}
    first = netlist_text(layout, {name: _some(entry) for name, entry in senders.items()}, title)
    read = netlists.read_text(first, shipped_netlists() / f"{candidate.id}.cir", shipped_netlists())
    finished, scales = scaled(layout, read, senders)
    return Composed(
        id=candidate.id,
        words=title,
        share=candidate.share,
        netlist=netlist_text(layout, finished, title),
        sheet=sheet_text(layout, finished, scales, title),
    )


def _some(entry: Sender) -> Sender:
    """A sender with any ohms where they are yet to be chosen: evenly between those that are said."""
    said = [k for k, value in enumerate(entry.ohms) if not np.isnan(value)]
    if len(said) == len(entry.ohms):
        return entry
    ohms = np.interp(QUARTERS, [QUARTERS[k] for k in said], [entry.ohms[k] for k in said])
    return with_ohms(entry, tuple(float(value) for value in ohms))


def _title(candidate: ChosenVehicle) -> str:
    vehicle = candidate.vehicle
    said = []
    for choice in candidate.choices:
        name = choice.quantity.replace("_", " ")
        ohms = (
            f", {' to '.join(f'{x:g}' for x in (choice.ohms[0], choice.ohms[-1]))} ohm" if choice.ohms else ""
        )
        said.append(f"{name} ({choice.movement.words}{ohms})")
    system = f"{vehicle.volts:g} V" + (", positive earth" if vehicle.earth == "positive" else "")
    stations = ", two stations" if vehicle.stations == 2 else ""
    kind = "electronic " if vehicle.regulator_kind == "electronic" else ""
    held = f", {candidate.regulator:g} V {kind}regulator" if candidate.regulator else ""
    shown = enumerated(said)
    boat = ", boat" if vehicle.wiring == "boat" else ""
    return f"{shown[0].upper()}{shown[1:]}: {system}{held}{stations}{boat}"
