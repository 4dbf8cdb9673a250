"""The kinds of checks: each a small function that says what comes apart, what is added and what is read."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.scenario.apparatus import (
    FUSED_LEAD_OHMS,
    JUMPER_OHMS,
    LAMP,
    METER,
    OHMMETER_OHMS,
    OHMMETER_VOLTS,
    Setup,
)
from gaugesim.scenario.fault import exchanged
from gaugesim.scenario.looks import LOOKS, look
from gaugesim.scenario.request import Job, Request
from gaugesim.sheet import Gauge, Part, Point
from gaugesim.solve.network import GROUND, Path


def _wire(node_a: str, node_b: str, ohms: float = JUMPER_OHMS, name: str = "wire") -> Path:
    return Path(name, node_a, node_b, ohms)


def _ohmmeter(node_a: str, node_b: str) -> Path:
    return Path(METER, node_a, node_b, OHMMETER_OHMS, -OHMMETER_VOLTS)


def _lamp(node: str) -> Path:
    return Path(LAMP, node, GROUND, np.inf)


def _unplug_sender(ask: Request) -> Job:
    ask.need(0, 0, "")
    return Job(Setup(branches=ask.off), places=(ask.connector.place,))


def _ground_sender_lead(ask: Request) -> Job:
    ask.need(0, 1, " or ground_sender_lead:POINT")
    default = "engine_block" if "engine_block" in ask.circuit.sheet.points else "body"
    point = ask.point(ask.arguments[0] if ask.arguments else default)
    wire = _wire(ask.lead.node, point.node)
    places = (ask.connector.place,) if not ask.arguments else (ask.connector.place, point.place)
    return Job(Setup(branches=ask.off, paths=(wire,)), target=point.words, places=places)


def _ground_at(ask: Request) -> Job:
    ask.need(1, 1, ":POINT")
    point = ask.point(ask.arguments[0])
    return Job(Setup(paths=(_wire(point.node, GROUND),)), target=point.words, places=(point.place,))


def _unplug_at_gauge(ask: Request) -> Job:
    ask.need(0, 0, "")
    stud = ask.part("stud_sender")
    return Job(Setup(branches={stud.element: np.inf}), places=(stud.place,))


def _substitute(ask: Request) -> Job:
    ask.need(1, 1, ":OHMS")
    ohms = ask.number(ask.arguments[0], "ohms", 0.0, 1e9)
    resistor = _wire(ask.lead.node, GROUND, ohms, "resistor")
    return Job(Setup(branches=ask.off, paths=(resistor,)), target=f"{ohms:g}", places=(ask.connector.place,))


def _sender_lead_volts(ask: Request) -> Job:
    ask.need(0, 0, "")
    meter = ask.voltmeter(ask.lead.node, GROUND)
    return Job(Setup(branches=ask.off, paths=(meter,)), "volts", places=(ask.connector.place,))


def _volts_at(ask: Request) -> Job:
    ask.need(1, 1, ":POINT")
    point = ask.point(ask.arguments[0])
    return Job(Setup(paths=(ask.voltmeter(point.node, GROUND),)), "volts", point.words, (point.place,))


def _drop_across(ask: Request) -> Job:
    ask.need(1, 1, ":PART")
    part = ask.electric(ask.arguments[0])
    return Job(Setup(paths=(ask.voltmeter(*ask.ends(part)),)), "volts", part.words, (part.place,))


def _two_points(ask: Request) -> tuple[Point, Point, str]:
    ask.need(2, 2, ":POINT:POINT")
    first, second = (ask.point(name) for name in ask.arguments)
    if first.node == second.node:
        raise ask.fail(f"{first.id} and {second.id} are the same point", "name two different ones")
    return first, second, f"{first.words} and {second.words}"


def _drop_between(ask: Request) -> Job:
    first, second, words = _two_points(ask)
    setup = Setup(paths=(ask.voltmeter(first.node, second.node),))
    return Job(setup, "volts", words, (first.place, second.place))


def _lamp_at(ask: Request) -> Job:
    ask.need(1, 1, ":POINT")
    point = ask.point(ask.arguments[0])
    return Job(Setup(paths=(_lamp(point.node),)), "lamp", point.words, (point.place,))


def _lamp_on_sender_lead(ask: Request) -> Job:
    ask.need(0, 0, "")
    setup = Setup(branches=ask.off, paths=(_lamp(ask.lead.node),))
    return Job(setup, "lamp", places=(ask.connector.place,))


def _alone(ask: Request, part: Part) -> Setup:
    """A part with one end free, on the ohmmeter."""
    return Setup(paths=(_ohmmeter(*ask.ends(part)),), kept=(part.element,), dead=True)


def _ohms_across(ask: Request) -> Job:
    ask.need(1, 1, ":PART")
    part = ask.electric(ask.arguments[0])
    return Job(_alone(ask, part), "ohms", part.words, (part.place,))


def _ohms_between(ask: Request) -> Job:
    first, second, words = _two_points(ask)
    setup = Setup(paths=(_ohmmeter(first.node, second.node),), dead=True)
    return Job(setup, "ohms", words, (first.place, second.place))


def _sender_ohms(ask: Request) -> Job:
    ask.need(0, 0, "")
    sender = ask.part("sender")
    return Job(_alone(ask, sender), "ohms", places=(ask.connector.place,))


def _head_ohms(ask: Request) -> Job:
    first, second, words = _two_points(ask)
    setup = Setup(
        paths=(_ohmmeter(first.node, second.node),), kept=ask.circuit.gauge_elements(ask.gauge), dead=True
    )
    return Job(setup, "ohms", words, (first.place,))


def _sender_out(ask: Request, unit: str, low: float, high: float, words: str) -> Job:
    ask.need(1, 1, f":{unit.upper()}")
    quantity = ask.circuit.sheet.quantities[ask.gauge.reads]
    if (quantity.unit == "celsius") != (unit == "celsius"):
        raise ask.fail(
            f"the {ask.gauge.id} gauge reads {quantity.words}", "choose the check that fits its sender"
        )
    value = ask.number(ask.arguments[0], unit, low, high)
    given = {ask.gauge.reads: value}
    sender = ask.part("sender")
    # its body hangs on a clip lead to the engine while it is out
    wired = Setup(parameters=given, branches={ask.part("sender_ground").element: JUMPER_OHMS})
    meter = Setup(parameters=given, paths=(_ohmmeter(*ask.ends(sender)),), kept=(sender.element,), dead=True)
    return Job(wired, "ohms", words.format(value), (sender.place,), meter)


def _bench_gauge(ask: Request) -> Job:
    ask.need(1, 1, ":OHMS")
    ohms = ask.number(ask.arguments[0], "ohms", 0.0, 1e9)
    studs = {
        name: ask.circuit.point(name, ask.gauge.id).node
        for name in ("stud_feed", "stud_sender", "stud_ground", "stud_bias", "stud_tap")
        if _has_point(ask, name)
    }
    paths = [
        ask.supply(studs["stud_feed"]),
        _wire(studs["stud_sender"], GROUND, ohms, "resistor"),
    ]
    if "stud_ground" in studs:
        paths.append(_wire(studs["stud_ground"], GROUND, name="ground_lead"))
    if "stud_bias" in studs:
        paths.append(_wire(studs["stud_feed"], studs["stud_bias"], name="bias_lead"))
    setup = Setup(paths=tuple(paths), kept=ask.circuit.gauge_elements(ask.gauge))
    return Job(setup, target=f"{ohms:g}", places=(ask.part("stud_sender").place,))


def _has_point(ask: Request, name: str) -> bool:
    points = ask.circuit.sheet.points
    return name in points or f"{ask.gauge.id}_{name}" in points


def _jumper_across(ask: Request) -> Job:
    ask.need(1, 1, ":PART")
    part = ask.electric(ask.arguments[0])
    return Job(
        Setup(paths=(_wire(*ask.ends(part)),)),
        target=part.words,
        places=(part.place,),
        cautions=part.bridging,
    )


def _jumper_between(ask: Request) -> Job:
    first, second, words = _two_points(ask)
    return Job(
        Setup(paths=(_wire(first.node, second.node),)), target=words, places=(first.place, second.place)
    )


def _feed_direct(ask: Request) -> Job:
    ask.need(0, 0, ":GAUGE")
    stud = ask.point("stud_feed")
    if ask.circuit.sheet.regulator and ask.gauge.movement == "bimetal":
        # off the foil, which would feed the others, and on its own voltage
        off = {ask.part("stud_feed").element: np.inf}
        return Job(Setup(branches=off, paths=(ask.supply(stud.node),)), places=(stud.place,))
    feed = ask.point(ask.circuit.sheet.live_pole)
    lead = _wire(feed.node, stud.node, FUSED_LEAD_OHMS, "fused_lead")
    return Job(Setup(paths=(lead,)), places=(stud.place,))


def _wiggle(ask: Request) -> Job:
    ask.need(1, 1, ":PART")
    part = ask.part(ask.arguments[0])
    return Job(reads="jump", target=part.words, places=(part.place,), part=part.id)


def _tap(ask: Request) -> Job:
    ask.need(0, 0, ":GAUGE")
    # a loose stud answers to a tap on the glass as the movement itself does
    places = ("dash",) if "dash" in ask.circuit.sheet.places else ()
    return Job(reads="jump", places=places, part=f"gauge:{ask.gauge.id}")


def _swap_sender_leads(ask: Request) -> Job:
    gauges = ask.arguments or tuple(ask.circuit.sheet.gauges)
    if len(gauges) != 2:
        raise ask.fail(f"{len(gauges)} gauges", "write swap_sender_leads:A:B with two gauges")
    first, second = (ask.circuit.gauge(name).id for name in gauges)
    if first == second:
        raise ask.fail("both gauges are the same", "name two different ones")
    connectors = [ask.circuit.part("sender_connector", name) for name in (first, second)]
    if connectors[0] == connectors[1]:
        raise ask.fail(f"{first} and {second} are on one sender", "name gauges with senders of their own")
    opened, joined = exchanged(ask.circuit, first, second, "sender_connector", ask.circuit.values({}))
    paths = tuple(
        Path(f"exchanged_{i}", a, b, float(ohms)) for i, ((a, b), ohms) in enumerate(joined.items())
    )
    places = tuple(connector.place for connector in connectors)
    words = " and ".join(name.replace("_", " ") for name in (first, second))
    return Job(Setup(branches=dict.fromkeys(opened, np.inf), paths=paths), target=words, places=places)


def _look_at(ask: Request) -> Job:
    ask.need(1, 1, ":PART")
    part = ask.part(ask.arguments[0])
    return Job(reads="look", target=part.words, places=(part.place,), part=part.id)


_KINDS: dict[str, Callable[[Request], Job]] = {
    "unplug_sender": _unplug_sender,
    "ground_sender_lead": _ground_sender_lead,
    "ground_at": _ground_at,
    "unplug_at_gauge": _unplug_at_gauge,
    "substitute": _substitute,
    "sender_lead_volts": _sender_lead_volts,
    "volts_at": _volts_at,
    "drop_across": _drop_across,
    "drop_between": _drop_between,
    "lamp_at": _lamp_at,
    "lamp_on_sender_lead": _lamp_on_sender_lead,
    "ohms_across": _ohms_across,
    "ohms_between": _ohms_between,
    "sender_ohms": _sender_ohms,
    "head_ohms": _head_ohms,
    "sender_in_water": partial(_sender_out, unit="celsius", low=-20.0, high=110.0, words="{:g}"),
    "float_by_hand": partial(_sender_out, unit="level", low=0.0, high=1.0, words="{:.0%}"),
    "bench_gauge": _bench_gauge,
    "jumper_across": _jumper_across,
    "jumper_between": _jumper_between,
    "feed_direct": _feed_direct,
    "wiggle": _wiggle,
    "tap": _tap,
    "swap_sender_leads": _swap_sender_leads,
    "look_at": _look_at,
}
CHECK_KINDS = tuple(_KINDS)


def job(circuit: Circuit, gauge: Gauge, check: str, arguments: tuple[str, ...]) -> Job:
    """Work out what a check does.

    Parameters
    ----------
    check : str
        The check as written, ``KIND`` or ``KIND:TARGET``, for errors.
    arguments : tuple of str
        What follows the kind and the gauge.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    kind, request = check.partition(":")[0], Request(circuit, gauge, check, arguments)
    return look(kind, request) if kind in LOOKS else _KINDS[kind](request)
