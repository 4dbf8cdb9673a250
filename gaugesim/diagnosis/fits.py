"""Whether circuit and vehicle fit each other, and the volts that were read fit the system."""

from __future__ import annotations

from gaugesim.case import Case, Measured
from gaugesim.circuit import Circuit
from gaugesim.compose import Vehicle
from gaugesim.compose.words import VOLTS
from gaugesim.errors import CaseError
from gaugesim.scenario.kinds.checks import VOLTS_AT

# more than this share of its name no system has, an alternator that overcharges included; less than that its
# battery has not, however flat: assumed, beside the ranges of ISO 16750-2 and of the faults of the battery
MOST, LEAST = 1.5, 0.6
# a meter on the wrong way round shows this much at least [V]
_REVERSED_VOLTS = 1.0


def fits_vehicle(circuit: Circuit, vehicle: Vehicle) -> bool:
    """Whether a circuit may be what is said of a vehicle."""
    sheet = circuit.sheet
    if sheet.volts != vehicle.volts or sheet.earth != vehicle.earth:
        return False
    for said in vehicle.gauges:
        gauge = sheet.gauges.get(said.quantity)
        if gauge is None:
            return False
        kind = gauge.topology.replace("-", "_").replace(" ", "_")
        if said.movement is not None and said.movement != kind:
            return False
    return True


def check_volts(case: Case, circuit: Circuit) -> None:
    """Complain of volts that the system cannot have, before anything is made of them.

    Raises
    ------
    CaseError
        Naming the entry, and what would fit.
    """
    sheet = circuit.sheet
    for entry in case.entries:
        if not isinstance(entry, Measured) or entry.volts is None or isinstance(entry.volts, str):
            continue
        low, high = entry.volts if isinstance(entry.volts, tuple) else (entry.volts, entry.volts)
        at_battery = entry.check == VOLTS_AT.check(sheet.live_pole)
        too_much = min(abs(low), abs(high)) > MOST * sheet.volts
        too_little = at_battery and 0 < high < LEAST * sheet.volts
        if sheet.earth == "positive" and high < -_REVERSED_VOLTS:
            raise CaseError(
                f"is {high:g} V on a vehicle with positive earth",
                f"{entry.where}.volts",
                f"the red lead goes to earth there: write {-high:g}",
            )
        if too_much or too_little:
            read = high if too_little else min(abs(low), abs(high))
            other, remedy = _meant(read, at_battery)
            problem = f"is {low:g} V, which a {sheet.volts:g} V system ({circuit.id}) cannot have{other}"
            raise CaseError(problem, f"{entry.where}.volts", remedy)


def _meant(volts: float, at_battery: bool) -> tuple[str, str]:
    """Which system has volts that do not fit, and what to ask."""
    fitting = [rated for rated in VOLTS if LEAST * rated <= volts <= MOST * rated] if at_battery else []
    fitting = fitting or [rated for rated in VOLTS if volts <= MOST * rated][:1]
    if not fitting:
        return ", nor any vehicle", "read the meter again: is the point in its place?"
    system = min(fitting, key=lambda rated: abs(volts / rated - 1.05))
    question = f"is this a {system:g} V system? say [vehicle] volts = {system:g}"
    return f" and a {system:g} V system has", question
