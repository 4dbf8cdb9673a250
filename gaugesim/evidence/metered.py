"""What an instrument has read, as an observable: in words or as a number."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugesim import vocabulary
from gaugesim.case import Value
from gaugesim.evidence import likelihood as like
from gaugesim.evidence import observation as obs
from gaugesim.evidence.asking import of_number, of_value
from gaugesim.evidence.observable import Observable, Statement
from gaugesim.evidence.rows import Rows
from gaugesim.reading import Situation

# an observable, its answer, and the answer in words (empty for those of the class)
Asked = tuple[Observable, str | float, str]


def _ends(value: float | tuple[float, float]) -> tuple[float, float, str]:
    """Both ends of a range, and how it is written."""
    low, high = value if isinstance(value, tuple) else (value, value)
    return low, high, f"{low:g}" if low == high else f"{low:g} to {high:g}"


def volts_read(statement: Statement, rows: Rows, situation: Situation, value: Value, meter: str) -> Asked:
    """What a voltmeter has read; ``meter`` is its kind, if that is known."""
    battery = obs.battery_volts(situation)
    reading = obs.of_any_make(rows.reading(situation), battery, rows.circuit.sheet.make_spread)
    if isinstance(value, str):
        words = of_value(
            statement, vocabulary.VOLTS.classes, reading, lambda volts: obs.volts_table(volts, battery, meter)
        )
        return words, value, ""
    low, high, seen = _ends(value)
    noise = np.hypot(obs.volts_noise(reading, meter), (high - low) / np.sqrt(12))
    return of_number(statement, reading, noise, like.VOLTS_SPAN, "volts"), (low + high) / 2, f"{seen} V"


def ohms_read(statement: Statement, rows: Rows, situation: Situation, value: Value) -> Asked:
    """What an ohmmeter has read."""
    reading = rows.reading(situation)
    prediction, noise = obs.log_ohms(reading, rows.circuit.sheet.make_spread)
    if isinstance(value, str):
        sound = float(reading.mean[0])
        words = of_value(
            statement, vocabulary.OHMS.classes, prediction, lambda shown: obs.log_ohms_table(shown, sound)
        )
        return words, value, ""
    low, high, seen = _ends(value)
    logs = obs.log_of_ohms(low), obs.log_of_ohms(high)
    noise = np.hypot(noise, (logs[1] - logs[0]) / np.sqrt(12))
    seen = "open" if high > like.OPEN_FROM else f"{seen} ohm"
    return of_number(statement, prediction, noise, like.LOG_OHMS_SPAN, "log ohms"), sum(logs) / 2, seen


def other_read(statement: Statement, rows: Rows, situation: Situation, value: Value) -> Asked:
    """What an instrument has read of which there is nothing more to say than its topic does."""
    reads, reading = situation.check.reads, rows.reading(situation)
    topic = vocabulary.TOPICS[reads]
    # what a short would drive goes beyond any scale, and stands at its end whatever the tolerances
    mean = np.clip(reading.mean, *topic.span)
    reading = replace(reading, mean=mean, steps=np.where(mean == reading.mean, reading.steps, 0.0))
    if isinstance(value, str):
        words = of_value(
            statement, topic.classes, reading, lambda shown: obs.reading_table(reads, shown, situation)
        )
        return words, value, ""
    low, high, seen = _ends(value)
    noise = np.hypot(
        like.METER_SHARE * np.abs(reading.mean), np.hypot(topic.spread, (high - low) / np.sqrt(12))
    )
    return of_number(statement, reading, noise, topic.span, reads), (low + high) / 2, f"{seen} {topic.unit}"
