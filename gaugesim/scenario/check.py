"""Checks: what a person does with a lead, a wire, a resistor, a lamp or a meter, as a change of the circuit.

Seen from its probes the circuit is a one-port, and a check is what hangs on it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from gaugesim.circuit import Circuit
from gaugesim.errors import WouldBurnError, unknown_name
from gaugesim.scenario.apparatus import (
    JUMPER_OHMS,
    LAMP,
    LAMP_RATED_VOLTS,
    LAMP_RATED_WATTS,
    METER,
    NO_CHECK,
    OHMMETER_OHMS,
    OHMMETER_VOLTS,
    Check,
    Setup,
)
from gaugesim.scenario.check_kinds import CHECK_KINDS, job
from gaugesim.scenario.leads import leads
from gaugesim.scenario.looks import LOOKS, LOOKS_AT_GAUGE, NEEDLE, OTHER_NEEDLE
from gaugesim.sheet import Gauge

__all__ = [
    "CHECK_KINDS",
    "JUMPER_OHMS",
    "LAMP",
    "LAMP_RATED_VOLTS",
    "LAMP_RATED_WATTS",
    "METER",
    "NO_CHECK",
    "OF_A_GAUGE",
    "OHMMETER_OHMS",
    "OHMMETER_VOLTS",
    "ON_A_GAUGE",
    "Check",
    "Setup",
    "find_check",
]

# the key off and on again for a joint that must not spark: assumed
KEY_MINUTES = 0.5
# kinds that speak of "the sender" or "the gauge" and may take the gauge first
OF_A_GAUGE = (
    "unplug_sender",
    "ground_sender_lead",
    "unplug_at_gauge",
    "substitute",
    "sender_lead_volts",
    "lamp_on_sender_lead",
    "sender_ohms",
    "head_ohms",
    "sender_in_water",
    "float_by_hand",
    "bench_gauge",
)
# kinds whose target is a gauge
ON_A_GAUGE = ("feed_direct", "tap")


def find_check(circuit: Circuit, name: str, gauge: str | None = None) -> Check:
    """Read a check's id.

    Parameters
    ----------
    name : str
        ``KIND`` or ``KIND:TARGET``; where a circuit has several gauges, ``KIND:GAUGE`` or
        ``KIND:GAUGE:TARGET``.
    gauge : str, optional
        The gauge complained of, meant where none is named.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    kind, *arguments = name.strip().split(":")
    every = (*CHECK_KINDS, *LOOKS)
    if kind not in every or kind not in circuit.sheet.checks:
        raise unknown_name(
            "check", kind, [known for known in every if known in circuit.sheet.checks], circuit.id
        )
    meant = complained = circuit.gauge(gauge)
    if kind in (*OF_A_GAUGE, *LOOKS_AT_GAUGE) and arguments and arguments[0] in circuit.sheet.gauges:
        meant = circuit.gauge(arguments.pop(0))
    elif kind in OF_A_GAUGE and len(of := _gauges_of(circuit, arguments)) == 1:
        # studs of one gauge are measured on that gauge, whichever is complained of
        (meant,) = map(circuit.gauge, of)
    if kind in ON_A_GAUGE and arguments:
        meant = circuit.gauge(arguments.pop(0))
    name = name.strip()
    work = job(circuit, meant, name, tuple(arguments))
    borne = leads(circuit, (name, meant.id), work.setup)
    if borne.burns:
        problem = f"check {name!r} is none: it would burn {borne.burns}"
        raise WouldBurnError(problem, "", "join nothing to the battery's positive side or to what it feeds")
    rule = circuit.sheet.checks[kind]
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
        # of another gauge only whether it is right is asked
        reads=OTHER_NEEDLE if kind in LOOKS and work.reads == NEEDLE and meant != complained else work.reads,
        meter=work.meter,
        part=work.part,
        leads=borne,
        stopped=vapour or rule.stopped,
        turns=tuple(_filled(turns, filled).split("; ")),
        key_off=_filled(rule.key_off, filled),
    )


def _gauges_of(circuit: Circuit, points: Iterable[str]) -> set[str]:
    """Gauges that points belong to; what is no point belongs to none."""
    known = circuit.sheet.points
    return {known[name].gauge for name in points if name in known} - {""}


def _filled(words: str, texts: Mapping[str, str]) -> str:
    """Words with ``{gauge}`` and the like filled in; other braces stand for themselves."""
    return re.sub(r"\{(\w+)\}", lambda brace: texts.get(brace[1], brace[0]), words)


def _sender_words(circuit: Circuit, gauge: Gauge) -> str:
    """What the gauge's sender is called; one that several gauges share is nobody's."""
    sender = circuit.sheet.parts.get("sender")
    if sender is not None and not sender.gauge and len(circuit.sheet.gauges) > 1:
        return sender.words
    return f"{gauge.called} sender"
