"""Bind the entries of a case to a circuit: which observation each one is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from gaugesim.case import WHOLES, Case, Entry, Inspected, Measured, Replaced, Seen, Value
from gaugesim.errors import CaseError, GaugesimError
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.evidence.cells import Cells, Prediction
from gaugesim.evidence.observation import Number, Observation, Told
from gaugesim.reading import Situation, respond
from gaugesim.reading.words import NEEDLE_WORDS
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import Fault, Pair
from gaugesim.sheet import FOUND, Gauge
from gaugesim.solve.network import Floats

# parts whose contacts are disturbed when a part is replaced, by id without the gauge's name
_DISTURBED = {
    "sender": ("sender_connector", "sender_ground"),
    "sender_connector": ("sender_wire", "sender"),
    "sender_wire": ("sender_connector", "panel_connector_sender"),
    "gauge": (
        "stud_feed",
        "stud_sender",
        "stud_ground",
        "stud_bias",
        "stud_tap",
        "foil_feed",
        "foil_sender",
        "foil_ground",
    ),
    "panel": ("panel_connector_feed", "panel_connector_sender", "panel_connector_ground", "lamp_ground"),
    "regulator": ("regulator_ground", "foil_feed"),
    "fuse": ("fuse",),
}
_GAUGE_KINDS = ("coil", "heater", "movement")


def observations(case: Case, cells: Cells, gauge: str) -> tuple[Observation, ...]:
    """Every fact of a case as an observation on one circuit.

    Parameters
    ----------
    case : Case
    cells : Cells
    gauge : str
        The gauge complained of.

    Returns
    -------
    tuple of Observation

    Raises
    ------
    CaseError
        By file and key, where an entry names what the circuit does not have.
    """
    result: list[Observation] = []
    for entry in case.entries:
        try:
            result += _observe(entry, cells, gauge)
        except CaseError as error:
            raise _placed(error, entry) from None
        except GaugesimError as error:
            raise _placed(CaseError(error.problem, "", error.remedy), entry) from None
    result += _silence(case, cells, gauge)
    return tuple(result)


def _placed(error: CaseError, entry: Entry) -> CaseError:
    return CaseError(error.problem, entry.where, error.remedy)


def _observe(entry: Entry, cells: Cells, gauge: str) -> Iterator[Observation]:
    if isinstance(entry, Seen):
        yield from _seen(entry, cells, gauge)
    elif isinstance(entry, Measured):
        yield from _measured(entry, cells, gauge)
    elif isinstance(entry, Inspected):
        part = cells.circuit.part(entry.part, gauge)
        told = Told(part.words, entry.where, entry.stage)
        table = cells.of_faults(obs.found_table(cells.faults, part.id), obs.SOUND_LOOKS)
        yield _whatever_the_duty(obs.of_class(told, FOUND, table, entry.found))
    elif isinstance(entry, Replaced):
        yield _replaced(entry, cells, gauge)


def _seen(entry: Seen, cells: Cells, gauge: str) -> Iterator[Observation]:
    meant = cells.circuit.gauge(entry.gauge or gauge)
    given = dict(entry.given)
    if entry.between:
        before, after = (cells.place(state, given=given) for state in entry.between)
        yield _between(entry, cells, meant, before, after)
    else:
        where = cells.place(entry.state, given=given)
        told = Told(_subject(meant, where), entry.where, entry.stage)
        if entry.needle is not None:
            yield _often(entry, _needle(told, cells, meant, where, entry.needle))
        if entry.moves:
            yield _moves(told, cells, meant, where, entry.moves)
    if entry.consumer and entry.looks:
        yield _looks(entry, cells)
    if entry.engine:
        really = cells.of_faults(np.array([_hot_engine(cells, fault) for fault in cells.faults]), False)
        signs = np.where(really, *like.HEAT_SIGNS)
        table = np.stack([signs, 1 - signs], axis=1)
        told = Told("the engine", entry.where, entry.stage)
        yield obs.of_class(told, ("signs_of_heat", "no_signs_of_heat"), table, entry.engine)


def _hot_engine(cells: Cells, entry: Fault | Pair) -> bool:
    """Whether a hypothesis says that the engine really is hot."""
    sheet = cells.circuit.sheet
    return any(
        fault.part.kind == "process"
        and fault.mode.id == "real_high"
        and sheet.quantities[cells.circuit.gauge(fault.part.gauge).reads].unit == "celsius"
        for fault in entry.singles
    )


def _subject(gauge: Gauge, where: Situation, check: str = "") -> str:
    words = where.circuit.sheet.states[where.state].words
    name = gauge.id.replace("_", " ")
    return f"the {name} needle in {check}" if check else f"the {name} needle ({words})"


def _needle(told: Told, cells: Cells, gauge: Gauge, where: Situation, value: Value) -> Observation:
    position = cells.position(where, gauge.id)
    if value == "dead":
        off = cells.response(cells.place("key_off")).positions[gauge.id]
        dead = obs.dead_likelihood(position, off, gauge.stops)
        return obs.of_class(told, ("dead", "moves"), np.stack([dead, 1 - dead], axis=1), "dead")
    if value in obs.JUDGED:
        sound = float(np.nan_to_num(position.mean[0]))
        return obs.of_class(told, obs.JUDGED, obs.judged_table(position, sound), str(value))
    if isinstance(value, str):
        return obs.of_class(told, NEEDLE_WORDS, obs.needle_table(gauge, position), value)
    low, high = value if isinstance(value, tuple) else (value, value)
    # a range is a number with its own width
    noise = np.full(len(position.mean), np.hypot(like.NEEDLE_NUMBER_SPREAD, (high - low) / np.sqrt(12)))
    number = Number((low + high) / 2, position, noise)
    seen = f"at {low:.2f}" if low == high else f"at {low:.2f} to {high:.2f}"
    return obs.of_number(told, seen, number, 1.0)


def _often(entry: Seen, base: Observation) -> Observation:
    """What "sometimes" does to a needle that was seen so."""
    if entry.often in (None, "always"):
        return base
    now_and_then = np.minimum(1.0, 4.0 * like.DUTIES * (1.0 - like.DUTIES))
    steady = base.likelihood * like.SOMETIMES_STEADY
    by_duty = now_and_then[:, None] * base.likelihood[None]
    return Observation(
        base.subject,
        f"{base.seen} {'now and then' if entry.often == 'sometimes' else 'once'}",
        base.where,
        base.stage,
        steady,
        base.broad * 0.3,
        by_duty=by_duty,
    )


def _moves(told: Told, cells: Cells, gauge: Gauge, where: Situation, word: str) -> Observation:
    """What a needle is said to do: over the states of ordinary use, or under the check."""
    if where.check.id:
        before = cells.position(cells.place(where.state), gauge.id)
        difference = cells.position(where, gauge.id).minus(before)
        reach, deviation, sound = (
            np.abs(difference.mean),
            difference.deviation,
            abs(float(difference.mean[0])),
        )
    else:
        low, high = _extremes(cells, gauge)
        difference = cells.position(high, gauge.id).minus(cells.position(low, gauge.id))
        reach, deviation, sound = (
            np.abs(difference.mean),
            difference.deviation,
            abs(float(difference.mean[0])),
        )
    table, follows = obs.moves_table(reach, deviation, gauge.movement, float(np.nan_to_num(sound)))
    told = Told(f"{told.subject}, over all that was tried,", told.where, told.stage)
    if word == "follows":
        return obs.of_class(
            told, ("follows", "does_not_follow"), np.stack([follows, 1 - follows], axis=1), word
        )
    seen = obs.of_class(told, obs.MOVES, table, word)
    position = cells.position(where, gauge.id).mean
    jumps = obs.jumps_by_duty(position - position[0])
    if word == "jumps":
        return replace(seen, by_duty=jumps)
    steady_part = (
        like.DUTIES[:, None] * seen.likelihood + (1 - like.DUTIES[:, None]) * seen.likelihood[0]
    ) * (1 - np.minimum(jumps, 0.98))
    return replace(seen, by_duty=steady_part)


def _extremes(cells: Cells, gauge: Gauge) -> tuple[Situation, Situation]:
    """The two states of ordinary use between which the sound needle moves most."""
    places = [cells.place(state) for state in cells.circuit.sheet.states if state != "key_off"]
    stand = [float(np.nan_to_num(respond(where).positions[gauge.id][0])) for where in places]
    return places[int(np.argmin(stand))], places[int(np.argmax(stand))]


def _between(entry: Seen, cells: Cells, gauge: Gauge, before: Situation, after: Situation) -> Observation:
    difference = cells.position(after, gauge.id).minus(cells.position(before, gauge.id))
    words = [where.circuit.sheet.states[where.state].words for where in (before, after)]
    told = Told(
        f"the {gauge.id.replace('_', ' ')} needle from {words[0]} to {words[1]}", entry.where, entry.stage
    )
    if entry.by is not None:
        amount = abs(entry.by) * {"rises": 1.0, "falls": -1.0, "same": 0.0}[str(entry.needle)]
        noise = np.full(len(difference.mean), like.CHANGE_NUMBER_SPREAD)
        return obs.of_number(
            told, f"{entry.needle} by {abs(entry.by):.2f}", Number(amount, difference, noise), 1.0
        )
    return obs.of_class(told, obs.CHANGES, obs.change_table(difference), str(entry.needle))


def _looks(entry: Seen, cells: Cells) -> Observation:
    sheet = cells.circuit.sheet
    if entry.consumer not in sheet.consumers:
        raise CaseError(
            f"{sheet.id} has no {entry.consumer}", "", f"there are {', '.join(sheet.consumers) or 'none'}"
        )
    consumer = sheet.consumers[str(entry.consumer)]
    state = entry.state or (consumer.states[0] if consumer.states else None)
    where = cells.place_with(state, obs.consumer_check(consumer), dict(entry.given))
    volts = cells.reading(where)
    table = obs.looks_table(volts)
    told = Told(f"{consumer.words} ({sheet.states[where.state].words})", entry.where, entry.stage)
    seen = obs.of_class(told, obs.LOOKS, table, str(entry.looks))
    if entry.looks != "flickers":
        return seen
    share = np.abs(volts.mean) / max(abs(float(volts.mean[0])), 1.0)
    by_duty = obs.jumps_by_duty(1.0 - share)
    return replace(seen, by_duty=by_duty)


def _measured(entry: Measured, cells: Cells, gauge: str) -> Iterator[Observation]:
    complained = entry.gauge or gauge
    where = _check_place(entry, cells, complained)
    check = where.check
    meant = cells.circuit.gauge(entry.gauge or check.gauge or gauge)
    told = Told(check.id, entry.where, entry.stage)
    if entry.volts is not None:
        _require(check.reads == "volts", check.id, "volts", check.reads)
        yield _number_or_word(told, cells, where, entry.volts, "V")
    if entry.ohms is not None:
        _require(check.reads == "ohms", check.id, "ohms", check.reads)
        yield _number_or_word(told, cells, where, entry.ohms, "ohm")
    if entry.amperes is not None:
        raise CaseError(f"{check.id} reads no amperes", "", "give volts, ohms, lamp or needle")
    if entry.lamp is not None:
        _require(check.reads == "lamp", check.id, "lamp", check.reads)
        yield obs.of_class(told, obs.LAMPS, obs.lamp_table(cells.reading(where)), entry.lamp)
    if entry.needle is not None:
        yield _needle(
            Told(_subject(meant, where, check.id), *_tail(entry)),
            cells,
            meant,
            where,
            entry.needle,
        )
    if entry.moves is not None:
        if check.reads == "jump":
            yield _jump(told, cells, where, entry.moves)
        else:
            yield _moves(told, cells, meant, where, entry.moves)


def _tail(entry: Entry) -> tuple[str, int]:
    return entry.where, entry.stage


def _check_place(entry: Measured, cells: Cells, gauge: str) -> Situation:
    check = find_check(cells.circuit, entry.check, gauge)
    return cells.place_with(entry.state, check, dict(entry.given))


def _require(fits: bool, check: str, given: str, reads: str) -> None:
    if not fits:
        raise CaseError(f"{check} does not read {given}", "", f"it reads {reads}")


def _number_or_word(told: Told, cells: Cells, where: Situation, value: Value, unit: str) -> Observation:
    reading = cells.reading(where)
    if isinstance(value, str):
        if unit == "V":
            return obs.of_class(told, obs.VOLTS, obs.volts_table(reading, obs.battery_volts(where)), value)
        return obs.of_class(told, obs.OHMS, obs.ohms_table(reading), value)
    low, high = value if isinstance(value, tuple) else (value, value)
    make = obs.volts_number if unit == "V" else obs.ohms_number
    number, broad = make(reading, (low + high) / 2 if np.isfinite(high) else high)
    if low != high and np.isfinite(high):
        width = (high - low) / np.sqrt(12)
        extra = width if unit == "V" else width / ((low + high) / 2 + 0.3)
        number = Number(number.value, number.prediction, np.hypot(number.noise, extra))
    seen = f"{low:g} {unit}" if low == high else f"{low:g} to {high:g} {unit}"
    return obs.of_number(told, "open" if np.isinf(high) else seen, number, broad)


def _jump(told: Told, cells: Cells, where: Situation, word: str) -> Observation:
    part = where.check.part
    gauge = part.removeprefix("gauge:") if part.startswith("gauge:") else ""
    chance = cells.of_faults(
        obs.jump_chance(cells.faults, "" if gauge else part, gauge), like.JUMP_WHEN_MOVED["sound"]
    )
    table = np.stack([1 - chance, chance], axis=1)
    seen = "jumps" if word == "jumps" else "steady"
    base = obs.of_class(told, obs.JUMPS, table, seen)
    # moving a part makes an intermittent fault in it act, whatever its duty
    return _whatever_the_duty(base)


def _replaced(entry: Replaced, cells: Cells, gauge: str) -> Observation:
    circuit = cells.circuit
    if entry.part in WHOLES:
        whole, parts = entry.part, _whole(cells, entry.part, gauge)
    else:
        part = circuit.part(entry.part, gauge)
        whole, parts = circuit.short_name(part.id, gauge), {part.id}
    disturbed = {name for bare in _DISTURBED.get(whole, ()) for name in (bare, f"{gauge}_{bare}")}
    results = tuple(like.REPLACED_RIGHT)

    def row(fault: Fault) -> dict[str, float]:
        if fault.part.id in parts:
            return like.REPLACED_RIGHT
        contact = fault.part.id in disturbed and fault.mode.id in ("open", "high", "intermittent")
        return like.REPLACED_DISTURBED if contact else like.REPLACED_WRONG

    def rows(entry: Fault | Pair) -> list[float]:
        one, *other = [row(fault) for fault in entry.singles]
        if other and (one is like.REPLACED_RIGHT) != (other[0] is like.REPLACED_RIGHT):
            one = like.REPLACED_HALF
        elif other and other[0] is like.REPLACED_DISTURBED:
            one = other[0]
        return [one[word] for word in results]

    sound = np.array([like.REPLACED_WRONG[word] for word in results])
    table = cells.of_faults(np.array([rows(fault) for fault in cells.faults]), sound)
    words = f"the result of replacing the {whole.replace('_', ' ')}"
    base = obs.of_class(Told(words, entry.where, entry.stage), results, table, entry.result)
    # a repair is judged over days, so an intermittent fault answers as itself
    return _whatever_the_duty(base)


def _whatever_the_duty(base: Observation) -> Observation:
    return replace(base, by_duty=np.broadcast_to(base.likelihood, (len(like.DUTIES), len(base.likelihood))))


def _whole(cells: Cells, name: str, gauge: str) -> set[str]:
    """Parts of a whole gauge, or of a whole panel."""
    parts = cells.circuit.sheet.parts.values()
    if name == "gauge":
        return {part.id for part in parts if part.kind in _GAUGE_KINDS and part.gauge in ("", gauge)}
    kinds = (*_GAUGE_KINDS, "foil", "stud_nut", "regulator")
    return {part.id for part in parts if part.kind in kinds}


def _silence(case: Case, cells: Cells, gauge: str) -> Iterator[Observation]:
    """What an owner does not mention: the other gauges of the panel."""
    entries = [entry for entry in case.entries if isinstance(entry, Seen | Measured)]
    spoken = {gauge} | {entry.gauge for entry in entries if entry.gauge}
    states = [entry.state for entry in entries if isinstance(entry, Seen) and entry.state]
    for other in cells.circuit.sheet.gauges:
        if other in spoken or not entries:
            continue
        where = cells.place(states[0] if states else None)
        position = cells.response(where).positions[other]
        off = np.abs(np.nan_to_num(position - position[0], nan=0.5))
        abnormal: Floats = like.normal_below((off - 1.5 * like.JUDGED_LIMIT) / like.JUDGED_SPREAD)
        silent = abnormal * like.SILENT_ABNORMAL + (1 - abnormal) * like.SILENT_NORMAL
        table = np.stack([silent, 1 - silent], axis=1)
        told = Told(f"the {other.replace('_', ' ')} gauge", str(case.path.name))
        yield obs.of_class(told, ("not_mentioned", "mentioned"), table, "not_mentioned")


__all__ = ["Prediction", "observations"]
