"""Why a needle stands where it stands, step by step in words that a class can copy."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.reading.names import amount, branch_words, coil_words, node_words
from gaugesim.reading.reasons import FLOWS_AMPERES, Arrow, GaugeWhy, Run, Why, stands_at
from gaugesim.reading.words import needle_word, quantity
from gaugesim.sheet import Gauge
from gaugesim.vocabulary import enumerated, spoken

# a current or field of less than this share of what it is compared with is hardly any
_HARDLY = 0.02
# currents that differ by less than this share are told as the same
_SAME = 0.02


@dataclass(frozen=True)
class ReasonStep:
    """One step of an explanation."""

    title: str
    lines: tuple[str, ...]


def towards(gauge: Gauge, degrees: float) -> str:
    """Where on the dial, or beside it, a direction points.

    Parameters
    ----------
    degrees : float
        Anticlockwise from the dial's right-hand side.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> gauge = find("temp_opposed_coil").gauge()
    >>> [towards(gauge, degrees) for degrees in (90.0, 0.0, 180.0, 270.0)]
    ['to 0.50 of the scale', 'past the high end', 'past the low end', 'away from the scale']
    """
    span = gauge.degrees_high - gauge.degrees_low
    # the way round that stays nearest to the middle of the scale
    middle = gauge.degrees_low + span / 2
    away = (degrees - middle + 180.0) % 360.0 - 180.0
    position = 0.5 + away / span
    if -0.005 <= position <= 1.005:
        return f"to {abs(position):.2f} of the scale"
    if abs(away) > 150.0:
        return "away from the scale"
    return "past the high end" if position > 1 else "past the low end"


def steps(reasons: Why, gauge: str) -> tuple[ReasonStep, ...]:
    r"""The steps from the supply to the needle.

    Supply, currents, fields or heat or turning, needle; the sound circuit's numbers beside those of a faulty
    one.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.reading import Situation, why
    >>> for step in steps(why(Situation.of(find("temp_opposed_coil"))), "temperature")[2:]:
    ...     print(step.title, *step.lines, sep="\n  ")
    Fields
      reference coil: 73.5 mA times 300 turns is 22.1 ampere-turns to 0.50 of the scale
      bias coil: 88.2 mA times 483 turns is 42.6 ampere-turns past the low end
      sensing coil: 83.4 mA times 600 turns is 50.1 ampere-turns past the high end
      together, as arrows put end to end: 23.3 ampere-turns to 0.71 of the scale
    Needle
      the needle lies along the sum: at three quarters, 0.71
    """
    own = reasons.gauges[gauge]
    sound = reasons.sound.gauges[gauge] if reasons.sound else None
    result = [
        ReasonStep("Supply", tuple(_supply(reasons))),
        ReasonStep("Currents", tuple(_currents(reasons, own, sound))),
    ]
    if own.arrows:
        result.append(ReasonStep("Fields", tuple(_fields(reasons.situation.circuit, own, sound))))
    if own.heat:
        result.append(
            ReasonStep("Heat", tuple(_heat(reasons.situation.circuit, own, sound, _pulses(reasons))))
        )
    if own.turn:
        result.append(ReasonStep("Turning", tuple(_turn(reasons.situation.circuit, own, sound))))
    return (*result, ReasonStep("Needle", tuple(_needle(own, sound))))


def in_short(reasons: Why, gauge: str) -> str:
    """What a fault does to a needle, in one sentence. Empty without a fault.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> from gaugesim.reading import Situation, why
    >>> from gaugesim.scenario.fault import parse_faults
    >>> from gaugesim.scenario.scenarios import stack
    >>> situation = Situation.of(find("temp_opposed_coil"))
    >>> _, change = parse_faults(situation.circuit, ["stud_bias=open"], situation.parameters)
    >>> in_short(why(situation, stack([change])), "temperature")
    'hardly any current in the bias coil and the sensing coil; the reference coil alone is left: needle at \
    half, 0.50, instead of at three quarters, 0.71'
    """
    if reasons.sound is None:
        return ""
    own, sound = reasons.gauges[gauge], reasons.sound.gauges[gauge]
    circuit = reasons.situation.circuit
    changes: dict[str, list[str]] = {}
    for name in own.elements:
        now, before = reasons.currents[name], reasons.sound.currents[name]
        said = _compared(now, before)
        if said:
            changes.setdefault(said, []).append(f"the {coil_words(circuit, name)}")
    parts = [f"{said} in {enumerated(names)}" for said, names in changes.items()]
    alone = _alone(own.arrows)
    if alone and not _alone(sound.arrows):
        parts.append(f"the {coil_words(circuit, alone.element)} alone is left")
    if own.stuck:
        parts.append("the needle is held")
    if any(now.turns != before.turns for now, before in zip(own.arrows, sound.arrows, strict=True)):
        parts.append("less field for the same current")
    result = _stands(own)
    moved = None
    if own.position is not None and sound.position is not None:
        moved = own.position - sound.position
    if moved is not None and abs(moved) < 5e-3:
        result += ", as it should be"
    elif moved is not None and _word(own) == _word(sound):
        way = "higher" if moved > 0 else "lower"
        result = f"{_word(own)}, but {way}: {own.position:.2f} instead of {sound.position:.2f}"
    else:
        result += f", instead of {_stands(sound)}"
    return f"{'; '.join(parts) or 'the currents as they should be'}: needle {result}"


def _compared(now: float, before: float) -> str:
    if abs(before) < FLOWS_AMPERES:
        return "" if abs(now) < FLOWS_AMPERES else "current where there should be none"
    if abs(now) < FLOWS_AMPERES:
        return "no current"
    if abs(now) < _HARDLY * abs(before):
        return "hardly any current"
    if now * before < 0:
        return "current backwards"
    if abs(now / before - 1.0) <= _SAME:
        return ""
    return "more current" if abs(now) > abs(before) else "less current"


def _alone(arrows: Sequence[Arrow]) -> Arrow | None:
    """The one coil that makes nearly all of the field."""
    sizes = [float(np.hypot(arrow.x, arrow.y)) for arrow in arrows]
    strong = [arrow for arrow, size in zip(arrows, sizes, strict=True) if size > _HARDLY * max(sizes)]
    return strong[0] if len(strong) == 1 and len(arrows) > 1 else None


def _stands(own: GaugeWhy) -> str:
    if own.position is None:
        return "driven by nothing"
    return f"{_word(own)}, {own.position:.2f}"


def _word(own: GaugeWhy) -> str:
    return "" if own.position is None else spoken(needle_word(own.gauge, own.position))


def _beside(now: float, before: float | None, unit: str) -> str:
    """A value, and the sound circuit's where that is another."""
    if before is None or amount(now, unit) == amount(before, unit):
        return amount(now, unit)
    return f"{amount(now, unit)} (sound {amount(before, unit)})"


