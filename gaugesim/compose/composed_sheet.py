"""The sheet of a composed circuit: shared sheets, and beside them what this vehicle has of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from gaugesim.compose.choose import ChosenGauge, same_range
from gaugesim.compose.circuit_text import PROCESS, USUAL_RETURN, called, design, ground_words
from gaugesim.compose.kinds import load_kinds
from gaugesim.compose.layout import SECOND, Mounted, VehicleLayout
from gaugesim.compose.scale import FRICTION, Scale
from gaugesim.compose.senders import TRACK, Sender
from gaugesim.compose.system import Tables, adapted, differing, included, piece
from gaugesim.compose.toml_writer import toml_text
from gaugesim.movement import MOVEMENTS
from gaugesim.sheet import roles

# above this share of the severities a wrong sender is one of the published ranges, below it any multiple
_OTHER_RANGES_FROM = 0.4
_COMMON = "common practice, no source"
_TABLES = (
    *("kinds", "process", "values", "states", "cautions", "places", "gauges", "points", "parts", "groups"),
    *("consumers", "checks"),
)
_GAUGE_WORDS = {
    "temperature": "coolant temperature gauge",
    "fuel": "fuel gauge",
    "oil_pressure": "oil pressure gauge",
    "voltmeter": "voltmeter",
}
_FUEL_LABELS = ("E", "1/4", "1/2", "3/4", "F")
# time constants as of the worked examples: typical, assumed
_HEATER_LAG, _FUEL_LAG, _LAG = 10, 2, 0.5
# the common E12 series from 4.7 to 680 ohm: what a resistor in place of a sender can be
_E12 = tuple(
    round(value * decade, 1)
    for decade in (1, 10, 100)
    for value in (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
    if 4.7 <= value * decade <= 680
)


def sheet_text(
    layout: VehicleLayout, senders: Mapping[str, Sender], scales: Mapping[str, Scale], title: str
) -> str:
    """The sheet.

    Parameters
    ----------
    senders, scales : mapping
        From quantity to its sender, from gauge to its scale.
    """
    vehicle, pieces = layout.whole.vehicle, layout.sheet_pieces
    base = included(pieces)
    tables: Tables = {name: dict(entries) for name, entries in base.items()}

    def add(table: str, entries: Mapping[str, Any]) -> None:
        tables.setdefault(table, {}).update(entries)

    add("states", _states(layout))
    add("gauges", {g.id: _gauge(layout, g, senders, scales[g.id]) for g in layout.gauges})
    for gauge in layout.gauges:
        add("points", _points(layout, gauge))
        add("parts", _parts(layout, gauge))
    add("parts", _shared_parts(layout))
    if layout.regulated and layout.boat:
        add("points", {"regulator_in": {**base["points"]["regulator_in"], "node": "panel_feed"}})
    add("parts", _sender_parts(layout, base))
    add("groups", _groups(layout))
    add("checks", _checks(layout))
    add("process", _process(layout, base))
    if not layout.regulated and any(choice.movement.id == "bimetal" for choice in layout.whole.choices):
        heaters = piece("shared/regulator.toml")
        # with no regulator the battery's voltage is the gauge's own
        add("checks", {name: each for name, each in heaters["checks"].items() if name != "feed_direct"})
        add(
            "cautions",
            {name: each for name, each in heaters["cautions"].items() if name != "regulated_gauge"},
        )
    own = differing(adapted(tables, vehicle.volts, vehicle.earth), base)
    head: dict[str, Any] = {"words": title, "movement": _movements(layout)}
    wiring = layout.whole.vehicle.wiring
    head |= {"craft": "boat" if wiring == "boat" else "land"} if wiring else {}
    head |= {"volts": vehicle.volts} if vehicle.volts != 12 else {}
    head |= {"earth": vehicle.earth} if vehicle.earth == "positive" else {}
    head |= {"include": list(pieces), "default_state": "running_warm", "make_spread": 1.0}
    kind = layout.whole.family.words
    note = f"# Composed: {kind}. What was not said is typical of that kind; check it on the vehicle.\n"
    return note + toml_text(head, {name: own[name] for name in _TABLES if name in own})


def _movements(layout: VehicleLayout) -> str:
    kinds = {choice.quantity: choice.movement.words for choice in layout.whole.choices}
    if len(set(kinds.values())) == 1:
        return next(iter(kinds.values()))
    return "; ".join(f"{quantity.replace('_', ' ')} {words}" for quantity, words in kinds.items())


def _states(layout: VehicleLayout) -> dict[str, Any]:
    """The common states, without what this vehicle has no gauge for."""
    shown = {PROCESS[choice.quantity] for choice in layout.whole.choices if choice.quantity in PROCESS}
    missing = set(PROCESS.values()) - shown
    result = {}
    for name, state in piece("shared/cluster_states.toml")["states"].items():
        if name.startswith("tank_") and "fuel_level" in missing:
            continue
        for key in ("set", "plus_minus"):
            if key in state:
                state[key] = {k: value for k, value in state[key].items() if k not in missing}
        if "certain" in state:
            state["certain"] = [process for process in state["certain"] if process not in missing]
        for key in ("plus_minus", "certain"):
            if not state.get(key, True):
                del state[key]
        result[name] = state
    return result


def _gauge(
    layout: VehicleLayout, gauge: Mounted, senders: Mapping[str, Sender], scale: Scale
) -> dict[str, Any]:
    choice = gauge.choice
    kind, family, sender = choice.movement, MOVEMENTS[choice.movement.family], senders[choice.quantity]
    parts = [part for part in kind.parts if part.degrees is not None]
    station = {SECOND: "second station's ", "temperature": "main station's "} if layout.two_stations else {}
    entry: dict[str, Any] = {
        "words": station.get(gauge.id, "") + _GAUGE_WORDS[choice.quantity],
        "movement": family.id,
        "topology": kind.words,
        "instance": f"x{gauge.id}",
    }
    if station:
        entry["called"] = f"{station[gauge.id]}temperature"
    if family.winding:
        entry["element"] = f"r.x{gauge.id}.{family.winding}"
    entry["reads"] = PROCESS.get(choice.quantity, "battery_volts")
    entry |= dict(zip(family.constants, (scale.low, scale.top), strict=False))
    entry["stops"] = list(family.stops)
    entry |= {"friction": FRICTION} if "friction" in family.constants else {}
    lag = _HEATER_LAG if family.heats else _FUEL_LAG if choice.quantity == "fuel" else _LAG
    bench = layout.whole.regulator if choice.regulated else layout.whole.vehicle.volts
    entry |= {"accuracy": family.accuracy, "bench_volts": bench, "lag_seconds": lag}
    entry["source"] = f"{kind.source}; wound for the sender, marks where the sound needle stands"
    if family.along_field:
        made = design(layout, gauge)
        turns = [turn for part, turn in zip(kind.parts, made.turns, strict=True) if part.degrees is not None]
        entry["coils"] = [
            {"element": f"r.x{gauge.id}.r{part.parameter}", "turns": turn, "degrees": part.degrees}
            for part, turn in zip(parts, turns, strict=True)
        ]
    labels = _FUEL_LABELS if choice.quantity == "fuel" else [f"{at:.3g}" for at in sender.at]
    entry["marks"] = [
        {"at": round(at, 4), "position": position, "label": label}
        for at, position, label in zip(sender.at, scale.positions, labels, strict=True)
    ]
    return entry


def _panel(gauge: Mounted) -> str:
    return "second_station" if gauge.id == SECOND else "behind_panel"


def _points(layout: VehicleLayout, gauge: Mounted) -> dict[str, Any]:
    """Studs that the shared sheets do not have."""
    points = {"feed", "sender", "ground"} if layout.single else {"feed", "sender"}
    points = set() if gauge.choice.quantity == "voltmeter" else points
    owner = "" if layout.single else f"the {called(gauge)}'s "
    return {
        f"{gauge.prefix}{roles().studs[stud].id}": {
            "words": f"{owner}stud {roles().studs[stud].words}",
            "place": _panel(gauge),
            "gauge": gauge.id,
        }
        for stud in gauge.choice.movement.studs
        if stud not in points
    }


def _parts(layout: VehicleLayout, gauge: Mounted) -> dict[str, Any]:
    """Studs, windings and wires of a gauge's own that the shared sheets do not have."""
    choice, p, panel = gauge.choice, gauge.prefix, _panel(gauge)
    own = {"gauge": gauge.id, "place": panel}
    name = "second station's gauge" if gauge.id == SECOND else called(gauge)
    where = "in the gauge" if layout.single else f"in the {name}"
    result: dict[str, Any] = {
        # a ground that touches the frame is no fault
        name: {"words": f"nut on {point['words']}", "kind": "stud_nut", **own}
        | ({"without": ["to_ground"]} if name.endswith("stud_ground") else {})
        for name, point in _points(layout, gauge).items()
    }
    if choice.quantity == "voltmeter":
        result[f"{p}movement"] = {"words": "needle of the voltmeter", "kind": "movement", **own}
    for part in choice.movement.parts:
        element = f"r.x{gauge.id}.r{part.parameter}"
        result[f"{p}{part.id}"] = {
            "words": f"{part.words} {where}",
            "kind": part.kind,
            **own,
            "element": element,
        }
    if "tap" in choice.movement.studs:
        for half in ("feed", "ground"):
            result[f"{p}divider_{half}"] = {
                "words": f"{half} half of the divider beside the {called(gauge)}",
                "kind": "series_resistor",
                **own,
                "repair": "replace the divider",
                "repair_minutes": 15,
                "price": 5,
            }
    if layout.feed(gauge) == f"{gauge.id}_feed_near":
        words = f"feed wire of the {called(gauge)} alone"
        result[f"{p}feed_wire"] = {"words": words, "kind": "feed_wire", **own, "place": "harness"}
    if layout.ground(gauge) == f"{gauge.id}_ground_near" and "ground" in choice.movement.studs:
        result[f"{p}panel_ground"] = {
            "words": f"ground wire of the {called(gauge)} alone",
            "kind": "cable",
            **own,
            "repair": "clean and tighten both ends of the ground wire",
        }
    return result


