"""A fit for people and programs: what is open, in words; what to measure next, with its cautions; JSON."""

from __future__ import annotations

from typing import Any

import numpy as np

from gaugesim.fitting.design import Measurement
from gaugesim.fitting.estimation import Estimate
from gaugesim.fitting.fit_result import Fit
from gaugesim.notebook import encoded, picked
from gaugesim.scenario.caution import in_order
from gaugesim.scenario.check import find_check
from gaugesim.scenario.kinds.checks import HEAD_OHMS, SENDER_LEAD_VOLTS, SUBSTITUTE
from gaugesim.sheet import roles

# readings that scatter so many times wider than stated are mentioned
POORLY = 1.5


def as_data(fit: Fit) -> dict[str, Any]:
    """A fit as JSON has it.

    Returns
    -------
    dict
        Of texts, lists, finite numbers and None.
    """
    return {
        "gauge": fit.points.gauge,
        "movement": fit.movement,
        "movements": fit.remaining,
        "parameters": encoded(fit.parameters),
        "sender": sender_data(fit),
        "residuals": residual_rows(fit),
        "bad_points": [row for row in residual_rows(fit) if row["bad"]],
        "undetermined": undetermined(fit),
        "next_point": next_point_data(fit),
    }


def sender_data(fit: Fit) -> dict[str, Any] | None:
    """The sender's curve for JSON. None if it was not measured."""
    return picked(fit.sender, "kind parameters") if fit.sender else None


def residual_rows(fit: Fit) -> list[dict[str, Any]]:
    """How far off each point is.

    ``table`` and ``number`` (from 1) in the file, what was ``measured`` and what is ``fitted``, in ``unit``,
    the difference in standard deviations, and whether the point is left out as bad.
    """
    rows: list[tuple[Any, ...]] = []
    if fit.estimates:
        best = fit.estimates[0]
        for row, (kind, number) in enumerate(zip(fit.data.kinds, fit.data.numbers, strict=True)):
            measured, given, unit = _pair(fit, best, kind, number)
            off, bad = float(best.residuals[row]), bool(best.bad[row])
            rows.append((_table(kind), number + 1, measured, given, unit, off, bad))
    if fit.sender is not None:
        for number, point in enumerate(fit.points.sender):
            given, off = float(fit.sender.fitted[number]), float(fit.sender.residuals[number])
            bad = bool(fit.sender.bad[number])
            rows.append(("sender", number + 1, point.ohms, given, "ohm", off, bad))
    names = ("table", "number", "measured", "fitted", "unit", "deviations", "bad")
    return [encoded(dict(zip(names, row, strict=True))) for row in rows]


def _pair(fit: Fit, best: Estimate, kind: str, number: int) -> tuple[float, float | None, str]:
    """What was measured, what the fit gives, and the unit."""
    vector = best.vector[None]
    if kind == "coil":
        point = fit.points.coil[number]
        ohms = best.movement.coil_ohms(vector, point)
        return point.ohms, None if ohms is None else float(ohms[0]), "ohm"
    needle = fit.points.needle[number]
    positions, volts = best.movement.needle(vector, np.array([needle.ohms]), np.array([needle.supply_volts]))
    if kind == "volts":
        return needle.volts, float(volts[0, 0]), "V"
    return needle.position, float(positions[0, 0]), "position"


def undetermined(fit: Fit) -> list[dict[str, Any]]:
    """What the points leave open, in words. ``what`` is ``movement``, ``sender`` or a parameter."""
    listed: list[dict[str, Any]] = []
    if fit.estimates:
        listed += _open_movement(fit)
        for name in fit.open_parameters:
            words = f"the points say little about {name}"
            if name in [part.parameter for part in fit.best.movement.parts]:
                words += ": only how it acts together with the others is settled"
            listed.append({"what": name, "words": words})
        named = [f"{_table(fit.data.kinds[row])} {fit.data.numbers[row] + 1}" for row in fit.best.suspects]
        listed += _poor("readings", fit.best.scale, named)
    else:
        listed.append({"what": "movement", "words": "nothing of the gauge itself was measured"})
    if fit.points.gauge == "voltmeter":
        return listed
    if fit.sender is None:
        listed.append({"what": "sender", "words": "the sender was not measured"})
    else:
        for name in fit.sender.loose:
            listed.append({"what": name, "words": f"no point of the sender settles {name}"})
        named = [f"sender {number + 1}" for number in fit.sender.suspects]
        listed += _poor("sender's points", fit.sender.scale, named)
    return listed