def _pulses(reasons: Why) -> bool:
    unit = reasons.situation.circuit.sheet.regulator
    return unit is not None and not unit.steady and reasons.duty < 1


def _supply(reasons: Why) -> Iterable[str]:
    circuit = reasons.situation.circuit
    posts = [point for name, point in circuit.sheet.points.items() if name == circuit.sheet.live_pole]
    earth = circuit.sheet.earthed_pole.replace("_", " ")
    for point in posts:
        now = reasons.voltages.get(point.node, float("nan"))
        before = reasons.sound.voltages.get(point.node) if reasons.sound else None
        if np.isnan(now):
            yield f"{point.words} is cut off from everything"
        else:
            yield f"{point.words}: {_beside(now, before, 'V')} against {earth}"
    unit = circuit.sheet.regulator
    if unit and len(reasons.situation.phases) > 1:
        held = float(circuit.parameter_values(reasons.situation.parameters)[unit.design_volts])
        if unit.steady:
            yield f"the regulator is made to hold {held:g} V, and does not pulse"
            return
        was = (
            f" (sound {100 * reasons.sound.duty:.0f} %)"
            if reasons.sound and reasons.sound.duty != reasons.duty
            else ""
        )
        kind = "root of the mean square" if unit.convention == "rms" else "mean"
        yield (
            f"the regulator's contact is closed {100 * reasons.duty:.0f} % of the time{was}; "
            f"it is made to hold {held:g} V, {kind}"
        )


def _currents(reasons: Why, own: GaugeWhy, sound: GaugeWhy | None) -> Iterable[str]:
    circuit = reasons.situation.circuit
    for k in own.runs:
        run = reasons.runs[k]
        names = [branch_words(circuit, name) for name in run.branches]
        ends = [_joint(circuit, reasons.runs, run.nodes[i]) for i in (0, -1)]
        yield f"{amount(run.amperes, 'A')}{_before(reasons, run)}: {' > '.join([ends[0], *names, ends[1]])}"
    for name in own.elements:
        if abs(reasons.currents[name]) < FLOWS_AMPERES:
            before = abs(reasons.sound.currents[name]) if reasons.sound and sound else 0.0
            was = f" (sound {amount(before, 'A')})" if before >= FLOWS_AMPERES else ""
            yield f"no current{was} through {branch_words(circuit, name)}"