def _shared_parts(layout: VehicleLayout) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for what in ("feed", "ground"):
        if layout.has_foil(what):
            result[f"foil_{what}"] = {
                "words": f"{what} track of the foil",
                "kind": "foil",
                "place": "behind_panel",
            }
    if layout.regulated and layout.boat:
        words = "wire from the regulator to the gauges"
        result["foil_feed"] = {"words": words, "kind": "pin", "place": "behind_panel"}
    shown = [gauge.id for gauge in layout.gauges]
    if "temperature" in shown and "oil_pressure" in shown:
        result["sender_leads"] = {
            "words": "sender leads of the temperature and oil pressure gauges",
            "kind": "leads",
            "crosses": ["temperature", "oil_pressure"],
            "place": "engine",
        }
    if layout.single and {"feed", "sender", "ground"} <= {*layout.gauges[0].choice.movement.studs}:
        result["gauge_leads"] = {
            "words": "leads on studs I and S",
            "kind": "leads",
            "gauge": layout.gauges[0].id,
            "crosses": ["stud_feed", "stud_sender"],
            "place": "behind_panel",
        }
    if "fuel" in shown and "temperature" in shown:
        result["gauge_leads"] = {
            "words": "leads of the fuel and temperature gauges' studs S",
            "kind": "leads",
            "crosses": ["fuel", "temperature"],
            "place": "behind_panel",
            "weight": 0.2,
        }
    return result


