"""Where a conversation stands, and what is asked there: worked out from the case alone."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from gaugesim import vocabulary
from gaugesim.advice.check_advice import Advice
from gaugesim.case import Case, Seen
from gaugesim.circuit import Circuit
from gaugesim.compose import declined, load_kinds
from gaugesim.consultation import Consultation
from gaugesim.conversation import asking, complaint, intake, vehicle
from gaugesim.conversation.casefile import case_of, with_conversation, with_top
from gaugesim.conversation.question import Choice, Question
from gaugesim.diagnosis import candidates
from gaugesim.errors import CaseError
from gaugesim.scenario.check import find_check
from gaugesim.scenario.tools import tools_for
from gaugesim.table import Table

# the complaint, whose it is, and so many more prompts come before the first advice, v among them
MOST_BESIDE = 3
CHECKS = Choice("checks", "enough, on to the checks", ("go on", "enough"))
_PART = {asking.LOOK: "Which part was looked at?", asking.REPLACED: "Which part was replaced or mended?"}


@dataclass(frozen=True)
class Pending:
    """What has been begun and not yet answered.

    Attributes
    ----------
    kind : str
        `asking.LOOK`, `asking.REPLACED`, `asking.OTHER`, `asking.SEEN`, `vehicle.MINE`, or ``check``.
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
    complaint, others : str
        What was said of the gauge and of the others, until that goes into the case.
    """

    text: str
    circuits: tuple[Circuit, ...]
    passed: frozenset[str] = frozenset()
    pending: Pending | None = None
    complaint: str = ""
    others: str = ""


@dataclass(frozen=True)
class Talk:
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
    find : callable
        The circuits that a case may be about.
    before : Consultation or None
        That of the answers before this one, which spares most of the work.
    """

    path: Path
    names: tuple[tuple[str, str], ...]
    at: Position
    history: tuple[Position, ...] = ()
    guess: Choice | None = None
    over: bool = False
    find: Callable[[Case], tuple[Circuit, ...]] = field(default=candidates, compare=False, repr=False)
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

    @property
    def saved(self) -> str:
        """The case file with what is no entry yet, so that a session that is killed loses nothing."""
        at = self.at
        said = {"complaint": at.complaint, "others": at.others, "passed": sorted(at.passed)}
        if not at.text and not any(said.values()):
            return ""
        return with_conversation(at.text or with_top("", circuit="*"), **said)

    @cached_property
    def beside(self) -> Question | None:
        """What is asked until the complaint is whole, None once it is."""
        begun = bool(self.case.entries) or complaint.COMPLAINT in self.at.passed
        if not begun and not self.at.complaint:
            return complaint.complaint_question()
        if not self.gauge:
            return intake.gauge_question(self.at.circuits)
        if begun:
            return None
        others = intake.others_question(self.at.circuits)
        if self._vehicle is None and others and not self.at.others and others.id not in self.at.passed:
            return others
        return complaint.detail_question(self.at.complaint)

    @cached_property
    def _intake(self) -> Question | None:
        """The next question before the first advice, None if there is none."""
        if self.beside:
            return replace(self.beside, commands=(vehicle.MINE,))
        if CHECKS.value in self.at.passed or intake.has_begun(self.case):
            return None
        hot = intake.reads_hot(self.case, self.at.circuits, self.gauge)
        seen = [entry for entry in self.case.entries if isinstance(entry, Seen)]
        heat, passed = any(entry.engine for entry in seen), self.at.passed
        others = intake.others_question(self.at.circuits)
        # in their order, each with whether it was answered
        wanted = [(complaint.heat_question(), heat)] if hot or heat else []
        if self._vehicle is not None and vehicle.ALONE not in passed:
            wanted.append((vehicle.about("gauges", self.gauge), False))
        if others:
            wanted.append((others, any(entry.others or entry.gauge for entry in seen)))
        wanted.append((complaint.after_question(), False))
        left = MOST_BESIDE - complaint.detailed(self.case) - (self._vehicle is not None)
        asked = (each for each, answered in wanted[:left] if not answered and each.id not in passed)
        question = next(asked, None)
        return None if question is None else replace(question, commands=(CHECKS, vehicle.MINE))

    @property
    def _vehicle(self) -> dict[str, Any] | None:
        """What is said of the vehicle; None where it is none that had to be described."""
        said: dict[str, Any] | None = tomllib.loads(self.at.text).get("vehicle")
        return said

    @property
    def _asks_for_tools(self) -> bool:
        """Whether what is at hand is asked after: once there has been some advice that took none."""
        if self.case.at_hand is not None or asking.TOOLS in self.at.passed or self.advised is None:
            return False
        begun = any(name.startswith("check:") for name in self.at.passed) or intake.has_checks(self.case)
        check = find_check(self.consultation.circuit, self.advised.check, self.gauge)
        return bool(begun and tools_for(check))

    @property
    def _before_touching(self) -> Question | None:
        """What has to be known before the first check that is more than a look; None once it was asked."""
        begun = any(not isinstance(entry, Seen) for entry in self.case.entries)
        if begun or self.advised is None:
            return None
        if find_check(self.consultation.circuit, self.advised.check, self.gauge).kind.is_look:
            return None
        driver = () if self.case.driven_by else map(asking.driver_question, load_kinds().questions)
        said = self._vehicle
        own = () if said is None else vehicle.before_touching(said, self.gauge)
        return next((each for each in (*driver, *own) if each.id not in self.at.passed), None)

    @property
    def _telling(self) -> Question | None:
        """What is asked of the vehicle instead of a check, because it tells more for its time."""
        said = self._vehicle
        if said is None or self.advised is None:
            return None
        rate = self.advised.bits / max(self.advised.minutes, vehicle.ANSWER_SECONDS / 60)
        name = vehicle.telling(said, self.gauge, self.at.passed, self.consultation.job, rate)
        return vehicle.about(name, self.gauge) if name else None

    @cached_property
    def question(self) -> Question:
        """What is asked now."""
        if self.declined:
            return asking.declined_question(self.case.driven_by)
        pending = self.at.pending
        if pending and pending.kind == vehicle.MINE.value:
            if pending.what:
                return vehicle.about(pending.what, self.gauge)
            return vehicle.topics_question(self._vehicle or {}, self.gauge)
        if pending and pending.kind in _PART:
            return self._about_part(pending)
        if pending and pending.kind in (asking.OTHER, asking.SEEN):
            return asking.other_question(self.consultation, self._passed, pending.kind == asking.SEEN)
        before = None if pending else self._intake
        if before:
            return before
        if not pending and self.consultation.cured:
            passed = self.at.passed
            proof = (each for each in self.consultation.proof_left if f"proof:{each.state}" not in passed)
            need = next(proof, None)
            return asking.DONE if need is None else asking.proof_question(need)
        if not pending and self._asks_for_tools:
            return asking.tools_question()
        if self.advised is None:
            return Question("idle", "What has been done?", commands=asking.COMMANDS)
        if not pending and (first := self._before_touching or self._telling):
            return replace(first, commands=asking.COMMANDS)
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
        for listed in circuit.sheet.parts.values():
            if circuit.short_name(listed.id, gauge) == part:
                return listed.words
    return f"the whole {part}"


def begin(path: Path, circuits: Sequence[Circuit]) -> Talk:
    """Begin a conversation about a new case.

    Parameters
    ----------
    path : Path
        Where it is going to be kept.
    circuits : sequence of Circuit
        All that may be meant.
    """
    return Talk(path, (), Position("", tuple(circuits)))


def resume(path: Path, text: str, circuits: Sequence[Circuit]) -> Talk:
    """Take up a conversation from its case file.

    Parameters
    ----------
    text : str
        What the file holds.
    circuits : sequence of Circuit
        Those that it names.
    """
    case = case_of(text, path)
    names = tuple((Path(name).stem, name) for name in case.circuits if name.endswith(".cir"))
    said = Table(tomllib.loads(text).get("conversation", {}), f"{path.name}: conversation", CaseError)
    at = Position(
        with_conversation(text),
        tuple(circuits),
        frozenset(said.texts("passed", ())),
        complaint=said.choice("complaint", [each.value for each in complaint.COMPLAINTS], ""),
        others=said.choice("others", vocabulary.OTHERS.written, ""),
    )
    said.end()
    return Talk(path, names, at)