def _before(reasons: Why, run: Run) -> str:
    """What flows through the parts of a run in the sound circuit, where that is not the same."""
    if reasons.sound is None:
        return ""
    names = [name for name in run.branches if name in reasons.sound.currents]
    if not names:
        return " (sound none)"
    # parts that have one current now may have had several
    ratios = [reasons.sound.currents[name] * np.sign(reasons.currents[name]) for name in names]
    least, most = min(ratios), max(ratios)
    if max(abs(least - run.amperes), abs(most - run.amperes)) <= _SAME * run.amperes:
        return ""
    if max(abs(least), abs(most)) < FLOWS_AMPERES:
        return " (sound none)"
    texts = list(dict.fromkeys(amount(abs(each), "A") for each in (least, most)))
    backwards = ", the other way" if most <= 0 else ""
    return f" (sound {' to '.join(texts)}{backwards})"


def _joint(circuit: Circuit, runs: Sequence[Run], node: str) -> str:
    words = node_words(circuit, node)
    if words:
        return words
    before = next((run.branches[-1] for run in runs if run.nodes[-1] == node), "")
    return f"the joint behind {branch_words(circuit, before)}" if before else node.replace("_", " ")


def _fields(circuit: Circuit, own: GaugeWhy, sound: GaugeWhy | None) -> Iterable[str]:
    gauge = own.gauge
    for k, arrow in enumerate(own.arrows):
        size = float(np.hypot(arrow.x, arrow.y))
        flows = abs(arrow.amperes) >= FLOWS_AMPERES
        current = amount(abs(arrow.amperes), "A") if flows else "no current"
        backwards = " backwards" if flows and arrow.amperes < 0 else ""
        where = f" {towards(gauge, _degrees(arrow.x, arrow.y))}" if flows else ""
        before = ""
        if sound:
            was = float(np.hypot(sound.arrows[k].x, sound.arrows[k].y))
            before = "" if abs(was - size) <= _SAME * was else f" (sound {was:.1f})"
        yield (
            f"{coil_words(circuit, arrow.element)}: {current}{backwards} times {arrow.turns:.3g} turns is "
            f"{size:.1f}{before} ampere-turns{where}"
        )
    if any(gauge.rest):
        where = towards(gauge, _degrees(*gauge.rest))
        yield f"pull-off magnet: {float(np.hypot(*gauge.rest)):.1f} ampere-turns {where}"
    size = float(np.hypot(*own.total))
    if size < gauge.friction:
        yield (
            f"together: {size:.1f} ampere-turns, less than the {gauge.friction:.1f} that friction takes: "
            "nothing drives the needle"
        )
        return
    where = towards(gauge, _degrees(*own.total))
    should = where if sound is None or sound.degrees is None else towards(gauge, sound.degrees)
    beside = "" if should == where else f" (sound {should})"
    yield f"together, as arrows put end to end: {size:.1f} ampere-turns {where}{beside}"


def _degrees(x: float, y: float) -> float:
    return float(np.degrees(np.arctan2(y, x)))


def _heat(circuit: Circuit, own: GaugeWhy, sound: GaugeWhy | None, pulses: bool) -> Iterable[str]:
    heat = own.heat
    assert heat is not None
    before = sound.heat if sound else None
    current = _beside(heat.amperes, before.amperes if before else None, "A")
    watts = _beside(heat.watts, before.watts if before else None, "W")
    winding = quantity(heat.ohms, "ohm")
    square = ", root of the mean square," if pulses else ""
    yield f"{coil_words(circuit, heat.element)}: {current}{square} squared times {winding} is {watts} of heat"
    yield (
        f"the strip bends in proportion to its heat: {amount(heat.low, 'W')} is the low mark of the scale, "
        f"{amount(heat.high, 'W')} the top mark"
    )


def _turn(circuit: Circuit, own: GaugeWhy, sound: GaugeWhy | None) -> Iterable[str]:
    turn = own.turn
    assert turn is not None
    before = sound.turn.amperes if sound and sound.turn else None
    yield (
        f"{coil_words(circuit, turn.element)}: {_beside(turn.amperes, before, 'A')} turns the needle against "
        f"its spring; {amount(turn.low, 'A')} is the low mark of the scale, {amount(turn.high, 'A')} the top "
        "mark"
    )


def _needle(own: GaugeWhy, sound: GaugeWhy | None) -> Iterable[str]:
    was = f"; sound, {_stands(sound)}" if sound and _stands(sound) != _stands(own) else ""
    if own.stuck:
        yield f"the needle is held, whatever drives it: {_stands(own)}{was}"
    elif own.position is None:
        yield f"the needle stays where it was{was}"
    else:
        follows = "lies along the sum" if own.arrows else "follows"
        if stands_at(own) in own.gauge.stops:
            follows = "goes as far as its stop"
        yield f"the needle {follows}: {_stands(own)}{was}"