def _sender_parts(layout: VehicleLayout, base: Tables) -> dict[str, Any]:
    """Senders whose wrong range follows from the right one, and how they are grounded if not as usual."""
    result: dict[str, Any] = {}
    for gauge in layout.gauges:
        choice, p = gauge.choice, gauge.sender_prefix
        if choice.quantity == "fuel":
            result[f"{p}sender"] = {
                "words": "sender in the tank" if layout.single else "fuel sender",
                "kind": "float_sender",
                "gauge": "fuel",
                "element": f"r.x{p}sender.rtrack",
                "place": "tank",
                "modes": {"wrong_range": _wrong_range(choice)},
            }
        if choice.quantity in USUAL_RETURN and choice.sender_ground != USUAL_RETURN[choice.quantity]:
            entry = dict(base["parts"][f"{p}sender_ground"])
            entry |= {
                "words": ground_words(choice),
                "repair": "clean and tighten both ends of the ground wire",
            }
            if choice.sender_ground == "thread":
                entry["repair"] = "clean the flange and its seat"
            result[f"{p}sender_ground"] = entry
    return result


def _wrong_range(choice: ChosenGauge) -> dict[str, Any]:
    """A sender fitted by mistake: a multiple of the right ohms, or a published range."""
    wrong = [ohms for ohms in load_kinds().ranges if not same_range(ohms, choice.ohms)][:4]
    steps = np.linspace(_OTHER_RANGES_FROM, 1.0, len(wrong) + 1)[1:-1]

    def chosen(i: int, name: str) -> str:
        text = f"{wrong[-1][i]:g}"
        for step, ohms in zip(steps[::-1], wrong[-2::-1], strict=True):
            text = f"x < {step:.3g} ? {ohms[i]:g} : {text}"
        return f"x < {_OTHER_RANGES_FROM:g} ? {name}*exp(7*(x - 0.2)) : {text}"

    return {
        "words": "is of another range than the gauge",
        "x": [0.0, 1.0],
        "typical": 0.5,
        "set": {name: chosen(i, name) for i, name in enumerate(TRACK)},
        "weight": 0.1,
        "found": ["sound"],
        "source": "ranges as boating pages give them (source withheld, unverifiable); shares assumed",
    }


