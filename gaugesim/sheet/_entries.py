"""One table of a sheet into one record, every key of it checked."""

from __future__ import annotations

from collections.abc import Mapping

from gaugesim.errors import nearest
from gaugesim.expression import ExpressionError, parse
from gaugesim.movement import MOVEMENTS, Gauge, Mark
from gaugesim.sheet.gauges import COILS, CONVENTIONS, GAUGES, Regulator
from gaugesim.sheet.parts import AFTER, FOUND, MODES, QUANTITIES, TOGETHER, Mode, Part, PartKind, Severity
from gaugesim.sheet.records import (
    CAN,
    CONSUMERS,
    ENGINE,
    Caution,
    Consumer,
    Place,
    Point,
    Quantity,
    State,
)
from gaugesim.table import Table


def _severity(table: Table) -> Severity:
    given = [name for name in QUANTITIES if table.has(name)]
    if not given:
        for name in ("typical", "spacing", "at_low", "at_high"):
            if table.has(name):
                raise table.fail(name, "stands alone", f"give one of {', '.join(QUANTITIES)} beside it")
        return Severity()
    if len(given) > 1:
        raise table.fail(given[1], f"stands beside {given[0]!r}", "a severity is one of ohms, factor and x")
    quantity = given[0]
    low, high = table.pair(quantity)
    logarithmic = table.choice("spacing", ("log", "linear"), "linear" if quantity == "x" else "log") == "log"
    typical = table.number("typical")
    if logarithmic and low <= 0:
        raise table.fail(quantity, f"starts at {low:g}", "a range in logarithms starts above 0")
    if not (low <= typical <= high or typical == 0):
        raise table.fail(
            "typical", f"is {typical:g}", f"a number from {low:g} to {high:g}, or 0 for a dead short"
        )
    at_ends = tuple(table.number(name, 0.0, low=0, high=1) for name in ("at_low", "at_high"))
    if sum(at_ends) > 1:
        raise table.fail("at_high", f"is {at_ends[1]:g}", f"at most {1 - at_ends[0]:g}, beside at_low")
    return Severity(quantity, low, high, typical, logarithmic, (at_ends[0], at_ends[1]))


def _mode(name: str, table: Table, usual: Mode | None = None) -> Mode:
    # what says itself in parameters needs no code, so it may have a name of its own
    if name not in MODES and (not table.has("set") or nearest(name, MODES)):
        raise table.unknown("", "mode", name, MODES)
    changes = table.table("set", {})
    expressions = {}
    for parameter in changes.data:
        written = changes.data[parameter]
        try:
            if isinstance(written, bool) or not isinstance(written, str | int | float):
                raise ExpressionError(f"is {written!r}")
            expressions[parameter] = parse(str(written))
        except ExpressionError as error:
            raise changes.fail(parameter, str(error), "an expression of x and of parameters") from None
    return table.record(
        Mode,
        {"found": FOUND},
        {"at_times": float(name == "intermittent")},
        id=name,
        severity=_severity(table),
        set=expressions,
        # what goes before it is the same however a sheet words it and whatever its degrees
        after=_after(table.table("after", {})) if table.has("after") or usual is None else usual.after,
    )


def _after(table: Table) -> dict[str, float]:
    for word in table.data:
        if word not in AFTER:
            raise table.unknown("", "word", word, AFTER)
    return {word: table.number(word, low=0) for word in AFTER if table.has(word)}


def _modes(table: Table, usual: Mapping[str, Mode] | None = None) -> dict[str, Mode]:
    return {name: _mode(name, entry, (usual or {}).get(name)) for name, entry in table.tables("modes")}


def read_part_kind(name: str, table: Table, cautions: Mapping[str, Caution]) -> PartKind:
    choices = {"unit": ("ohm", "none"), "cautions": cautions, "together": TOGETHER}
    return table.record(PartKind, choices, id=name, modes=_modes(table))


# what a part may say otherwise than its kind
_OF_KIND = ("tolerance", "source", "weight", "repair", "repair_minutes", "price", "cautions")


def read_part(
    name: str,
    table: Table,
    kinds: Mapping[str, PartKind],
    places: Mapping[str, Place],
    gauges: Mapping[str, Gauge],
    cautions: Mapping[str, Caution],
) -> Part:
    kind = kinds[table.choice("kind", kinds)]
    element = table.text("element", f"r{name}" if kind.unit == "ohm" else "")
    modes = {**kind.modes, **_modes(table, kind.modes)}
    for unwanted in table.texts("without", (), modes):
        del modes[unwanted]
    if not modes:
        raise table.fail("modes", "is empty", "a part has at least one way to fail")
    part = table.record(
        Part,
        {"gauge": gauges, "place": places, "cautions": cautions, "bridging": cautions},
        {key: getattr(kind, key) for key in _OF_KIND},
        id=name,
        kind=kind.id,
        element=element.lower(),
        parameter=table.text("parameter", name if kind.unit == "ohm" else ""),
        unit=kind.unit,
        chafes=table.text("chafes", "").lower(),
        modes=modes,
    )
    if ("crossed" in modes) != bool(part.crosses) or (part.crosses and len({*part.crosses}) != 2):
        raise table.fail(
            "crosses",
            f"is {list(part.crosses)}",
            "mode crossed, and only that, takes the ids of two gauges, or of two studs of one gauge",
        )
    return part


