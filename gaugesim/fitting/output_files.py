"""A fitted gauge as a circuit that every command accepts, made from the shipped one of its kind."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from gaugesim.circuit import Circuit, of_composed, read
from gaugesim.compose import compose, read_vehicle
from gaugesim.errors import CaseError, UnsolvableError
from gaugesim.fitting.comparison import shipped_gauges
from gaugesim.fitting.fit_result import Fit
from gaugesim.fitting.fitted_values import settled_gauge, settled_parameters
from gaugesim.fitting.sender import ABSOLUTE_ZERO_CELSIUS, REFERENCE_CELSIUS, Quantified
from gaugesim.movement import MOVEMENTS
from gaugesim.reading import Situation, respond
from gaugesim.sheet import Gauge, Mark, roles
from gaugesim.table import Table
from gaugesim.template import Copied, copy_circuit

REGULATOR_VOLTS = "regulator_volts"
# true values at which the needle is tried for where the scale begins and ends
GRID = 81


@dataclass(frozen=True)
class WrittenCircuit:
    """A circuit that was written.

    Attributes
    ----------
    template : str
        The shipped circuit that it is made from.
    notes : tuple of str
        What is not measured but taken over.
    """

    files: Copied
    template: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Draft:
    """The two files of a circuit before they are written."""

    circuit: Circuit
    gauge: Gauge
    netlist: str
    sheet: str


def drafted(fit: Fit) -> Draft:
    """The shipped circuit with a gauge of the fitted kind that reads the same thing, or a composed one."""
    topology = fit.best.movement.topology
    alike = [
        (circuit, name)
        for circuit, name in shipped_gauges()
        if circuit.sheet.gauges[name].topology == topology and name == fit.points.gauge
    ]
    if not alike:
        said = Table({fit.points.gauge: {"movement": topology}}, fit.points.path.name, CaseError)
        made = compose(read_vehicle(said))[0]
        circuit = of_composed(made)
        return Draft(circuit, circuit.sheet.gauges[fit.points.gauge], made.netlist, made.sheet)
    fitted = {
        name.removeprefix(fit.best.movement.prefix): value.value
        for name, value in settled_parameters(fit.best).items()
        if value.unit in ("ohm", "V")
    }

    def distance(pair: tuple[Circuit, str]) -> tuple[bool, float]:
        """One gauge before several, then the nearest values."""
        circuit, name = pair
        values = circuit.parameter_values({})
        prefix = circuit.prefix(name)
        logs = [
            abs(float(np.log(values[full] / value)))
            for short, value in fitted.items()
            for full in (prefix + short, short)
            if full in values
        ]
        return len(circuit.sheet.gauges) > 1, sum(logs)

    circuit, gauge = min(alike, key=distance)
    texts = (path.read_text(encoding="utf-8") for path in (circuit.netlist.path, circuit.sheet.path))
    return Draft(circuit, circuit.sheet.gauges[gauge], *texts)


def write(fit: Fit, name: str, folder: Path) -> WrittenCircuit:
    """Write the circuit of a fitted gauge.

    Raises
    ------
    CaseError
        If a file is there already, see `copy_circuit`.
    UnsolvableError
        If nothing of the gauge was measured.
    """
    template = drafted(fit)
    circuit, old = template.circuit, template.gauge
    prefix = circuit.prefix(old.id)
    fitted = settled_gauge(fit.best)
    gauge = replace(
        old,
        coils=tuple(
            replace(coil, element=same.element) for coil, same in zip(fitted.coils, old.coils, strict=True)
        ),
        degrees_low=fitted.degrees_low,
        degrees_high=fitted.degrees_high,
        low=fitted.low,
        high=fitted.high,
        source=f"fitted to {fit.points.path.name}",
    )
    words = fit.points.words or f"{old.words}, fitted to measured points".capitalize()
    lines = {**_movement_lines(fit, prefix), **_sender_lines(fit, prefix)}
    netlist = _netlist_text(template, words, lines, fit.points.path.name)
    # the marks come out of the written circuit itself: the needle of a sound one stands on them
    with tempfile.TemporaryDirectory() as folder_for_marks:
        sheet = _sheet_text(template, words, gauge)
        files = copy_circuit(circuit, name, Path(folder_for_marks), netlist, sheet)
        marks = _marks(read(files.netlist), old.id, fit.points.marks)
    sheet = _sheet_text(template, words, replace(gauge, marks=marks))
    kept = fit.sender is None and fit.points.gauge != "voltmeter"
    sender = (f"the sender was not measured: that of {circuit.id} is kept",) if kept else ()
    notes = (*sender, *_supply_note(fit, circuit))
    files = copy_circuit(circuit, name, folder, netlist, sheet)
    return WrittenCircuit(files, circuit.id, notes)


def _supply_note(fit: Fit, circuit: Circuit) -> tuple[str, ...]:
    """What to change where the needle was measured on another supply than the circuit is written for."""
    supply = float(circuit.parameter_values({}).get("battery_volts", 0.0))
    volts = (
        float(np.median([point.supply_volts for point in fit.points.needle])) if fit.points.needle else supply
    )
    if fit.points.regulator_volts or not supply or 1 / 1.5 < volts / supply < 1.5:
        return ()
    return (
        f"measured at {volts:g} V, and the netlist keeps {supply:g} V: change battery_volts and "
        "charging_volts there and in each state, then gaugesim circuits names what is left",
    )


def _movement_lines(fit: Fit, prefix: str) -> dict[str, tuple[str, str]]:
    """Values of the movement's ``.param`` lines and a word on each, by name."""
    movement = fit.best.movement
    names = {part.parameter: prefix + part.parameter.removeprefix(movement.prefix) for part in movement.parts}
    if movement.kind.heats:
        names[REGULATOR_VOLTS] = REGULATOR_VOLTS
    fitted = settled_parameters(fit.best)
    return {new: (f"{fitted[name].value:.6g}", _band(fitted[name])) for name, new in names.items()}


