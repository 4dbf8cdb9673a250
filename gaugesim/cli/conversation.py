"""The terminal's side of the conversation: prints, reads a line, keeps the case file."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from gaugesim import case as cases
from gaugesim.advice.check_advice import Advice
from gaugesim.advice.remedy import Repair
from gaugesim.case import Case
from gaugesim.circuit import Circuit
from gaugesim.cli.advice_text import check_lines, next_lines
from gaugesim.cli.conversation_text import conflict_lines, question_lines, ranking_lines
from gaugesim.cli.history import effect_lines, tell_before
from gaugesim.cli.output import wrapped
from gaugesim.cli.parser import found_all
from gaugesim.cli.shown_cautions import Warned
from gaugesim.conversation import Kept, Question, Talk, begin, resume, step, withdraw
from gaugesim.conversation.asking import DRIVER, OTHER, TOOLS
from gaugesim.diagnosis import candidates
from gaugesim.errors import GaugesimError
from gaugesim.evidence.history import Effect
from gaugesim.files import read_file
from gaugesim.records import learned

# from a prompt to the line that was typed; raises EOFError at the end of input
Read = Callable[[str], str]

PROMPT = "> "
INTERRUPTED, NOT_KEPT = 130, 2
USUAL_NAME = "case"
KEYS = (
    "Answer by number, word or reading. Enter: don't know.",
    "b: back. q: stop. c: on to the checks. h: help.",
)


@dataclass(frozen=True)
class CircuitSource:
    """Where a conversation finds its circuits."""

    netlists_folder: Path | None
    history: Path | None

    def begin(self, path: Path) -> tuple[Talk, tuple[Effect, ...]]:
        """A new case, of which any circuit may be in question; and what past repairs change."""
        every = found_all(self.netlists_folder)
        chosen, effects = learned(every, self.history, self.netlists_folder)
        tell_before(effects)
        return replace(begin(path, chosen), find=self._found), effects

    def resume(self, path: Path) -> tuple[Talk, tuple[Effect, ...]]:
        """A case taken up again; and what past repairs change."""
        named = candidates(cases.read(path), self.netlists_folder)
        chosen, effects = learned(named, self.history, self.netlists_folder)
        tell_before(effects)
        resumed = resume(path, read_file(path).decode("utf-8-sig"), chosen)
        return replace(resumed, find=self._found), effects

    def _found(self, case: Case) -> tuple[Circuit, ...]:
        """What a case may be about, past repairs in its priors."""
        return learned(candidates(case, self.netlists_folder), self.history, self.netlists_folder)[0]


def converse(
    path: Path | None, netlists_folder: Path | None, read: Read = input, history: Path | None = None
) -> int:
    """Ask the way through a case.

    Parameters
    ----------
    path : Path or None
        The case file: taken up again if it is there, made if it is not; None for a new one.
    """
    talk: _Session | None = None
    status = 0
    try:
        talk = _open(path or _new_path(), CircuitSource(netlists_folder, history), read)
        talk.run()
    except EOFError:
        print()
    except KeyboardInterrupt:
        print()
        status = INTERRUPTED
    return talk.close(status) if talk else status


def _open(path: Path, source: CircuitSource, read: Read) -> _Session:
    original = read_file(path) if path.exists() else None
    state, effects = source.begin(path) if original is None else source.resume(path)
    return _Session(state, effects, Kept(path, original), source, read)


def _new_path() -> Path:
    """Where a new case is kept: over nothing that is there."""
    path, number = Path(f"{USUAL_NAME}.toml"), 2
    while path.exists():
        path, number = Path(f"{USUAL_NAME}_{number}.toml"), number + 1
    return path


def say(text: str, indent: str = "", first: str | None = None) -> None:
    """Print a text, folded."""
    print("\n".join(wrapped(text, indent, first)))


class _Session:
    """One conversation at one terminal."""

    def __init__(
        self, state: Talk, effects: tuple[Effect, ...], kept: Kept, source: CircuitSource, read: Read
    ) -> None:
        self._state = state
        # what past repairs change, until it has been told
        self._effects = effects
        self._kept = kept
        self._source = source
        self._read = read
        self._problem = ""
        # what is on the screen already
        self._ranked = ""
        self._suspects: list[str] = []
        self._doubted: list[str] = []
        self._asked: Question | None = None
        self._check: Advice | None = None
        self._mend: Repair | None = None
        self._warned = Warned()

    def run(self) -> None:
        """Ask until the person stops."""
        count = len(self._state.case.entries)
        path = self._kept.path
        say(f"{path}: {count} answers so far." if count else f"Answers are kept in {path}.")
        print("\n".join(KEYS))
        while not self._state.over:
            try:
                self._show()
            except GaugesimError as error:
                self._state, notes = withdraw(self._state, error)
                self._told(notes)
                continue
            try:
                typed = self._read(PROMPT)
            except UnicodeError:
                typed = "\N{REPLACEMENT CHARACTER}"
            if self._kept.changed_elsewhere:
                self._read_again()
                continue
            self._state, notes = step(self._state, typed)
            self._told(notes)

    def close(self, status: int) -> int:
        """Say where the case is."""
        self._keep()
        if self._problem:
            return NOT_KEPT
        if self._state.saved:
            path, history = self._kept.path, self._source.history
            again = f"gaugesim diagnose {shlex.quote(str(path))} --ask"
            again += "" if history is None else f" --history {shlex.quote(str(history))}"
            say(f"Kept in {path}. To go on: {again}")
        else:
            print("Nothing was answered, nothing is kept.")
        return status

    def _told(self, notes: Sequence[str]) -> None:
        """Keep the answer first; what is said of it comes after."""
        self._keep()
        for note in notes:
            say(note)

    def _keep(self) -> None:
        if self._kept.changed_elsewhere:
            return  # what somebody else has written is not written over
        try:
            self._kept.keep(self._state.saved)
            self._problem = ""
        except OSError as error:
            self._problem = f"NOT KEPT: {self._kept.path} cannot be written ({error.strerror})."
            say(self._problem)

    def _read_again(self) -> None:
        path = self._kept.path
        try:
            self._state, _ = self._source.resume(path)
        except GaugesimError as error:
            say(f"{path} has been changed elsewhere: {error}. Mend it there, then Enter.")
            return
        self._kept = Kept(path, read_file(path))
        self._asked = None
        say(f"{path} has been changed elsewhere and is read again; your last line was not taken.")

    def _show(self) -> None:
        """What is new since the last line was typed."""
        state = self._state
        news = state.ranked and state.at.text != self._ranked and not self._asked_driver
        if state.ranked:
            self._ranked = state.at.text
        if news:
            # what is mended is no suspect any more, and what has not changed is not said twice
            lines = [] if state.consultation.cured else ranking_lines(state.consultation, self._warned)
            if lines and lines != self._suspects:
                print("\n" + "\n".join(lines), flush=True)
            self._suspects = lines
            doubted = conflict_lines(state.consultation)
            if doubted and doubted != self._doubted:  # once is enough, unless it changes
                print("\n".join(doubted))
            self._doubted = doubted or self._doubted
            if self._effects:
                print("\n".join(effect_lines(self._effects, state.consultation.circuit.id)))
                self._effects = ()
            for line in self._warned.new(state.consultation.cautions, ""):
                print(line)
        question = state.question
        if news and state.consultation.cured:
            print("\n" + "\n".join(next_lines(state.consultation, self._warned)))
        elif news or question.id.startswith("check:"):
            if news:
                self._show_mend(state.consultation.mend)
            if question.id != TOOLS:  # which check comes next hangs on the answer
                if news and self._mend and state.advised:
                    print("\nIf you would rather check first:")
                self._show_check(question)
        if question != self._asked:
            self._warn_of_listed(question)
            advised = state.advised if question.id.startswith("check:") else None
            ranking = state.consultation.diagnosis.ranking if advised else ()
            now = {suspect.fault: suspect.probability for suspect in ranking}
            print("\n" + "\n".join(question_lines(question, advised, now)))
            self._asked = question

    @property
    def _asked_driver(self) -> bool:
        """Whether it was last asked what moves the needle, of which the ranking knows nothing."""
        return self._asked is not None and self._asked.id.startswith(DRIVER)

    def _show_mend(self, mend: Repair | None) -> None:
        """The repair that is quicker than any check, if there is one."""
        if mend is not None:
            then = "" if mend == self._mend else ", then type r"
            say(f"Quickest is to mend this at once{then}: {mend.words}.", "  ", "\n")
            self._warn(self._state.consultation.cautions_of(mend))
        self._mend = mend

    def _warn(self, cautions: Sequence[str]) -> None:
        for line in self._warned.lines(self._state.consultation.circuit, cautions):
            print(line)

    def _warn_of_listed(self, question: Question) -> None:
        """Where other checks are listed, what to beware of at them."""
        if question.id == OTHER:
            listed = {choice.value for choice in question.choices}
            self._warn(self._state.consultation.cautions_of_checks(listed))

    def _show_check(self, question: Question) -> None:
        asked = question.id.startswith("check:")
        advised = self._state.advised
        if advised is None:
            repair = self._state.consultation.likeliest_repair
            say(f"No check would tell more. {repair.sentence}.", "  ", "\n")
            self._warn(self._state.consultation.cautions_of(repair))
        elif (not asked or self._asked_driver) and self._check and self._check.check == advised.check:
            say(f"Next check, still: {advised.words}.", "  ", "\n")
            self._warn(advised.cautions)
        elif question != self._asked or advised != self._check:
            circuit = self._state.consultation.circuit
            print("\n" + "\n".join(check_lines(advised, circuit, self._warned)))
        self._check = advised
