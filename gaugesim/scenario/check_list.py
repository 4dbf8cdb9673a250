"""Which checks make sense on a circuit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError, UnknownNameError
from gaugesim.scenario.check import CHECK_KINDS, OF_A_GAUGE, ON_A_GAUGE, find_check
from gaugesim.sheet import Gauge, Point
from gaugesim.solve.network import GROUND

# grounding one of these is safe for the wiring whatever the gauge
_GROUNDABLE = ("stud_sender", "stud_ground", "sender_body", "panel_ground", "engine_block", "body")
_STUDS = ("stud_feed", "stud_sender", "stud_ground", "stud_bias", "stud_tap")


def check_ids(circuit: Circuit, gauge: str | None = None) -> tuple[str, ...]:
    """Every check that makes sense on a circuit and takes more than looking, see `looks.looks`.

    Parameters
    ----------
    gauge : str, optional
        Only those of one gauge and of what it shares with others.

    Returns
    -------
    tuple of str
        Ids that `find_check` takes.
    """
    found: dict[str, None] = {}
    for kind, rule in circuit.sheet.checks.items():
        if kind in CHECK_KINDS:
            found |= dict.fromkeys(_instances(circuit, kind, rule.targets, gauge))
    return tuple(name for name in found if _harmless(circuit, name))


def _harmless(circuit: Circuit, name: str) -> bool:
    """Whether a check burns nothing and hangs no hot lamp where vapour may be."""
    try:
        check = find_check(circuit, name)
    except CaseError:
        return False
    except UnknownNameError:
        return True  # of a point that the sheet lacks: who does the check is told which
    vapour = any(circuit.sheet.places[place].vapour for place in check.places)
    return not (vapour and name.startswith("lamp_"))


def _instances(circuit: Circuit, kind: str, targets: tuple[str, ...], gauge: str | None) -> Iterator[str]:
    sheet = circuit.sheet
    gauges = [entry for entry in sheet.gauges.values() if gauge in (None, entry.id)]
    several = len(sheet.gauges) > 1
    if kind in OF_A_GAUGE:
        for entry in gauges:
            front = f"{kind}:{entry.id}" if several else kind
            for target in _gauge_targets(circuit, kind, targets, entry):
                yield f"{front}:{target}" if target else front
        return
    if kind in ON_A_GAUGE:
        yield from (f"{kind}:{entry.id}" for entry in gauges)
        return
    if kind == "swap_sender_leads":
        # gauges on one sender have one lead to it
        able = [entry.id for entry in gauges if f"{entry.id}_sender_connector" in sheet.parts]
        yield from (f"{kind}:{a}:{b}" if len(sheet.gauges) > 2 else kind for a, b in combinations(able, 2))
        return
    ids = [gauge.id for gauge in gauges]
    parts = [part for part in sheet.parts.values() if not part.gauge or part.gauge in ids]
    points = [point for point in sheet.points.values() if not point.gauge or point.gauge in ids]
    if kind in ("volts_at", "lamp_at", "ground_at"):
        wanted = _GROUNDABLE if kind == "ground_at" else targets
        for point in points:
            if point.node != GROUND and (not wanted or _bare(point.id, point.gauge) in wanted):
                yield f"{kind}:{point.id}"
    elif kind in ("drop_across", "ohms_across", "jumper_across"):
        for part in parts:
            joint = part.element and not part.element.startswith("r.")
            if (joint and not targets) or _bare(part.id, part.gauge) in targets:
                yield f"{kind}:{part.id}"
    elif kind in ("wiggle", "look_at"):
        for part in parts:
            movable = "intermittent" in part.modes and not part.element.startswith("r.")
            if movable if kind == "wiggle" else part.kind != "process":
                yield f"{kind}:{part.id}"
    else:
        yield from _pairs(kind, targets, points, ids)


def _pairs(kind: str, targets: tuple[str, ...], points: list[Point], gauges: list[str]) -> Iterator[str]:
    known = {point.id for point in points}
    for target in targets:
        for gauge in ("", *gauges):
            names = [name if name in known else f"{gauge}_{name}" for name in target.split(":")]
            if all(name in known for name in names):
                yield f"{kind}:{':'.join(names)}"


def _gauge_targets(circuit: Circuit, kind: str, targets: tuple[str, ...], gauge: Gauge) -> Iterator[str]:
    sheet = circuit.sheet
    thermal = sheet.quantities[gauge.reads].unit == "celsius"
    if kind == "unplug_at_gauge":
        yield from [""] if _has(sheet.parts, "stud_sender", gauge) else []
    elif kind == "head_ohms":
        studs = [point.id for point in sheet.points.values() if _is_stud(point, gauge)]
        yield from (f"{a}:{b}" for a, b in combinations(studs, 2))
    elif kind == "bench_gauge":
        yield from targets if _has(sheet.parts, "stud_sender", gauge) else ()
    elif not _has(sheet.parts, "sender_connector", gauge):
        return
    elif kind == "ground_sender_lead":
        yield ""
        yield from (name for name in (sheet.earthed_pole, "body") if name in sheet.points)
    elif kind in ("sender_in_water", "float_by_hand"):
        level = sheet.quantities[gauge.reads].id == "fuel_level"
        yield from targets if (thermal if kind == "sender_in_water" else level) else ()
    else:
        yield from targets or ("",)


def _bare(name: str, gauge: str) -> str:
    return name.removeprefix(f"{gauge}_") if gauge else name


def _has(known: Mapping[str, object], name: str, gauge: Gauge) -> bool:
    return name in known or f"{gauge.id}_{name}" in known


def _is_stud(point: Point, gauge: Gauge) -> bool:
    return point.gauge == gauge.id and _bare(point.id, gauge.id) in _STUDS