def _sender_lines(fit: Fit, prefix: str) -> dict[str, tuple[str, str]]:
    """The same of the sender; empty if it was not measured."""
    if fit.sender is None:
        return {}
    fitted = fit.sender.parameters
    if fit.points.gauge != "temperature":
        return {name: (f"{value.value:.6g}", _band(value)) for name, value in fitted.items()}
    beta = f"{fitted['beta'].value:.6g}"
    if fit.sender.kind == "steinhart_hart":
        beta = _drifting_beta(fit)
    at_80 = fitted["ohms_at_80"]
    return {
        f"{prefix}{roles().sender}": (f"{at_80.value:.6g}", _band(at_80)),
        "sender_beta": (beta, f"{_band(fitted['beta'])}, at 80 degC"),
    }


def _band(value: Quantified) -> str:
    return f"{value.low:.4g} to {value.high:.4g} {value.unit} in 90 of 100"


def _drifting_beta(fit: Fit) -> str:
    """Beta against 80 degrees Celsius as it drifts with the temperature, to give Steinhart and Hart's curve.

    Over 180 K three terms are within a few hundredths of a kelvin.
    """
    sender = fit.sender
    assert sender is not None
    at = [point.at for point in fit.points.sender]
    celsius = np.linspace(min(at), max(at), 101)
    step = 1 / (celsius - ABSOLUTE_ZERO_CELSIUS) - 1 / (REFERENCE_CELSIUS - ABSOLUTE_ZERO_CELSIUS)
    rise = np.log(sender.curve(celsius) / sender.parameters["ohms_at_80"].value)
    size = np.abs(step).max()
    terms = np.stack([step / size, (step / size) ** 2, (step / size) ** 3], axis=1)
    first, second, third = np.linalg.lstsq(terms, rise, rcond=None)[0] / size ** np.arange(1, 4)
    away = "(1/(coolant_celsius + 273.15) - 1/353.15)"
    return f"{{{first:.7g} + {away}*({second:.7g} + {away}*({third:.7g}))}}"


def _netlist_text(template: Draft, words: str, values: Mapping[str, tuple[str, str]], points: str) -> str:
    lines = template.netlist.split("\n")
    result = [words, f"* Made from {template.circuit.id}; what is marked as fitted was found from {points}."]
    for line in lines[1:]:
        match = re.match(r"\.param\s+(\w+)\s*=", line, re.IGNORECASE)
        if match and match[1].lower() in values:
            value, band = values[match[1].lower()]
            result.append(f"* fitted: {band}")
            line = f".param {match[1]}={value}"
        result.append(line)
    return "\n".join(result)


