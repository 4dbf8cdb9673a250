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
    CRAFTS,
    ENGINE,
    Caution,
    CheckRule,
    CommonCauseGroup,
    Consumer,
    Place,
    Point,
    Quantity,
    Scope,
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
    mode = Mode(
        id=name,
        words=table.text("words"),
        weight=table.number("weight", low=0),
        severity=_severity(table),
        source=table.text("source"),
        set=expressions,
        found=table.texts("found", ("sound",), FOUND),
        signs_of_heat=table.number("signs_of_heat", None, low=0, high=1),
        coolant_low=table.number("coolant_low", None, low=0, high=1),
        # what goes before it is the same however a sheet words it and whatever its degrees
        after=_after(table.table("after", {})) if table.has("after") or usual is None else usual.after,
        at_times=table.number("at_times", float(name == "intermittent"), low=0, high=1),
    )
    table.end()
    return mode


def _after(table: Table) -> dict[str, float]:
    for word in table.data:
        if word not in AFTER:
            raise table.unknown("", "word", word, AFTER)
    return {word: table.number(word, low=0) for word in AFTER if table.has(word)}


def _modes(table: Table, usual: Mapping[str, Mode] | None = None) -> dict[str, Mode]:
    return {name: _mode(name, entry, (usual or {}).get(name)) for name, entry in table.tables("modes")}


def read_part_kind(name: str, table: Table, cautions: Mapping[str, Caution]) -> PartKind:
    kind = PartKind(
        id=name,
        words=table.text("words"),
        unit=table.choice("unit", ("ohm", "none")),
        tolerance=table.number("tolerance", low=0, high=20),
        source=table.text("source"),
        weight=table.number("weight", low=0),
        repair=table.text("repair"),
        repair_minutes=table.number("repair_minutes", low=0),
        price=table.number("price", 0.0, low=0),
        cautions=_cautions(table, cautions),
        together=table.choice("together", TOGETHER, ""),
        modes=_modes(table),
    )
    table.end()
    return kind


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
    part = Part(
        id=name,
        words=table.text("words"),
        kind=kind.id,
        gauge=table.choice("gauge", gauges, ""),
        element=element.lower(),
        parameter=table.text("parameter", name if kind.unit == "ohm" else ""),
        place=table.choice("place", places),
        unit=kind.unit,
        tolerance=table.number("tolerance", kind.tolerance, low=0, high=20),
        source=table.text("source", kind.source),
        weight=table.number("weight", kind.weight, low=0),
        repair=table.text("repair", kind.repair),
        repair_minutes=table.number("repair_minutes", kind.repair_minutes, low=0),
        price=table.number("price", kind.price, low=0),
        cautions=table.texts("cautions", kind.cautions, cautions),
        bridging=table.texts("bridging", (), cautions),
        chafes=table.text("chafes", "").lower(),
        crosses=table.texts("crosses", ()),
        engine_runs=table.number("engine_runs", 1.0, low=0, high=1),
        cranks=table.number("cranks", 1.0, low=0, high=1),
        missed=table.number("missed", 0.0, low=0, high=1),
        modes=modes,
    )
    if ("crossed" in modes) != bool(part.crosses) or (part.crosses and len({*part.crosses}) != 2):
        raise table.fail(
            "crosses",
            f"is {list(part.crosses)}",
            "mode crossed, and only that, takes the ids of two gauges, or of two studs of one gauge",
        )
    table.end()
    return part


def read_quantity(name: str, table: Table, process: bool) -> Quantity:
    quantity = Quantity(
        id=name,
        words=table.text("words"),
        unit=table.text("unit"),
        source=table.text("source"),
        tolerance=table.number("tolerance", 0.0, low=0, high=20),
        plus_minus=table.number("plus_minus", 0.0, low=0),
        low=table.number("low", -float("inf")),
        high=table.number("high", float("inf")),
        process=process,
    )
    table.end()  # a misspelt tolerance is told as that
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
    caution = Caution(
        id=name,
        words=table.text("words"),
        short=table.text("short", spoken),
        can=table.choice("can", CAN),
        engine=table.choice("engine", ENGINE, ENGINE[0]),
    )
    table.end()
    return caution


