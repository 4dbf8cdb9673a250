"""Checks: what a person does with a lead, a wire, a resistor, a lamp or a meter, as a change of the circuit.

Seen from its probes the circuit is a one-port, and a check is what hangs on it.
"""

from __future__ import annotations

import re

from gaugesim.circuit import Circuit
from gaugesim.errors import unknown_name
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
from gaugesim.sheet.gauges import Gauge

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
    circuit : Circuit
    name : str
        ``KIND`` or ``KIND:TARGET``; where a circuit has several gauges, ``KIND:GAUGE`` or
        ``KIND:GAUGE:TARGET``.
    gauge : str, optional
        The gauge complained of, meant where none is named.

    Returns
    -------
    Check

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    kind, *arguments = name.strip().split(":")
    if kind not in CHECK_KINDS or kind not in circuit.sheet.checks:
        raise unknown_name(
            "check", kind, [known for known in CHECK_KINDS if known in circuit.sheet.checks], circuit.id
        )
    meant = circuit.gauge(gauge)
    if kind in OF_A_GAUGE and arguments and arguments[0] in circuit.sheet.gauges:
        meant = circuit.gauge(arguments.pop(0))
    if kind in ON_A_GAUGE and arguments:
        meant = circuit.gauge(arguments.pop(0))
    work = job(circuit, meant, name.strip(), tuple(arguments))
    rule = circuit.sheet.checks[kind]
    places = tuple(dict.fromkeys(work.places))
    cautions = [*rule.cautions, *work.cautions]
    for place in places:
        cautions += circuit.sheet.places[place].cautions
    return Check(
        id=name.strip(),
        kind=kind,
        gauge=meant.id,
        words=_filled(
            rule.words, target=work.target, gauge=meant.called, sender=_sender_words(circuit, meant)
        ),
        minutes=rule.minutes,
        places=places,
        cautions=tuple(dict.fromkeys(cautions)),
        setup=work.setup,
        reads=work.reads,
        meter=work.meter,
        part=work.part,
    )


def _filled(words: str, **texts: str) -> str:
    """Words with ``{gauge}`` and the like filled in; other braces stand for themselves."""
    return re.sub(r"\{(\w+)\}", lambda brace: texts.get(brace[1], brace[0]), words)


def _sender_words(circuit: Circuit, gauge: Gauge) -> str:
    """What the gauge's sender is called; one that several gauges share is nobody's."""
    sender = circuit.sheet.parts.get("sender")
    if sender is not None and not sender.gauge and len(circuit.sheet.gauges) > 1:
        return sender.words
    return f"{gauge.called} sender"
