"""Points as a person would measure them, read off shipped circuits by the engine."""

from collections.abc import Callable
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from gaugesim.circuit import Circuit
from gaugesim.fitting import Fit, fit, parse_points
from gaugesim.reading import Situation, respond
from gaugesim.scenario.check import find_check
from gaugesim.sheet import roles

Measure = Callable[..., dict[str, Any]]
# what the true value at the sender is called in a file of points
TRUE_VALUES = {"coolant_celsius": "celsius", "fuel_level": "level", "oil_bar": "bar"}
STATE = "key_on_cold"


def shown(circuit: Circuit, gauge: str, kind: str, target: str = "", **given: float) -> tuple[float, Any]:
    """Needle and reading of a check, the engine's own."""
    several = [gauge] if len(circuit.sheet.gauges) > 1 else []
    check = find_check(circuit, ":".join([kind, *several, *filter(None, [target])]), gauge)
    response = respond(Situation.of(circuit, STATE, check, given))
    reading = None if response.reading is None else float(response.reading[0])
    return float(response.positions[gauge][0]), reading


def sender_ohms(circuit: Circuit, gauge: str, at: float) -> float:
    """The sender's own ohms at a true value."""
    values = circuit.values(circuit.parameters(STATE, {circuit.gauge(gauge).reads: at}))
    return float(values[circuit.part("sender", gauge).element])


def prefix_of(circuit: Circuit, gauge: str) -> str:
    return f"{gauge}_" if f"{gauge}_movement" in circuit.sheet.parts else ""


def ohms_range(circuit: Circuit, gauge: str) -> tuple[float, float]:
    ends = [sender_ohms(circuit, gauge, mark.at) for mark in circuit.gauge(gauge).marks]
    return max(min(ends), 1.0), max(ends)


@pytest.fixture(scope="session")
def stands() -> Callable[[Circuit, str, float], float]:
    """Needle position with a resistor in place of the sender."""
    return lambda circuit, gauge, ohms: shown(circuit, gauge, "substitute", f"{ohms:.9g}")[0]


@pytest.fixture(scope="session")
def lead_volts() -> Callable[[Circuit, str], float]:
    """Volts of the sender's lead, off the sender."""
    return lambda circuit, gauge: float(shown(circuit, gauge, "sender_lead_volts")[1])


@pytest.fixture(scope="session")
def fitted(measure: Measure) -> Callable[..., Fit]:
    """The fit to what `measure` gives, worked out once."""
    kept: dict[object, Fit] = {}

    def once(circuit: Circuit, gauge: str, **options: bool) -> Fit:
        key = circuit.id, gauge, tuple(sorted(options.items()))
        if key not in kept:
            kept[key] = fit(parse_points(measure(circuit, gauge, **options)))
        return kept[key]

    return once


@pytest.fixture(scope="session")
def measure() -> Measure:
    """Measures a gauge of a circuit; `random` adds reading errors of one standard deviation each."""

    def points(
        circuit: Circuit,
        gauge: str,
        *,
        count: int = 6,
        random: np.random.Generator | None = None,
        error: float = 0.0,
        coil: bool = True,
        coils: bool = False,
        sweep: bool = False,
        sender: bool = False,
    ) -> dict[str, Any]:
        entry = circuit.gauge(gauge)
        noise = (lambda size: float(random.normal() * size)) if random else (lambda size: 0.0)
        prefix = prefix_of(circuit, gauge)
        studs = [name for name in roles().stud_ids if f"{prefix}{name}" in circuit.sheet.points]
        found: dict[str, Any] = {"gauge": gauge.removesuffix("_second"), "studs": len(studs)}
        found["ambient_celsius"] = circuit.parameter_values({})["ambient_celsius"]
        if entry.movement == "moving_coil":
            found["needle"] = []
            for volts in (10.5, 12.0, 13.0, 14.0, 15.5):
                situation = Situation.of(circuit, STATE, given={"battery_volts": volts})
                position = round(float(respond(situation).positions[gauge][0]) + noise(error), 2)
                found["needle"].append({"supply_volts": volts, "position": position})
        else:
            found["needle"] = [
                {
                    "ohms": float(f"{ohms:.3g}"),
                    "position": round(
                        shown(circuit, gauge, "substitute", f"{ohms:.3g}")[0] + noise(error), 2
                    ),
                }
                for ohms in np.geomspace(*ohms_range(circuit, gauge), count)
            ]
        if coil:
            found["coil"] = [
                {"between": list(pair), "ohms": _metered(circuit, gauge, prefix, pair, noise)}
                for pair in combinations(studs, 2)
            ]
            values = circuit.values(circuit.parameters(STATE))
            found["coil"] += [
                {"part": part.id.removeprefix(prefix), "ohms": round(values[part.element], 1)}
                for part in circuit.sheet.parts.values()
                if part.kind == "series_resistor" and part.gauge == gauge and "." not in part.element
            ]
        if coils:
            found["coils"] = sum(
                part.gauge == gauge and part.kind in ("coil", "heater")
                for part in circuit.sheet.parts.values()
            )
        if sweep and entry.movement == "air_core":
            found["sweep_degrees"] = abs(entry.degrees_high - entry.degrees_low)
        if sender and entry.reads in TRUE_VALUES:
            found["sender"] = [
                {TRUE_VALUES[entry.reads]: mark.at, "ohms": round(sender_ohms(circuit, gauge, mark.at), 1)}
                for mark in entry.marks
            ]
        return found

    return points


def _metered(
    circuit: Circuit, gauge: str, prefix: str, pair: tuple[str, str], noise: Callable[[float], float]
) -> float:
    """Ohms between two studs on a meter with four digits."""
    ohms = shown(circuit, gauge, "head_ohms", f"{prefix}{pair[0]}:{prefix}{pair[1]}")[1]
    return float("inf") if ohms >= 1e6 else round(ohms * (1 + noise(0.01)), 1)