def read_quantity(name: str, table: Table, process: bool) -> Quantity:
    quantity = table.record(Quantity, id=name, process=process)
    if table.has("tolerance") == table.has("plus_minus"):
        problem = "stands beside plus_minus" if table.has("tolerance") else "is missing, and plus_minus too"
        raise table.fail("tolerance", problem, "give one of the two, 0 for an exact value")
    return quantity


def read_caution(name: str, cautions: Table) -> Caution:
    """One of the table's cautions: a text alone, or a table with its words."""
    spoken = name.replace("_", " ")
    if isinstance(cautions.data[name], str):
        return Caution(name, cautions.text(name), spoken, "injury", ENGINE[0])
    table = cautions.table(name)
    return table.record(Caution, {"can": CAN, "engine": ENGINE}, {"short": spoken}, id=name)


def read_point(name: str, table: Table, places: Mapping[str, Place], gauges: Mapping[str, Gauge]) -> Point:
    node = table.text("node", name).lower()
    return table.record(Point, {"place": places, "gauge": gauges}, id=name, node=node)


def read_consumer(name: str, table: Table, states: Mapping[str, State]) -> Consumer:
    if name not in CONSUMERS:
        raise table.unknown("", "consumer", name, CONSUMERS)
    ends = {key: table.text(key).lower() for key in ("node_a", "node_b")}
    return table.record(Consumer, {"states": states}, id=name, **ends)


def read_regulator(table: Table, cautions: Mapping[str, Caution]) -> Regulator:
    elements = {key: table.text(key).lower() for key in ("contact", "heater")}
    regulator = table.record(Regulator, {"convention": CONVENTIONS, "momentary": cautions}, **elements)
    if regulator.steady != bool(regulator.dropout_volts):
        raise table.fail("dropout_volts", "goes with a steady regulator, and only with one", "see convention")
    return regulator


def _letters(name: str) -> str:
    """What is left of a name however it is spelt."""
    return "".join(filter(str.isalnum, name.lower()))


def read_gauge(name: str, table: Table, quantities: Mapping[str, Quantity]) -> Gauge:
    if name not in GAUGES:
        raise table.unknown("", "gauge", name, GAUGES)
    movement = table.choice("movement", MOVEMENTS)
    marks = []
    for entry in table.list_of_tables("marks"):
        marks.append(
            Mark(entry.number("at"), entry.number("position", low=0, high=1), entry.text("label", ""))
        )
        entry.end()
    if len(marks) < 3:
        raise table.fail("marks", f"has {len(marks)} entries", "three or more: low, middle and top")
    if MOVEMENTS[movement].along_field != bool(table.data.get("coils")):
        raise table.fail(
            "coils", f"do not fit movement {movement!r}", "coils belong to air_core, and it needs them"
        )
    own = MOVEMENTS[movement].read(table)
    coils = len(own.get("coils", ()))
    topology = table.text("topology")
    meant = next((name for name in COILS if _letters(name) == _letters(topology)), topology)
    if meant != topology:
        raise table.fail("topology", f"is {topology!r}", f"did you mean {meant!r}?")
    if COILS.get(topology, coils) != coils:
        raise table.fail(
            "topology",
            f"is {topology!r}, which has {COILS[topology]} coils, and {coils} stand in coils",
            "write the one that is wound, or its coils",
        )
    stops = table.pair("stops")
    if stops[0] > 0 or stops[1] < 1:
        raise table.fail(
            "stops", f"are {list(stops)}", "the low stop at 0 or below, the high one at 1 or above"
        )
    gauge = Gauge(
        id=name,
        words=table.text("words"),
        called=table.text("called", name.replace("_", " ")),
        movement=movement,
        topology=topology,
        instance=table.text("instance").lower(),
        reads=table.choice("reads", quantities),
        marks=tuple(marks),
        stops=stops,
        accuracy=table.number("accuracy", low=0, high=0.5),
        bench_volts=table.number("bench_volts", low=0),
        lag_seconds=table.number("lag_seconds", low=0),
        source=table.text("source"),
        **own,
    )
    table.end()
    return gauge
