"""Bind the entries of a case to a circuit: which observable each one answers, and how."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from gaugesim import vocabulary
from gaugesim.case import WHOLES, Case, Entry, Inspected, Measured, NeedleValue, Replaced, Seen
from gaugesim.errors import CaseError, GaugesimError
from gaugesim.evidence import behaviour, handling
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.evidence.asking import how_often, of_classes, of_number, of_value, yes_or_no
from gaugesim.evidence.implications import implied, of_others, off_sound
from gaugesim.evidence.look_entries import as_seen
from gaugesim.evidence.metered import Asked, ohms_read, other_read, volts_read
from gaugesim.evidence.observable import GAVE, LOOKED, SHOWED, WAS, Observable, Observation, Statement
from gaugesim.evidence.occasions import BEGAN, came_after
from gaugesim.evidence.prediction import Prediction
from gaugesim.evidence.rows import Rows
from gaugesim.evidence.subjects import doing, from_to, needle_words, situated
from gaugesim.reading import Situation, respond
from gaugesim.reading.words import NEEDLE_WORDS, place_on_dial
from gaugesim.scenario.check import find_check
from gaugesim.scenario.fault import Fault
from gaugesim.sheet import FOUND, Gauge
from gaugesim.vocabulary.quantity import DialFigure


def observations(case: Case, rows: Rows, gauge: str) -> tuple[Observation, ...]:
    """Every fact of a case as an observation on one circuit.

    Parameters
    ----------
    rows : Rows
        The circuit's cells.

    Raises
    ------
    CaseError
        By file and key, where an entry names what the circuit does not have.
    """
    result: list[Observation] = []
    for entry in case.entries:
        try:
            mended = _mended(case, entry.stage, rows, gauge)
            for observable, value, seen in asked(entry, rows, gauge):
                result.append(
                    (observable.mended(mended) if np.any(mended) else observable).answer(value, seen)
                )
        except CaseError as error:
            raise _placed(error, entry) from None
        except GaugesimError as error:
            raise _placed(CaseError(error.problem, "", error.remedy), entry) from None
    result += [observable.answer(observable.classes[0]) for observable in implied(case, rows, gauge)]
    return tuple(result)


def _placed(error: CaseError, entry: Entry) -> CaseError:
    return CaseError(error.problem, entry.where, error.remedy)


def _mended(case: Case, stage: int, rows: Rows, gauge: str) -> np.ndarray:
    """Rows whose fault was in a part that had been replaced before a stage.

    Where that changed nothing the new part is as bad as the old one, if the fault was there at all.
    """
    done = [
        entry
        for entry in case.entries
        if isinstance(entry, Replaced) and entry.stage < stage and entry.result != "no_change"
    ]
    parts = [(_replaced_parts(entry, rows, gauge)[1], entry.how) for entry in done]

    def gone(fault: Fault) -> bool:
        return any(fault.part.id in names and handling.mends(how, fault) for names, how in parts)

    return rows.of_faults(np.array([all(map(gone, entry.singles)) for entry in rows.faults]), False)


def asked(entry: Entry, rows: Rows, gauge: str) -> Iterator[Asked]:
    """The observables that one entry of a case answers.

    Yields
    ------
    observable : Observable
    answer : str or float
        A class, or a number in the unit of the observable.
    seen : str
        The answer in words, empty for those of its class.

    Raises
    ------
    GaugesimError
        Where the entry names what the circuit does not have.
    """
    if isinstance(entry, Seen):
        yield from _seen(entry, rows, gauge)
    elif isinstance(entry, Measured):
        yield from _measured(entry, rows, gauge)
    elif isinstance(entry, Inspected):
        part = rows.circuit.part(entry.part, gauge)
        table = rows.of_faults(handling.found_table(rows.faults, part.id, entry.how), handling.SOUND_LOOKS)
        statement = Statement(part.words, entry.where, entry.stage, LOOKED)
        yield of_classes(statement, FOUND, table, comes_and_goes=False), entry.found, ""
    elif isinstance(entry, Replaced):
        yield _replaced(entry, rows, gauge), entry.result, ""


def _seen(entry: Seen, rows: Rows, gauge: str) -> Iterator[Asked]:
    meant = rows.circuit.gauge(entry.gauge or gauge)
    given = dict(entry.given)
    if entry.between:
        before, after = (rows.situation(state, given=given) for state in entry.between)
        yield _between(entry, rows, meant, before, after)
    else:
        situation = rows.situation(entry.state, given=given)
        statement = _remembered(entry, situated(needle_words(meant), situation, given))
        if entry.needle is not None:
            needle = _needle(statement, rows, meant, situation, entry.needle)
            yield how_often(entry.often, *needle[:2]) if entry.often else needle
        if entry.moves:
            subject = f"{needle_words(meant)}, over all that was tried,"
            yield _moves(_remembered(entry, subject), rows, meant, situation, entry.moves)
        if entry.truth:
            yield _truth(replace(statement, slip=like.SLIP), rows, meant, situation), entry.truth, ""
    if entry.consumer and entry.looks:
        yield _looks(entry, rows)
    if entry.engine:
        yield _engine(entry, rows), entry.engine, ""
    if entry.others and len(rows.circuit.sheet.gauges) > 1:
        statement = _remembered(entry, "the rest of the panel")
        yield (
            of_others(statement, rows, gauge, entry.state),
            entry.others,
            vocabulary.OTHERS[entry.others].answer,
        )
    if entry.after:
        statement = _remembered(entry, "the trouble", BEGAN)
        yield came_after(statement, rows, entry.after), entry.after, ""


def _remembered(entry: Seen, subject: str, verb: tuple[str, str] = WAS) -> Statement:
    return Statement(subject, entry.where, entry.stage, verb, slip=like.SLIP_OF_MEMORY)


def _truth(statement: Statement, rows: Rows, gauge: Gauge, situation: Situation) -> Observable:
    """Whether a needle stands where the real value puts it, as it does if that is really high or low."""
    off = off_sound(rows.position(situation, gauge.id), rows.sound(situation, gauge.id))
    processes = [all(single.part.kind == "process" for single in entry.singles) for entry in rows.faults]
    real = rows.of_faults(np.array(processes, dtype=float), 0.0) > 0
    told = off.take(np.where(real, 0, np.arange(len(real))))
    return of_value(statement, vocabulary.TRUTH.classes, told, behaviour.noticed_table)


def _engine(entry: Seen, rows: Rows) -> Observable:
    """What is seen, felt or heard of the engine."""
    heat, coolant, cranking = vocabulary.HEAT, vocabulary.COOLANT, vocabulary.CRANKING
    topic = next(each for each in (heat, coolant, cranking) if entry.engine in each.classes)
    [usual] = topic.row("usual").values()
    if topic is heat:
        statement = Statement("the engine", entry.where, entry.stage, SHOWED, slip=like.SLIP_OF_STEAM)
    elif topic is coolant:
        statement = Statement("the coolant", entry.where, entry.stage)
    else:
        statement = _remembered(entry, "the engine")

    def chance(fault: Fault) -> float:
        if topic is cranking:
            return usual * fault.part.cranks
        own = fault.mode.signs_of_heat if topic is heat else fault.mode.coolant_low
        return usual if own is None else own

    observable = yes_or_no(statement, topic.classes, rows, chance, usual)
    # an engine that boils is told of while the trouble is there
    return observable if topic is cranking else replace(observable, comes_and_goes=False)


def _needle(
    statement: Statement, rows: Rows, gauge: Gauge, situation: Situation, value: NeedleValue
) -> Asked:
    position = rows.position(situation, gauge.id)
    if value == "dead":
        from_rest = position.minus(_at_rest(rows, gauge, position))
        return of_value(statement, behaviour.DEAD, from_rest, behaviour.dead_table), "dead", ""
    if value in vocabulary.JUDGED.classes:
        sound = float(np.nan_to_num(position.mean[0]))
        rest = _lies(rows, gauge, position)
        classes = (*vocabulary.JUDGED.classes, "dead")
        judged = of_value(statement, classes, position, lambda shown: obs.judged_table(shown, sound, rest))
        return judged, value, ""
    if isinstance(value, str):
        words = of_value(statement, NEEDLE_WORDS, position, lambda shown: obs.needle_table(gauge, shown))
        return words, value, ""
    if isinstance(value, DialFigure):
        low, high = place_on_dial(value, gauge, rows.circuit.sheet.quantities[gauge.reads].unit)
        seen = f"at {value}"
    else:
        low, high = value if isinstance(value, tuple) else (value, value)
        seen = f"at {low:.2f}" if low == high else f"at {low:.2f} to {high:.2f}"
    if (low >= 0.0 and high <= 0.1) or (low >= 0.9 and high <= 1.0):
        position = obs.on_scale(position)
    # a range is a number with its own width
    noise = np.full(len(position.mean), np.hypot(like.NEEDLE_NUMBER_SPREAD, (high - low) / np.sqrt(12)))
    return of_number(statement, position, noise, gauge.stops, "position"), (low + high) / 2, seen


def _lies(rows: Rows, gauge: Gauge, position: Prediction) -> float:
    """Where the sound needle lies with the key off, as far as there is such a state [position]."""
    if np.isnan(position.mean[0]):  # it belongs where it lies
        return 0.0
    if "key_off" not in rows.circuit.sheet.states:
        return gauge.stops[0]
    lies = float(respond(rows.situation("key_off")).positions[gauge.id][0])
    return gauge.stops[0] if np.isnan(lies) else lies


def _at_rest(rows: Rows, gauge: Gauge, position: Prediction) -> Prediction:
    """Where a needle lies with the key off: on its low stop, or where it lies now, if nothing drives it."""
    at_rest = rows.position(rows.situation("key_off"), gauge.id)
    loose = np.isnan(at_rest.mean)
    return Prediction(
        np.where(loose, np.where(np.isnan(position.mean), np.nan, gauge.stops[0]), at_rest.mean),
        at_rest.names,
        np.where(loose, 0.0, at_rest.steps),
        at_rest.pulses,
        rest=position.rest,
    )


def _moves(statement: Statement, rows: Rows, gauge: Gauge, situation: Situation, word: str) -> Asked:
    """What a needle is said to do: over the states of ordinary use, or under the check."""
    if situation.check.id:
        before, after = rows.situation(situation.state), situation
    else:
        before, after = _extremes(rows, gauge)
    reach = rows.position(after, gauge.id).minus(rows.position(before, gauge.id))
    if word == "follows":
        sound = float(np.nan_to_num(reach.mean[0]))
        follows = of_value(
            statement, behaviour.FOLLOWS, reach, lambda moved: behaviour.follows_table(moved, sound)
        )
        return follows, word, ""
    position = rows.position(situation, gauge.id)
    if word in ("slowly", "at_once"):
        # whoever says how quickly it moves may speak of the key being turned as well
        turned = position.minus(_at_rest(rows, gauge, position))
        reach = reach.where(np.abs(reach.mean) >= np.abs(turned.mean), turned)
    off = off_sound(position, rows.sound(situation, gauge.id))
    classes = vocabulary.MOVES.classes
    sudden, slow = (
        behaviour.sudden_table(off, classes, said)
        for said in (
            behaviour.said_to_move("intermittent", gauge.movement),
            vocabulary.MOVES.row("quantity"),
        )
    )
    is_process = rows.of_faults(handling.of_process(rows.faults), 0.0) > 0
    sudden = np.where(is_process[:, None], slow, sudden)
    usual = rows.position(rows.situation(None), gauge.id)
    if not situation.check.id and _switched(usual, position):
        # where lamps or loads are on a needle may go with them
        steady = behaviour.moves_table(reach, gauge.movement)
        table = behaviour.with_loads_table(steady, position.minus(usual))
        return of_classes(statement, vocabulary.MOVES.classes, table, sudden), word, ""
    moves = of_value(
        statement,
        vocabulary.MOVES.classes,
        reach,
        lambda moved: behaviour.moves_table(moved, gauge.movement),
        sudden,
    )
    return moves, word, ""


def _switched(usual: Prediction, here: Prediction) -> bool:
    """Whether two states differ, and not by what the gauge shows: the sound needle stands where it did."""
    same = abs(float(np.nan_to_num(here.mean[0] - usual.mean[0]))) < like.STILL_LIMIT
    return same and not np.array_equal(here.mean, usual.mean, equal_nan=True)


def _extremes(rows: Rows, gauge: Gauge) -> tuple[Situation, Situation]:
    """The two states of ordinary use between which the sound needle moves most."""
    situations = [rows.situation(state) for state in rows.circuit.sheet.states if state != "key_off"]
    stand = [float(np.nan_to_num(respond(situation).positions[gauge.id][0])) for situation in situations]
    return situations[int(np.argmin(stand))], situations[int(np.argmax(stand))]


def _between(entry: Seen, rows: Rows, gauge: Gauge, before: Situation, after: Situation) -> Asked:
    difference = rows.position(after, gauge.id).minus(rows.position(before, gauge.id))
    words = [situation.circuit.sheet.states[situation.state].words for situation in (before, after)]
    statement = _remembered(entry, f"{needle_words(gauge)} ({from_to(*words)})")
    if entry.by is not None:
        amount = abs(entry.by) * {"rises": 1.0, "falls": -1.0, "same": 0.0}[str(entry.needle)]
        noise = np.full(len(difference.mean), like.CHANGE_NUMBER_SPREAD)
        most = gauge.stops[1] - gauge.stops[0]
        seen = f"{entry.needle} by {abs(entry.by):.2f}"
        return of_number(statement, difference, noise, (-most, most), "position"), amount, seen
    return of_value(statement, vocabulary.CHANGE.classes, difference, obs.change_table), str(entry.needle), ""


def _looks(entry: Seen, rows: Rows) -> Asked:
    sheet = rows.circuit.sheet
    if entry.consumer not in sheet.consumers:
        raise CaseError(
            f"{sheet.id} has no {entry.consumer}", "", f"there are {', '.join(sheet.consumers) or 'none'}"
        )
    consumer = sheet.consumers[str(entry.consumer)]
    state = entry.state or (consumer.states[0] if consumer.states else None)
    situation = rows.situation_with(state, obs.consumer_check(consumer), dict(entry.given))
    volts = rows.reading(situation)
    usual = max(abs(float(volts.mean[0])), 1.0)
    share = Prediction(volts.mean / usual, volts.names, volts.steps / usual, volts.pulses)
    off = off_sound(volts, rows.sound(situation), usual)
    sudden = behaviour.sudden_table(off, vocabulary.LOOKS.classes, vocabulary.LOOKS.row("intermittent"))
    subject = f"{consumer.words} ({sheet.states[situation.state].words})"
    statement = _remembered(entry, subject, LOOKED)
    return of_value(statement, vocabulary.LOOKS.classes, share, obs.looks_table, sudden), str(entry.looks), ""


def _measured(entry: Measured, rows: Rows, gauge: str) -> Iterator[Asked]:
    check = find_check(rows.circuit, entry.check, entry.gauge or gauge)
    if check.kind.is_look:
        yield from _seen(as_seen(entry, check), rows, gauge)
        return
    situation = rows.situation_with(entry.state, obs.with_tools(check, entry.tools), dict(entry.given))
    meant = rows.circuit.gauge(entry.gauge or check.gauge or gauge)
    needle = Statement(situated(needle_words(meant), situation), entry.where, entry.stage)
    meter = vocabulary.TOPICS[check.reads].meter
    statement = Statement(situated(meter, situation), entry.where, entry.stage, SHOWED) if meter else needle
    for key in ("volts", "ohms", "lamp", "amperes"):
        if getattr(entry, key) is not None and key != check.reads:
            raise CaseError(f"{check.id} does not read {key}", "", f"it reads {check.reads}")
    if entry.volts is not None:
        observable, volts, seen = volts_read(statement, rows, situation, entry.volts, entry.tools.meter)
        yield replace(observable, comes_and_goes=not check.kind.acting), volts, seen
    if entry.ohms is not None:
        yield ohms_read(statement, rows, situation, entry.ohms)
    if entry.lamp is not None:
        shown, lamp = rows.reading(situation), entry.tools.lamp
        yield (
            of_value(statement, vocabulary.LAMP.classes, shown, lambda volts: obs.lamp_table(volts, lamp)),
            entry.lamp,
            "",
        )
    if entry.amperes is not None:
        yield other_read(statement, rows, situation, entry.amperes)
    if entry.needle is not None:
        yield _needle(needle, rows, meant, situation, entry.needle)
    if entry.moves is not None:
        if check.kind.by_hand:
            yield _jump(statement, rows, situation), "jumps" if entry.moves == "jumps" else "steady", ""
        else:
            yield _moves(needle, rows, meant, situation, entry.moves)


def _jump(statement: Statement, rows: Rows, situation: Situation) -> Observable:
    chance = rows.of_faults(
        handling.jump_chance(rows.faults, situation.check.part), like.JUMP_WHEN_MOVED["sound"]
    )
    # moving a part makes an intermittent fault in it act, whatever its duty
    return of_classes(
        statement, vocabulary.JUMP.classes, np.stack([1 - chance, chance], axis=1), comes_and_goes=False
    )


def _replaced_parts(entry: Replaced, rows: Rows, gauge: str) -> tuple[str, frozenset[str]]:
    """What was done, in words, and the parts that are new."""
    if entry.part in WHOLES:
        return doing(entry.part, entry.how), handling.parts_of_whole(rows.circuit, entry.part, gauge)
    part = rows.circuit.part(entry.part, gauge)
    words, repair = part.words, part.repair
    if entry.part in part.pieces:
        words, repair = entry.part.replace("_", " "), "replace"
    return doing(words, entry.how, repair), frozenset([part.id])


def _replaced(entry: Replaced, rows: Rows, gauge: str) -> Observable:
    told, parts = _replaced_parts(entry, rows, gauge)
    table = rows.of_faults(
        handling.replaced_table(rows.circuit, rows.faults, parts, entry.how), handling.SOUND_REPLACED
    )
    statement = Statement(told, entry.where, entry.stage, GAVE)
    # a repair is judged over days, so an intermittent fault answers as itself
    return of_classes(statement, vocabulary.RESULT.classes, table, comes_and_goes=False)