def _groups(layout: VehicleLayout) -> dict[str, Any]:
    studs = {
        gauge: [f"{gauge.prefix}stud_{stud}" for stud in gauge.choice.movement.studs]
        for gauge in layout.gauges
    }
    result: dict[str, Any] = {}

    def group(name: str, words: str, parts: list[str], factor: float) -> None:
        if len(parts) > 1:
            result[name] = {"words": words, "parts": parts, "factor": factor, "source": _COMMON}

    for gauge, names in studs.items():
        owner = "the gauge" if layout.single else f"the {called(gauge)}"
        group(f"{gauge.prefix}studs", f"the nuts of {owner} slacken together", names, 12)
    if len(studs) > 1:
        everything = [name for names in studs.values() for name in names]
        group("neighbouring_studs", "the nuts of neighbouring gauges slacken with the years", everything, 4)
    if layout.single or layout.two_stations:
        return result
    with_sender = [gauge for gauge in layout.gauges if gauge.choice.quantity in PROCESS]
    in_engine = [gauge for gauge in with_sender if gauge.choice.quantity != "fuel"]
    if layout.boat:
        pins = ["harness_plug_feed", "harness_plug_ground"]
        pins += [f"{gauge.prefix}harness_plug_sender" for gauge in in_engine]
        group("harness_plug", "the pins of the engine harness plug corrode together", pins, 12)
    else:
        pins = ["panel_connector_feed", "panel_connector_ground"]
        pins += [f"{gauge.prefix}panel_connector_sender" for gauge in with_sender]
        group("panel_plug", "the pins of the panel connector corrode together", pins, 12)
    if in_engine:
        damp = [f"{gauge.prefix}sender_{end}" for gauge in in_engine for end in ("connector", "ground")]
        factor = 6 if layout.boat else 5
        group("engine_damp", "water at the engine", [*damp, "engine_strap"], factor)
    return result


def _checks(layout: VehicleLayout) -> dict[str, Any]:
    """Resistors in place of the sender: within its range where a winding could be overheated."""
    choices = [choice for choice in layout.whole.choices if choice.ohms]
    if not choices:
        return {}
    heater = any(choice.movement.id == "bimetal" for choice in choices)
    most = max(max(choice.ohms) for choice in choices)
    least = max(min(min(choice.ohms) for choice in choices), 4.7)
    rules = included(layout.sheet_pieces)["checks"]
    if not heater and 150 <= most <= 400:
        return {}
    fitting = [value for value in _E12 if least * (0.95 if heater else 0.5) <= value <= 1.25 * most]
    step = max(1, len(fitting) // 4)
    few = fitting[::step][:5]
    result = {}
    for kind, rule in rules.items():
        if "{watts}" in rule["words"]:
            targets = few if len(rule["targets"]) > 2 else [few[0], few[-1]]
            source = "assumed; values of the E12 series within the sender's range"
            result[kind] = {**rule, "targets": [f"{value:g}" for value in targets], "source": source}
    return result


def _process(layout: VehicleLayout, base: Tables) -> dict[str, Any]:
    """Process values that go further than usual on this scale."""
    result: dict[str, Any] = {}
    for choice in layout.whole.choices:
        name = PROCESS.get(choice.quantity, "")
        if name in base["process"] and choice.scale[1] > base["process"][name]["high"]:
            result[name] = {**base["process"][name], "high": choice.scale[1]}
    return result
