"""The movement of one shipped circuit put into another, where none has it with the wanted sender."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from gaugesim.circuit import Circuit
from gaugesim.errors import SheetError
from gaugesim.fitting.movement import OpenMovement
from gaugesim.sheet import Gauge, Part

# the foil from and to which every air-core gauge is wired
FOIL = {"foil_feed_far", "foil_ground_far"}


@dataclass(frozen=True)
class Draft:
    """The two files of a circuit before they are written.

    Attributes
    ----------
    more : tuple of Path
        Files that it includes beyond those of the shipped circuit.
    """

    circuit: Circuit
    gauge: Gauge
    netlist: str
    sheet: str
    more: tuple[Path, ...] = ()


def draft(circuit: Circuit, gauge: str) -> Draft:
    """A shipped circuit as it stands."""
    return Draft(
        circuit,
        circuit.sheet.gauges[gauge],
        circuit.netlist.path.read_text(encoding="utf-8"),
        circuit.sheet.path.read_text(encoding="utf-8"),
    )


def takes_movements(circuit: Circuit, gauge: str) -> bool:
    """Whether the movement of a gauge can be exchanged for another air-core one."""
    own = OpenMovement(circuit, circuit.sheet.gauges[gauge])
    plain = bool(own.gauge.coils) and not _beside(own)
    return plain and set(circuit.netlist.nodes) >= FOIL


def transplanted(circuit: Circuit, gauge_id: str, donor: OpenMovement) -> Draft:
    """A circuit with the air-core movement of one of its gauges exchanged.

    Parameters
    ----------
    donor : OpenMovement
        From a circuit with one gauge.
    """
    own = OpenMovement(circuit, circuit.sheet.gauges[gauge_id])
    start = draft(circuit, gauge_id)
    # what only the new movement has: its coils, and studs and resistors beside it
    fresh = [part for part in _beside(donor) if f"{own.prefix}{part.id}" not in circuit.sheet.parts]
    fresh += [part for part in donor.parts if part not in fresh]
    names = {part.parameter for part in fresh} | {*donor.studs, "divider_tap"}
    netlist = _exchanged_netlist(start.netlist, own, donor, fresh, names)
    instance = {donor.gauge.instance: own.gauge.instance}
    coils = tuple(replace(coil, element=_moved(coil.element, instance)) for coil in donor.gauge.coils)
    gauge = replace(
        own.gauge,
        topology=donor.topology,
        coils=coils,
        degrees_low=donor.gauge.degrees_low,
        degrees_high=donor.gauge.degrees_high,
    )
    sheet = _exchanged_sheet(start.sheet, own, donor, fresh, instance)
    included = _movement_file(donor)
    more = () if included.name in {path.name for path in circuit.netlist.files} else (included,)
    return Draft(circuit, gauge, netlist, sheet, more)


def _beside(movement: OpenMovement) -> list[Part]:
    """Studs that only four-stud movements have, and resistors beside the gauge."""
    inside = {
        part.id for part in movement.parts if part.element in movement.circuit.gauge_elements(movement.gauge)
    }
    extra = {f"{movement.prefix}stud_bias", f"{movement.prefix}stud_tap"}
    return [
        part
        for part in movement.circuit.sheet.parts.values()
        if part.id in extra or (part.kind == "series_resistor" and part.id not in inside)
        if part.gauge == movement.gauge.id
    ]


def _moved(element: str, instance: dict[str, str]) -> str:
    for old, new in instance.items():
        element = element.replace(f".{old}.", f".{new}.")
    return element


def _movement_file(movement: OpenMovement) -> Path:
    """The included file that holds the movement's subcircuit."""
    wanted = re.compile(r"^\.subckt\s+" + movement.topology.replace(" ", "_").replace("-", "_") + r"\b", re.M)
    for path in movement.circuit.netlist.files[1:]:
        if wanted.search(path.read_text(encoding="utf-8").lower()):
            return path.resolve()
    raise SheetError(
        f"no included file holds the movement {movement.topology}", str(movement.circuit.netlist.path)
    )


def _statements(text: str) -> list[list[str]]:
    """Lines, those that continue a statement and the comments above it with it."""
    result: list[list[str]] = []
    waiting: list[str] = []
    for line in text.split("\n"):
        if line.startswith("+") and result and not waiting:
            result[-1].append(line)
        elif line.startswith("*") and not line.startswith("* ----"):
            waiting.append(line)
        else:
            result.append([*waiting, line])
            waiting = []
    return [*result, waiting] if waiting else result