def read_scope(name: str, table: Table) -> Scope:
    words = table.text("words")
    short, asks = table.text("short", words), table.text("asks", "")
    scope = Scope(name, words, short, asks, table.choice("craft", CRAFTS, ""))
    table.end()
    return scope


def _cautions(table: Table, cautions: Mapping[str, Caution]) -> tuple[str, ...]:
    return table.texts("cautions", (), cautions)


def read_state(name: str, table: Table, cautions: Mapping[str, Caution]) -> State:
    state = State(
        id=name,
        words=table.text("words"),
        set=table.numbers("set"),
        plus_minus=table.numbers("plus_minus"),
        minutes=table.number("minutes", low=0),
        cautions=_cautions(table, cautions),
        engine=table.choice("engine", ENGINE, ""),
        certain=table.texts("certain", ()),
    )
    table.end()
    return state


def read_place(name: str, table: Table, cautions: Mapping[str, Caution]) -> Place:
    place = Place(
        id=name,
        words=table.text("words"),
        setup_minutes=table.number("setup_minutes", low=0),
        cautions=_cautions(table, cautions),
        source=table.text("source"),
        vapour=table.flag("vapour"),
        battery_off=table.flag("battery_off", False),
    )
    table.end()
    return place


def read_check_rule(name: str, table: Table, cautions: Mapping[str, Caution]) -> CheckRule:
    rule = CheckRule(
        kind=name,
        words=table.text("words"),
        minutes=table.number("minutes", low=0),
        cautions=_cautions(table, cautions),
        targets=table.texts("targets", ()),
        source=table.text("source"),
        short=table.text("short", ""),
        careful=table.text("careful", ""),
        stopped=table.flag("stopped"),
        key_off=table.text("key_off", ""),
    )
    table.end()
    return rule


def read_point(name: str, table: Table, places: Mapping[str, Place], gauges: Mapping[str, Gauge]) -> Point:
    point = Point(
        id=name,
        words=table.text("words"),
        node=table.text("node", name).lower(),
        place=table.choice("place", places),
        gauge=table.choice("gauge", gauges, ""),
    )
    table.end()
    return point


def read_group(name: str, table: Table, parts: Mapping[str, Part]) -> CommonCauseGroup:
    group = CommonCauseGroup(
        id=name,
        words=table.text("words"),
        parts=table.texts("parts", choices=parts),
        factor=table.number("factor", low=1),
        source=table.text("source"),
    )
    table.end()
    return group


def read_consumer(name: str, table: Table, states: Mapping[str, State]) -> Consumer:
    if name not in CONSUMERS:
        raise table.unknown("", "consumer", name, CONSUMERS)
    consumer = Consumer(
        id=name,
        words=table.text("words"),
        node_a=table.text("node_a").lower(),
        node_b=table.text("node_b").lower(),
        rated_volts=table.number("rated_volts", low=0.1),
        states=table.texts("states", (), states),
    )
    table.end()
    return consumer


def read_regulator(table: Table, cautions: Mapping[str, Caution]) -> Regulator:
    regulator = Regulator(
        contact=table.text("contact").lower(),
        heater=table.text("heater").lower(),
        design_volts=table.text("design_volts"),
        convention=table.choice("convention", CONVENTIONS),
        source=table.text("source"),
        momentary=table.texts("momentary", (), cautions),
        dropout_volts=table.text("dropout_volts", ""),
    )
    if regulator.steady != bool(regulator.dropout_volts):
        raise table.fail("dropout_volts", "goes with a steady regulator, and only with one", "see convention")
    table.end()
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
