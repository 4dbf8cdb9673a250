"""A circuit as a person meets it: a state, perhaps a check, perhaps faults; needles and reading come back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import exp

from gaugesim.circuit import Circuit, find
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import merge, parse_fault
from gaugesim.scenario.scenarios import stack
from gaugesim.sheet import Gauge


def coolant_ohms(celsius: float) -> float:
    """70 ohm at 80 degC, beta 3900 K."""
    return 70.0 * exp(3900.0 * (1 / (celsius + 273.15) - 1 / 353.15))


@dataclass(frozen=True)
class Bench:
    """What is seen."""

    needles: Mapping[str, float]
    reading: float
    duty: float
    pulses: bool


def bench(
    name: str,
    state: str,
    check: str = "",
    *faults: str,
    free: bool = False,
    **given: float,
) -> Bench:
    """Look at a circuit; with ``free`` its needles have no stops."""
    circuit = without_stops(find(name)) if free else find(name)
    situation = Situation.of(circuit, state, find_check(circuit, check) if check else NO_CHECK, given)
    changes = [parse_fault(circuit, fault, situation.parameters)[1] for fault in faults]
    seen = respond(situation, stack([merge(changes)]))
    needles = {gauge: float(position[0]) for gauge, position in seen.positions.items()}
    reading = float("nan") if seen.reading is None else float(seen.reading[0])
    return Bench(needles, reading, float(seen.duty[0]), bool(seen.pulses[0]))


def without_stops(circuit: Circuit) -> Circuit:
    """The circuit with needles that may go all the way round."""
    gauges = {name: replace(gauge, stops=(-99.0, 99.0)) for name, gauge in circuit.sheet.gauges.items()}
    return replace(circuit, sheet=replace(circuit.sheet, gauges=gauges))


def scale(gauge: Gauge, degrees: float) -> float:
    """Position of a needle at an angle."""
    return (degrees - gauge.degrees_low) / (gauge.degrees_high - gauge.degrees_low)


def power_scale(gauge: Gauge, watts: float) -> float:
    """Position of a heated needle."""
    return (watts - gauge.low) / (gauge.high - gauge.low)
