"""Checks: what a person does with a lead, a wire, a resistor, a lamp or a meter, as a change of the circuit.

Seen from its probes the circuit is a one-port, and a check is what hangs on it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from gaugesim.circuit import Circuit
from gaugesim.errors import WouldBurnError, unknown_name
from gaugesim.scenario.apparatus import (
    JUMPER_OHMS,
    LAMP,
    LAMP_RATED_VOLTS,
    LAMP_RATED_WATTS,
    METER,
    OHMMETER_OHMS,
    OHMMETER_VOLTS,
    Check,
    Setup,
)
from gaugesim.scenario.kinds import KINDS, Arrangement, Kind, Request
from gaugesim.scenario.lead_ratings import leads
from gaugesim.sheet import Gauge, roles

__all__ = [
    "JUMPER_OHMS",
    "LAMP",
    "LAMP_RATED_VOLTS",
    "LAMP_RATED_WATTS",
    "METER",
    "NO_CHECK",
    "OHMMETER_OHMS",
    "OHMMETER_VOLTS",
    "Check",
    "Setup",
    "find_check",
    "kinds_of",
]

# the key off and on again for a joint that must not spark: assumed
KEY_MINUTES = 0.5


class NothingDone(Kind):
    """The needle is watched and nothing done."""

    def _arrange(self, ask: Request) -> Arrangement:
        return Arrangement()


NO_CHECK = Check("", NothingDone(""), "", "watch the needle", 0.0, (), (), Setup(), "needle")


def kinds_of(circuit: Circuit) -> dict[str, Kind]:
    """Kinds of checks and looks that a circuit's sheet has, by id.

    Raises
    ------
    UnknownNameError
        If it has one that nobody knows.
    """
    for name in circuit.sheet.checks:
        if name not in KINDS:
            raise unknown_name("kind of check", name, KINDS, f"{circuit.sheet.path}: checks.{name}")
    return {name: kind for name, kind in KINDS.items() if name in circuit.sheet.checks}


def find_check(circuit: Circuit, name: str, gauge: str | None = None) -> Check:
    """Read a check's id.

    Parameters
    ----------
    name : str
        ``KIND`` or ``KIND:TARGET``; where a circuit has several gauges, ``KIND:GAUGE`` or
        ``KIND:GAUGE:TARGET``.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    name = name.strip()
    word, *arguments = name.split(":")
    kinds = kinds_of(circuit)
    if word not in kinds:
        raise unknown_name("check", word, kinds, circuit.id)
    kind, complained = kinds[word], circuit.gauge(gauge)
    meant = _meant(circuit, kind, arguments, complained)
    work = kind.arrange(Request(circuit, meant, complained, name, tuple(arguments)))
    borne = leads(circuit, (name, meant.id), work.setup)
    if borne.burns:
        problem = f"check {name!r} is none: it would burn {borne.burns}"
        side = circuit.sheet.live_pole.removeprefix("battery_")
        raise WouldBurnError(problem, "", f"join nothing to the battery's {side} side or to what it feeds")
    rule = circuit.sheet.checks[kind.id]
    places = tuple(dict.fromkeys(work.places))
    cautions = [*rule.cautions, *work.cautions]
    if borne.overheats and circuit.sheet.regulator:
        cautions += circuit.sheet.regulator.momentary
    for place in places:
        cautions += circuit.sheet.places[place].cautions
    vapour = any(circuit.sheet.places[place].vapour for place in places)
    careful = vapour and rule.careful
    # what is only moved by hand has no joint to make or break
    turns = rule.careful if careful or rule.careful.startswith("Key off") else rule.words
    body = circuit.sheet.points.get("body")
    filled = {
        "target": work.target,
        "gauge": meant.called,
        "sender": _sender_words(circuit, meant),
        "ground": body.words if body else "ground",
        "volts": f"{meant.bench_volts:g}",
        "fuse": f"{borne.fuse:g}",
        "watts": f"{borne.watts:g}",
        "limit": f"{borne.supply_amperes:g}",
    }
    return Check(
        id=name,
        kind=kind,
        gauge=meant.id,
        words=_filled(rule.careful if careful else rule.words, filled),
        minutes=rule.minutes + (KEY_MINUTES if careful else 0.0),
        places=places,
        cautions=tuple(dict.fromkeys(cautions)),
        setup=work.setup,
        reads=work.reads or kind.reads,
        meter=work.meter,
        part=work.part,
        leads=borne,
        stopped=vapour or rule.stopped,
        turns=tuple(_filled(turns, filled).split("; ")),
        key_off=_filled(rule.key_off, filled),
        short=_filled(rule.short, filled) or f"at {name}",
    )


def _meant(circuit: Circuit, kind: Kind, arguments: list[str], complained: Gauge) -> Gauge:
    """The gauge that a check speaks of, its name taken off the check's arguments."""
    if not kind.takes_gauge or not arguments:
        return complained
    if arguments[0] in circuit.sheet.gauges or kind.targets == ":GAUGE":
        return circuit.gauge(arguments.pop(0))
    # studs of one gauge are measured on that gauge, whichever is complained of
    points = [circuit.sheet.points[name] for name in arguments if name in circuit.sheet.points]
    gauges = {point.gauge for point in points if point.gauge}
    return circuit.gauge(*gauges) if len(gauges) == 1 else complained


def _filled(words: str, texts: Mapping[str, str]) -> str:
    """Words with ``{gauge}`` and the like filled in; other braces stand for themselves."""
    return re.sub(r"\{(\w+)\}", lambda brace: texts.get(brace[1], brace[0]), words)


def _sender_words(circuit: Circuit, gauge: Gauge) -> str:
    """What the gauge's sender is called; one that several gauges share is nobody's."""
    sender = circuit.sheet.parts.get(roles().sender)
    if sender is not None and not sender.gauge and len(circuit.sheet.gauges) > 1:
        return sender.words
    return f"{gauge.called} sender"
