"""What a trouble came after: work, rain, a lay-up, or nothing that anybody knows of."""

from __future__ import annotations

from gaugesim import vocabulary
from gaugesim.circuit import Circuit
from gaugesim.evidence import handling
from gaugesim.evidence import likelihood as like
from gaugesim.evidence.asking import yes_or_no
from gaugesim.evidence.observable import Observable, Statement
from gaugesim.evidence.rows import Rows
from gaugesim.scenario.fault import Fault
from gaugesim.sheet import GAUGE_KINDS, Part

# what is worked on, by kinds of parts; senders are told by their ids
_KINDS = {
    "gauge_work": GAUGE_KINDS,
    "engine_work": ("ntc_sender", "pressure_sender", "cable"),
    "electrical_work": ("battery", "charging", "cable", "fuse", "switch", "feed_wire", "regulator"),
}
BEGAN = ("began", "have begun")


def came_after(statement: Statement, rows: Rows, word: str) -> Observable:
    """Whether a trouble came after something, as its owner tells it.

    Parameters
    ----------
    word : str
        One of `vocabulary.AFTER`.
    """
    worked_on = _parts(rows.circuit, word)
    touched = worked_on | handling.disturbed(rows.circuit, worked_on) if worked_on else frozenset()
    usual = vocabulary.AFTER[word].row["usual"]

    def chance(fault: Fault) -> float:
        times = fault.mode.after.get(word)
        if times is None:
            times = like.AFTER_BY_MODE.get(word, {}).get(fault.mode.id, 1.0)
            if fault.part.id in touched:
                times = like.TOUCHED
        return min(usual * times, like.MOST_OFTEN_AFTER)

    return yes_or_no(statement, (word, "otherwise"), rows, chance, usual)


def _parts(circuit: Circuit, word: str) -> frozenset[str]:
    """Parts that work of a kind takes in hand; none for what is no work."""

    def meant(part: Part) -> bool:
        if word == "sender_work":
            return part.kind.endswith("_sender")
        return part.kind in _KINDS.get(word, ())

    return frozenset(part.id for part in circuit.sheet.parts.values() if meant(part))