def _head(statement: Sequence[str]) -> str:
    """First word of a statement, in small letters."""
    words = next((line for line in statement if line and not line.startswith("*")), "").split()
    return words[0].lower() if words else ""


def _exchanged_netlist(
    text: str, own: OpenMovement, donor: OpenMovement, fresh: Sequence[Part], names: set[str]
) -> str:
    def renamed(line: str) -> str:
        if line.startswith("*"):
            return line
        line = re.sub(rf"(?i)\b{donor.gauge.instance}\b", f"X{own.gauge.id}", line)
        for name in sorted(names, key=len, reverse=True):
            line = re.sub(rf"(?i)\bR{name}\b", f"R{own.prefix}{name}", line)
            line = re.sub(rf"(?i)\b{name}\b", f"{own.prefix}{name}", line)
        return line

    theirs = _statements(donor.circuit.netlist.path.read_text(encoding="utf-8"))
    elements = {part.element for part in fresh if "." not in part.element} | {donor.gauge.instance}
    wiring = [[renamed(line) for line in one] for one in theirs if _head(one) in elements]
    known = donor.circuit.parameter_values({})
    values = [[f".param {own.prefix}{part.parameter}={known[part.parameter]:g}"] for part in fresh]
    include = f".include movements/{_movement_file(donor).name}"
    parameters = {f".param {part.parameter}=" for part in own.parts}
    result: list[list[str]] = []
    missing = include not in text
    for one in _statements(text):
        if missing and _head(one) == ".include":
            result.append([include])
            missing = False
        first = next((line for line in one if not line.startswith("*")), "")
        if any(first.lower().startswith(start) for start in parameters):
            continue
        if _head(one) == own.gauge.instance:
            result += wiring
        else:
            result.append(one)
        if first.startswith(f".param {own.prefix}stud_feed="):
            result += values
    return "\n".join(line for one in result for line in one)


def _exchanged_sheet(
    text: str,
    own: OpenMovement,
    donor: OpenMovement,
    fresh: Sequence[Part],
    instance: dict[str, str],
) -> str:
    for part in own.parts:
        text = re.sub(rf"(?ms)^\[parts\.{part.id}(\.[\w.]+)?\]\n.*?(?=^\[|\Z)", "", text)
    if own.prefix == "":
        text = re.sub(r"(?m)^movement = .*$", f"movement = {json.dumps(donor.topology)}", text, count=1)
    blocks = [text.rstrip("\n")]
    for stud in donor.studs:
        if f"{own.prefix}{stud}" not in own.circuit.sheet.points:
            point = donor.circuit.sheet.points[f"{donor.prefix}{stud}"]
            blocks.append(
                f"[points.{own.prefix}{stud}]\nwords = {json.dumps(point.words)}\n"
                f"place = {json.dumps(point.place)}\ngauge = {json.dumps(own.gauge.id)}"
            )
    blocks += [_part_text(part, own, instance) for part in fresh]
    group = f"{own.prefix}studs"
    nuts = [f"{own.prefix}{part.id}" for part in fresh if part.kind == "stud_nut"]
    if nuts and group in own.circuit.sheet.groups:
        text = "\n\n".join(blocks)
        old = own.circuit.sheet.groups[group]
        text = re.sub(rf"(?ms)^\[groups\.{group}\]\n.*?(?=^\[|\Z)", "", text)
        parts = json.dumps([*old.parts, *nuts])
        blocks = [
            text.rstrip("\n"),
            f"[groups.{group}]\nwords = {json.dumps(old.words)}\nparts = {parts}\nfactor = {old.factor:g}\n"
            f"source = {json.dumps(old.source)}",
        ]
    return "\n\n".join(blocks) + "\n"


def _part_text(part: Part, own: OpenMovement, instance: dict[str, str]) -> str:
    """A part's table under the other gauge's name."""
    lines = [
        f"[parts.{own.prefix}{part.id}]",
        f"words = {json.dumps(part.words)}",
        f"kind = {json.dumps(part.kind)}",
        f"gauge = {json.dumps(own.gauge.id)}",
        f"place = {json.dumps(part.place)}",
        f"repair = {json.dumps(part.repair)}",
        f"repair_minutes = {part.repair_minutes:g}",
        f"price = {part.price:g}",
    ]
    if "." in part.element:
        lines.append(f"element = {json.dumps(_moved(part.element, instance))}")
    if part.parameter != part.id:
        lines.append(f"parameter = {json.dumps(own.prefix + part.parameter)}")
    return "\n".join(lines)