def _sheet_text(template: Draft, words: str, gauge: Gauge) -> str:
    """The sheet of the shipped circuit with other words and another gauge."""
    text = re.sub(r"\A(#.*\n)+", "", template.sheet)
    # how far other makes differ is no matter of a gauge that was measured
    text = re.sub(r"(?m)^make_spread = .*\n", "", text)
    text = re.sub(r"(?m)^words = .*$", lambda _: f"words = {json.dumps(words)}", text, count=1)
    block = re.compile(rf"(?ms)^\[gauges\.{gauge.id}\]\n.*?(?=^\[|\Z)")
    head = f"# Made from {template.circuit.sheet.path.name}; the gauge is {gauge.source}.\n"
    return head + block.sub(lambda _: _gauge_text(gauge) + "\n", text, count=1)


def _gauge_text(gauge: Gauge) -> str:
    """A gauge's table."""
    lines = [f"[gauges.{gauge.id}]"]
    for name in ("words", "called", "movement", "topology", "instance", "element", "reads"):
        if getattr(gauge, name):
            lines.append(f"{name} = {json.dumps(getattr(gauge, name))}")
    lines += [
        f"{name} = {getattr(gauge, name):.6g}"
        for name in (*MOVEMENTS[gauge.movement].constants, "accuracy", "bench_volts", "lag_seconds")
    ]
    lines.append(f"stops = [{gauge.stops[0]:g}, {gauge.stops[1]:g}]")
    if any(gauge.rest):
        lines.append(f"rest = [{gauge.rest[0]:g}, {gauge.rest[1]:g}]")
    lines.append(f"source = {json.dumps(gauge.source)}")
    if gauge.coils:
        lines.append("coils = [")
        for coil in gauge.coils:
            element = json.dumps(coil.element)
            lines.append(
                f"  {{ element = {element}, turns = {coil.turns:.6g}, degrees = {coil.degrees:.6g} }},"
            )
        lines.append("]")
    lines.append("marks = [")
    for mark in gauge.marks:
        label = json.dumps(mark.label)
        lines.append(f"  {{ at = {mark.at:g}, position = {mark.position:g}, label = {label} }},")
    return "\n".join([*lines, "]", ""])


def _marks(circuit: Circuit, gauge_id: str, wanted: Mapping[float, str]) -> tuple[Mark, ...]:
    """Marks where the needle of the sound circuit stands at round values.

    Raises
    ------
    UnsolvableError
        If the needle hardly moves over all that the sender may be exposed to.
    """
    gauge = circuit.sheet.gauges[gauge_id]
    quantity = circuit.sheet.quantities[gauge.reads]

    def stands(value: float) -> float:
        return float(respond(Situation.of(circuit, given={gauge.reads: value})).positions[gauge_id][0])

    labels = dict(sorted(wanted.items())) or {mark.at: mark.label for mark in gauge.marks}
    positions = {value: stands(value) for value in labels}
    if not wanted and sum(_on_scale(position) for position in positions.values()) < 5:
        grid = np.linspace(max(quantity.low, -40.0), min(quantity.high, 200.0), GRID)
        inside = grid[[_on_scale(stands(value)) for value in grid]]
        if len(inside):
            step = _round_step(float(np.ptp(inside)))
            values = np.arange(np.ceil(inside.min() / step) * step, inside.max() + 1e-9 * step, step)
            labels = {float(f"{value:.6g}"): f"{value:.6g}" for value in values}
            positions = {value: stands(value) for value in labels}
    marks = tuple(
        Mark(value, float(np.clip(round(position, 3), 0.0, 1.0)), labels[value])
        for value, position in positions.items()
        if _on_scale(position)
    )
    if len(marks) < 3:
        raise UnsolvableError(
            f"with this sender the needle passes {len(marks)} marks of the scale only",
            "",
            "do points and sender belong to one another? give [[marks]] to choose them",
        )
    return marks


def _on_scale(position: float) -> bool:
    return -0.01 <= position <= 1.01


def _round_step(span: float) -> float:
    """A round step that divides a span into some five to ten."""
    scale = 10.0 ** np.floor(np.log10(span / 5))
    return float(scale * max(step for step in (1.0, 2.0, 5.0) if step * scale <= span / 5 * 1.0001))