def _poor(what: str, scale: float, suspects: list[str]) -> list[dict[str, Any]]:
    """Words on points that do not go together."""
    if suspects:
        words = f"one of {', '.join(suspects)} is wrong, and nothing tells which: measure them again"
    elif scale > POORLY:
        words = f"the {what} scatter {scale:.1f} times wider than stated"
    else:
        return []
    return [{"what": "points", "words": words}]


def _table(kind: str) -> str:
    """The table of the file that a row comes from."""
    return "coil" if kind == "coil" else "needle"


def _open_movement(fit: Fit) -> list[dict[str, Any]]:
    listed = []
    names = list(fit.remaining)
    for other in names[1:]:
        tells = fit.apart.get((names[0], other)) or fit.apart.get((other, names[0]))
        by = (
            f"; apart by: {measurement_words(fit, tells)}"
            if tells
            else "; nothing at the studs tells them apart"
        )
        share = fit.remaining[other]
        words = f"it may be {other} instead of {names[0]} ({share:.0%}){by}"
        listed.append({"what": "movement", "words": words, "movement": other, "probability": share})
    return listed


def next_point_data(fit: Fit) -> dict[str, Any] | None:
    """The next measurement for JSON. None if nothing would tell more."""
    if fit.next_point is None:
        return None
    what = fit.next_point.measurement
    why = f"to narrow {fit.next_point.parameter} to {fit.next_point.factor:.0%} of its uncertainty"
    if not fit.next_point.parameter:
        why = f"to tell {', '.join(fit.remaining)} apart"
    return {
        "kind": what.kind,
        "ohms": encoded(what.ohms),
        "between": list(what.between) or None,
        "words": measurement_words(fit, what),
        "why": why,
        **picked(fit.next_point, "bits factor"),
        "parameter": fit.next_point.parameter or None,
        "cautions": measurement_cautions(fit, what),
    }


def measurement_words(fit: Fit, what: Measurement) -> str:
    """A measurement as something to do."""
    if what.kind == "needle":
        return f"read the needle with {what.ohms:g} ohm from the sender's lead to ground"
    if what.kind == "volts":
        return "measure the volts of the sender's lead, off the sender, to battery negative"
    if what.kind == "coil":
        first, second = (stud.words for stud in roles().studs.values() if stud.id in what.between)
        between = f"stud {first} and stud {second}"
        return f"measure the ohms between {between}, the gauge off the panel (open counts too)"
    return {
        "sweep": "measure the angle between the low and the top mark with a protractor (sweep_degrees)",
        "studs": "count the studs on the gauge's back (studs)",
        "coils": "count the windings with the gauge's case open (coils)",
    }[what.kind]


def measurement_cautions(fit: Fit, what: Measurement) -> list[str]:
    """Cautions of a measurement, those of the shipped circuit's own check."""
    if what.kind == "sweep":
        return []
    movement = next(each.movement for each in fit.estimates if set(what.between) <= set(each.movement.studs))
    circuit, gauge = movement.circuit, movement.gauge.id
    studs = [f"{movement.prefix}{name}" for name in what.between]
    check = {
        "needle": SUBSTITUTE.check(f"{what.ohms:g}"),
        "volts": SENDER_LEAD_VOLTS.id,
        "coil": HEAD_OHMS.check(*studs),
    }.get(what.kind)
    if check is None:  # the panel comes out to see the studs or to take the gauge apart
        names = circuit.sheet.places[circuit.part(roles().feed_stud, gauge).place].cautions
    else:
        names = find_check(circuit, check, gauge).cautions
    return [caution.words for caution in in_order(circuit, names)]
