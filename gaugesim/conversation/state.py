"""Where a conversation stands, and what is asked there: worked out from the case alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from gaugesim.case import Case, Seen
from gaugesim.circuit import Circuit
from gaugesim.compose import declined, load_kinds
from gaugesim.consultation import Consultation
from gaugesim.conversation import asking, complaint, intake
from gaugesim.conversation.casefile import case_of
from gaugesim.conversation.question import Choice, Question
from gaugesim.planning.check_advice import Advice
from gaugesim.scenario.check import find_check
from gaugesim.scenario.tools import tools_for

CHECKS = Choice("checks", "enough, on to the checks", ("go on", "enough"))
_PART = {asking.LOOK: "Which part was looked at?", asking.REPLACED: "Which part was replaced or mended?"}


@dataclass(frozen=True)
class Pending:
    """What has been begun and not yet answered.

    Attributes
    ----------
    kind : str
        `asking.LOOK`, `asking.REPLACED`, `asking.OTHER`, `asking.SEEN`, or ``check``.
    what : str
        The part, question or check chosen, empty before that.
    """

    kind: str
    what: str = ""
    state: str = ""


@dataclass(frozen=True)
class Position:
    """Where a conversation stands: all that a step back has to bring back.

    Attributes
    ----------
    text : str
        The case file; empty before the first answer.
    circuits : tuple of Circuit
        The candidates.
    passed : frozenset of str
        Questions that were answered with "don't know".
    """

    text: str
    circuits: tuple[Circuit, ...]
    passed: frozenset[str] = frozenset()
    pending: Pending | None = None
    complaint: str = ""


@dataclass(frozen=True)
class State:
    """A conversation.

    Attributes
    ----------
    path : Path
        What the case file is called.
    names : tuple of (str, str)
        For each circuit that is known by another name than its id, what the case file calls it.
    history : tuple of Position
        The steps that can be taken back.
    guess : Choice or None
        The word that was offered for one that was not understood.
    before : Consultation or None
        That of the answers before this one, which spares most of the work.
    """

    path: Path
    names: tuple[tuple[str, str], ...]
    at: Position
    history: tuple[Position, ...] = ()
    guess: Choice | None = None
    over: bool = False
    before: Consultation | None = field(default=None, compare=False, repr=False)

    @cached_property
    def case(self) -> Case:
        """The case as it stands."""
        if not self.at.text:
            return Case(self.path, tuple(circuit.id for circuit in self.at.circuits), None, ())
        return case_of(self.at.text, self.path)

    @cached_property
    def gauge(self) -> str:
        """The gauge complained of, empty while it is not known."""
        return intake.gauge_of(self.case, self.at.circuits)

    @property
    def ranked(self) -> bool:
        """Whether there is anything to rank the faults by, and nothing more to ask beforehand."""
        return bool(self.gauge) and self._intake is None and not self.declined

    @property
    def declined(self) -> bool:
        """Whether something else than its sender moves the needle, so that nothing here holds for it."""
        return declined(self.case.driven_by) is not None

    @cached_property
    def consultation(self) -> Consultation:
        """All that follows from the case."""
        if self.before is None:
            return Consultation(self.case, self.at.circuits)
        return self.before.with_case(self.case, self.at.circuits)

    @cached_property
    def advised(self) -> Advice | None:
        """The check that is chosen or proposed; None if none tells anything more."""
        pending = self.at.pending
        if pending and pending.kind == "check":
            return self.consultation.check(pending.what, pending.state)
        return self.consultation.next_check_but(self._passed)

    @property
    def _passed(self) -> frozenset[str]:
        """Checks that were passed over."""
        return frozenset(name.removeprefix("check:") for name in self.at.passed if name.startswith("check:"))

    @cached_property
    def _intake(self) -> Question | None:
        """The next question before the first advice, None if there is none."""
        told = bool(self.case.entries) or complaint.COMPLAINT in self.at.passed
        if not told and not self.at.complaint:
            return complaint.complaint_question()
        if not self.gauge:
            return intake.gauge_question(self.at.circuits)
        if not told:
            return complaint.detail_question(self.at.complaint)
        if CHECKS.value in self.at.passed or intake.has_begun(self.case):
            return None
        hot = intake.reads_hot(self.case, self.at.circuits, self.gauge)
        asked = [complaint.heat_question()] if hot else []
        left = (one for one in (*asked, complaint.after_question()) if one.id not in self.at.passed)
        question = next(left, None)
        return None if question is None else replace(question, commands=(CHECKS,))

    @property
    def _asks_for_tools(self) -> bool:
        """Whether what is at hand is asked after: once there has been some advice that took none."""
        if self.case.at_hand is not None or asking.TOOLS in self.at.passed or self.advised is None:
            return False
        begun = any(name.startswith("check:") for name in self.at.passed) or self.case.entries[2:]
        check = find_check(self.consultation.circuit, self.advised.check, self.gauge)
        return bool(begun and tools_for(check))

    @property
    def _driver(self) -> Question | None:
        """What has to be known before the first check that is more than a look; None once it was asked."""
        begun = any(not isinstance(entry, Seen) for entry in self.case.entries)
        if self.case.driven_by or begun or self.advised is None:
            return None
        if find_check(self.consultation.circuit, self.advised.check, self.gauge).kind.is_look:
            return None
        asked = map(asking.driver_question, load_kinds().questions)
        return next((one for one in asked if one.id not in self.at.passed), None)

    @cached_property
    def question(self) -> Question:
        """What is asked now."""
        if self.declined:
            return asking.declined_question(self.case.driven_by)
        pending = self.at.pending
        if pending and pending.kind in _PART:
            return self._about_part(pending)
        if pending and pending.kind in (asking.OTHER, asking.SEEN):
            return asking.other_question(self.consultation, self._passed, pending.kind == asking.SEEN)
        before = None if pending else self._intake
        if before:
            return before
        if not pending and self.consultation.cured:
            passed = self.at.passed
            proof = (one for one in self.consultation.proof_left if f"proof:{one.state}" not in passed)
            need = next(proof, None)
            return asking.DONE if need is None else asking.proof_question(need)
        if not pending and self._asks_for_tools:
            return asking.tools_question()
        if self.advised is None:
            return Question("idle", "What has been done?", commands=asking.COMMANDS)
        if not pending and (driver := self._driver):
            return driver
        return asking.check_question(self.consultation.circuit, self.advised, self.gauge)

    def _about_part(self, pending: Pending) -> Question:
        if not pending.what:
            likely = [
                part
                for suspect in self.consultation.diagnosis.ranking[:6]
                for part in suspect.part.split("+")
            ][:6]
            wholes = pending.kind == asking.REPLACED
            circuit = self.consultation.circuit
            return intake.part_question("part", _PART[pending.kind], circuit, self.gauge, likely, wholes)
        words = part_words(self.at.circuits, self.gauge, pending.what)
        if pending.kind == asking.LOOK:
            circuit = self.consultation.circuit
            text = f"What does it look like: {words}?"
            return asking.found_question(circuit, self.gauge, pending.what, text)
        return asking.result_question(pending.what, f"What came of replacing or mending it: {words}?")


def part_words(circuits: Sequence[Circuit], gauge: str, part: str) -> str:
    """A part in words.

    Parameters
    ----------
    part : str
        Its short name.
    """
    for circuit in circuits:
        for known in circuit.sheet.parts.values():
            if circuit.short_name(known.id, gauge) == part:
                return known.words
    return f"the whole {part}"


def begin(path: Path, circuits: Sequence[Circuit]) -> State:
    """Begin a conversation about a new case.

    Parameters
    ----------
    path : Path
        Where it is going to be kept.
    circuits : sequence of Circuit
        All that may be meant.
    """
    return State(path, (), Position("", tuple(circuits)))


def resume(path: Path, text: str, circuits: Sequence[Circuit]) -> State:
    """Take up a conversation from its case file.

    Parameters
    ----------
    text : str
        What the file holds.
    circuits : sequence of Circuit
        Those that it names.
    """
    names = tuple((Path(name).stem, name) for name in case_of(text, path).circuits if name.endswith(".cir"))
    return State(path, names, Position(text, tuple(circuits)))
