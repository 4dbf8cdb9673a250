"""The terminal's side of the conversation: prints, reads a line, keeps the case file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from gaugesim import case as cases
from gaugesim import circuit as circuits
from gaugesim.cli.advice_text import check_lines, percent
from gaugesim.cli.diagnose import cautions_of
from gaugesim.cli.output import WIDTH, wrapped
from gaugesim.conversation import Choice, Kept, Question, State, begin, resume, step, withdraw
from gaugesim.conversation.question import BACK, HELP, STOP, UNKNOWN, understand
from gaugesim.diagnose import Diagnosis, candidates, caution_texts
from gaugesim.errors import GaugesimError
from gaugesim.plan.advice import Advice, Outcome

# from a prompt to the line that was typed; raises EOFError at the end of input
Read = Callable[[str], str]

PROMPT = "> "
# how many suspects are shown; above MEND the repair of the first is told too
SHOWN, MEND = 3, 0.8
# a fault that an outcome makes less likely than this is not told beside it
WORTH_TELLING = 0.2
INTERRUPTED, NOT_KEPT = 130, 2
USUAL_NAME = "case"
KEYS = (
    "Answer by number, word or reading. Enter: don't know.",
    "b: back. q: stop. c: on to the checks. h: help.",
)


def converse(path: Path | None, netlists_folder: Path | None, read: Read = input) -> int:
    """Ask the way through a case.

    Parameters
    ----------
    path : Path or None
        The case file: taken up again if it is there, made if it is not, asked for if it is None.
    netlists_folder : Path or None
        Searched first for circuits.
    read : callable, optional

    Returns
    -------
    int
        The exit status.
    """
    talk: _Talk | None = None
    status = 0
    try:
        over = False
        if path is None:
            path, over = _ask_path(read)
        if path is not None:
            talk = _open(path, over, netlists_folder, read)
            talk.run()
    except EOFError:
        print()
    except KeyboardInterrupt:
        print()
        status = INTERRUPTED
    return talk.close(status) if talk else status


def _open(path: Path, over: bool, netlists_folder: Path | None, read: Read) -> _Talk:
    original = path.read_bytes() if path.exists() else None
    if original is None or over:
        known = [circuits.find(name, netlists_folder) for name in circuits.available(netlists_folder)]
        state = begin(path, known)
    else:
        state = _resume(path, netlists_folder)
    return _Talk(state, Kept(path, original), netlists_folder, read)


def _resume(path: Path, netlists_folder: Path | None) -> State:
    chosen = candidates(cases.read(path), netlists_folder)
    return resume(path, path.read_bytes().decode("utf-8-sig"), chosen)


def _ask_path(read: Read) -> tuple[Path | None, bool]:
    """Where to keep a new case, and whether what is there may be written over."""
    usual = Path(f"{USUAL_NAME}.toml")
    number = 2
    while usual.exists():
        usual = Path(f"{USUAL_NAME}_{number}.toml")
        number += 1
    while True:
        print(f"In which file shall the case be kept? Enter for {usual}.")
        typed = "".join(letter for letter in read(PROMPT) if letter.isprintable()).strip(" \"'")
        command = understand(Question("file", ""), typed).command
        if command == STOP:
            return None, False
        if command in (BACK, HELP):
            print("Type a name such as pump.toml; each answer will be written there. q: stop.")
            continue
        path = usual if command == UNKNOWN else Path(typed)
        path = path.with_name(f"{path.name}.toml") if path.suffix != ".toml" else path
        if not path.parent.is_dir() or path.is_dir():
            print(f"{path} cannot be a file here.")
        elif not path.exists():
            return path, False
        else:
            chosen = _ask_existing(path, read)
            if chosen != "other":
                return path, chosen == "over"


def _ask_existing(path: Path, read: Read) -> str:
    choices = (
        Choice("again", "take it up again", ("go on",)),
        Choice("over", "write over it", ("overwrite", "replace")),
        Choice("other", "another name", ("another",)),
    )
    question = Question("existing", f"{path} is there already.", choices)
    print("\n".join(question_lines(question)))
    while True:
        heard = understand(question, read(PROMPT))
        if heard.choice:
            return heard.choice.value
        if heard.command:
            return "other"
        print("1, 2 or 3?")


class _Talk:
    """One conversation at one terminal."""

    def __init__(self, state: State, kept: Kept, netlists_folder: Path | None, read: Read) -> None:
        self._state = state
        self._kept = kept
        self._netlists_folder = netlists_folder
        self._read = read
        self._problem = ""
        # what is on the screen already
        self._ranked = ""
        self._asked: Question | None = None
        self._check: Advice | None = None
        self._cautions: set[str] = set()

    def run(self) -> None:
        """Ask until the person stops."""
        count = len(self._state.case.entries)
        kept = (
            f"{self._kept.path}: {count} answers so far."
            if count
            else f"Answers are kept in {self._kept.path}."
        )
        print("\n".join([*wrapped(kept), *KEYS]))
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
        """Say where the case is.

        Parameters
        ----------
        status : int
            How it ended.

        Returns
        -------
        int
            The exit status.
        """
        self._keep()
        if self._problem:
            return NOT_KEPT
        if self._state.at.text:
            for line in wrapped(
                f"Kept in {self._kept.path}. To go on: gaugesim diagnose {self._kept.path} --ask"
            ):
                print(line)
        else:
            print("Nothing was answered, nothing is kept.")
        return status

    def _told(self, notes: Sequence[str]) -> None:
        """Keep the answer first; what is said of it comes after."""
        self._keep()
        for note in notes:
            print("\n".join(wrapped(note)))

    def _keep(self) -> None:
        try:
            self._kept.keep(self._state.at.text)
            self._problem = ""
        except OSError as error:
            self._problem = f"NOT KEPT: {self._kept.path} cannot be written ({error.strerror})."
            print("\n".join(wrapped(self._problem)))

    def _read_again(self) -> None:
        path = self._kept.path
        try:
            self._state = _resume(path, self._netlists_folder)
        except GaugesimError as error:
            print(
                "\n".join(wrapped(f"{path} has been changed elsewhere: {error}. Mend it there, then Enter."))
            )
            return
        self._kept = Kept(path, path.read_bytes())
        self._asked = None
        print(
            "\n".join(
                wrapped(f"{path} has been changed elsewhere and is read again; your last line was not taken.")
            )
        )

    def _show(self) -> None:
        """What is new since the last line was typed."""
        state = self._state
        news = state.ranked and state.at.text != self._ranked
        if news:
            self._ranked = state.at.text
            print("\n" + "\n".join(ranking_lines(state.found)), flush=True)
            for text in cautions_of(state.found):
                if text not in self._cautions:
                    print("\n".join(wrapped(text, "  ", "! ")))
                    self._cautions.add(text)
        question = state.question
        if not state.ranked:
            self._check = None
        elif news or question.id.startswith("check:"):
            self._show_check(question)
        if question != self._asked:
            advised = state.advised if question.id.startswith("check:") else None
            print("\n" + "\n".join(question_lines(question, advised)))
            self._asked = question

    def _show_check(self, question: Question) -> None:
        asked = question.id.startswith("check:")
        advised = self._state.advised
        if advised is None:
            print("\nNo check would tell more: mend the likeliest fault and prove it.")
        elif not asked and self._check and self._check.check == advised.check:
            cautions = "; its cautions stand above" if advised.cautions else ""
            print("\n" + "\n".join(wrapped(f"Next check: still {advised.check}{cautions}.", "  ", "")))
        elif question != self._asked or advised != self._check:
            print("\n" + "\n".join(check_lines(advised)))
        self._check = advised


def ranking_lines(found: Diagnosis) -> list[str]:
    """The likeliest faults, shortly.

    Parameters
    ----------
    found : Diagnosis

    Returns
    -------
    list of str
    """
    lines = ["Likeliest now:"]
    singles = [suspect for suspect in found.ranking if "+" not in suspect.fault][:SHOWN]
    circuit = found.posteriors[0].cells.circuit
    for suspect in singles:
        text = f"{suspect.words}; {suspect.place_words}"
        lines += wrapped(text, " " * 9, f"  {percent(suspect.probability)}  ")
        if suspect.probability >= MEND:
            mend = f"To mend it: {suspect.repair} ({suspect.repair_minutes:g} minutes once it is reached)."
            lines += wrapped(mend, " " * 9)
            for caution in caution_texts(circuit, circuit.sheet.places[suspect.place].cautions):
                lines += wrapped(caution, " " * 11, " " * 9 + "! ")
    if not singles or found.none_of_these >= singles[-1].probability:
        lines.append(f"  {percent(found.none_of_these)}  none of the faults that are known here")
    likely = [(name, p) for name, p in found.circuits.items() if p >= 0.1]
    if len(found.circuits) > 1:
        told = ", ".join(f"{name} {percent(p).strip()}" for name, p in likely[:SHOWN])
        lines += wrapped(f"Circuit: {told or 'any of ' + str(len(found.circuits))}", "    ", "  ")
    for conflict in found.conflicts[:1]:
        lines += wrapped(
            f"Repeat this first, all the rest speaks against it: {conflict.subject}: {conflict.seen}.",
            "    ",
            "  ",
        )
    return lines


def question_lines(question: Question, advised: Advice | None = None) -> list[str]:
    """A question with its numbered answers.

    Parameters
    ----------
    question : Question
    advised : Advice, optional
        The check that it is about: what each answer would mean is told too.

    Returns
    -------
    list of str
    """
    lines = wrapped(question.text)
    outcomes = {outcome.outcome: outcome for outcome in advised.outcomes} if advised else {}
    plain = []
    for index, choice in enumerate(question.choices):
        label = question.label(index)
        if choice.value in outcomes:
            lines += wrapped(f"{choice.words} {_meaning(outcomes[choice.value])}", "     ", f" {label:>2}  ")
        elif question.labels:
            plain.append(f" {label:>2}")
        else:
            plain.append(f" {label:>2}  {choice.words}")
    lines += in_columns(plain)
    if question.commands and question.id.startswith(("check:", "idle")):
        lines += wrapped(
            "; ".join(f"{one.value[0]} {one.words}" for one in question.commands), "     ", "     "
        )
    return lines


def _meaning(outcome: Outcome) -> str:
    """How likely an outcome is and which fault would lead after it, or which two."""
    singles = [(words, p) for fault, words, p in outcome.leads_to if "+" not in fault]
    told = [f"{words} ({percent(p).strip()})" for words, p in singles[:2] if p >= WORTH_TELLING]
    return f"({percent(outcome.probability).strip()}): {' or '.join(told) or 'nothing stands out then'}"


def in_columns(entries: Sequence[str]) -> list[str]:
    """Short entries side by side, long ones below each other.

    Parameters
    ----------
    entries : sequence of str

    Returns
    -------
    list of str
    """
    if not entries:
        return []
    width = max(len(entry) for entry in entries) + 2
    columns = max(1, min(4, WIDTH // width))
    if columns == 1:
        return [
            line
            for entry in entries
            for line in wrapped(entry.strip(), "     ", entry[: len(entry) - len(entry.lstrip())])
        ]
    rows = -(-len(entries) // columns)
    return ["".join(f"{entry:<{width}}" for entry in entries[row::rows]).rstrip() for row in range(rows)]
