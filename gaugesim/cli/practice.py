"""``gaugesim practice``: a hidden fault to find, against the clock, and what there is to learn from it."""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from gaugesim.circuit import find
from gaugesim.cli.conversation_text import question_lines
from gaugesim.cli.output import paragraph, print_json, wrapped
from gaugesim.cli.parser import add_command
from gaugesim.cli.practice_class import hand_out, same_class, show_results, steps_table, write_csv
from gaugesim.cli.practice_debrief import debrief_lines
from gaugesim.cli.practice_options import add_options
from gaugesim.cli.practice_sheets import TAKEN, seed_of, write_sheets
from gaugesim.cli.practice_text import (
    HELP_LINES,
    before_lines,
    checks_lines,
    clock_lines,
    explain_lines,
    faults_lines,
    hint_lines,
    parts_lines,
    shown_lines,
    task_lines,
)
from gaugesim.cli.shown_cautions import Warned
from gaugesim.conversation import Kept
from gaugesim.conversation.question import BACK, HELP, STOP, Question, understand
from gaugesim.errors import CaseError, GaugesimError
from gaugesim.files import read_file, refuse_taken
from gaugesim.front.practice_data import course_data
from gaugesim.lessons.chance import class_key
from gaugesim.lessons.commands import (
    CHECKS,
    CLOCK,
    FAULTS,
    PARTS,
    Command,
    command,
    prediction,
    prediction_question,
    suspects_named,
)
from gaugesim.lessons.course import CHECKED, EXPLAIN, HINT, Course, LearnerAction, find_option, perform
from gaugesim.lessons.debriefing import Debrief, debrief
from gaugesim.lessons.save import read, save_text, saved, take_up
from gaugesim.lessons.task import set_task
from gaugesim.lessons.teach import hint, last_check

PROMPT = "> "
INTERRUPTED, NOT_KEPT = 130, 2
# what may be typed at any question besides an answer
ASIDE = Question("aside", "")
_Answer = TypeVar("_Answer")


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    parser = add_command(
        commands,
        "practice",
        run,
        "Find a hidden fault against the clock.",
        "Type help at its prompt; commands may also come from a pipe, one on a line.",
    )
    add_options(parser)


def run(arguments: argparse.Namespace) -> int:
    """Set a task or take it up again, and do what is typed."""
    if arguments.results is not None:
        return show_results(arguments)
    if arguments.hand_out is not None:
        return hand_out(arguments)
    if arguments.sheet is not None or arguments.page is not None:
        return write_sheets(arguments)
    if arguments.replace and arguments.csv is None:
        remedy = "a save file is never replaced; name another --file"
        raise CaseError("--replace goes with --sheet, --results or --csv", "", remedy)
    if arguments.csv is not None:
        refuse_taken([arguments.csv], arguments.replace, TAKEN)
    asks = arguments.do is None and not (arguments.json and sys.stdin.isatty())
    talk = _opened(arguments, asks)
    talk.keep()
    read_line = _reader(arguments)
    status = talk.run(read_line) if asks or arguments.do else 0
    if arguments.csv is not None:
        write_csv(arguments.csv, steps_table(talk.course, talk.told), arguments.replace)
    if arguments.json:
        print_json(course_data(talk.course, talk.told))
        return talk.refused or status
    if not (asks or arguments.do):
        talk.begin()
    return talk.close(status)


def _opened(arguments: argparse.Namespace, asks: bool) -> _Sitting:
    """A new task, or the one in the file."""
    path: Path | None = arguments.file
    if path is not None and path.exists():
        return _taken_up(arguments, path)
    if not arguments.circuit:
        raise CaseError("CIRCUIT is missing", "", "name a circuit, for example temp_opposed_coil")
    circuit = find(arguments.circuit, arguments.netlists)
    seed, level = seed_of(arguments), arguments.level or 1
    if path is None and asks:
        path = Path(f"practice_{circuit.id}_{seed}_{level}.json")
        if path.exists():
            return _taken_up(arguments, path)
    own = class_key(arguments.class_word or "")
    task = set_task(circuit, circuit.gauge(arguments.gauge).id, seed, level, own)
    is_path = arguments.circuit.endswith(".cir")
    name = str(Path(arguments.circuit).resolve()) if is_path else circuit.id
    return _Sitting(Course(task), name, arguments, Kept(path, None) if path else None)


def _taken_up(arguments: argparse.Namespace, path: Path) -> _Sitting:
    original = read_file(path)
    content = read(path)
    for name in ("circuit", "gauge", "seed", "level"):
        given, kept = getattr(arguments, name), getattr(content, name)
        if name == "circuit" and given and given.endswith(".cir"):
            given = str(Path(given).resolve())
        if given is not None and given != kept:
            raise CaseError(
                f"holds a task with {name} {kept}, not {given}",
                str(path),
                f"leave {name} out to go on with it, or name another --file",
            )
    same_class(content, arguments.class_word, path)
    course = take_up(content, path, arguments.netlists)
    arguments.predict = arguments.predict or content.predict
    return _Sitting(course, content.circuit, arguments, Kept(path, original))


def _reader(arguments: argparse.Namespace) -> Callable[[], str]:
    """Where lines come from; each call gives the next and raises EOFError after the last."""
    if arguments.do is not None:
        lines = iter(arguments.do)
        return lambda: _echoed(lines, arguments.json)
    if sys.stdin.isatty() and not arguments.json:
        return lambda: input(PROMPT)
    return lambda: _echoed(iter(sys.stdin.readline, ""), arguments.json)


def _echoed(lines: Iterator[str], silent: bool) -> str:
    """The next line, shown as if it had been typed at the prompt."""
    line = next(lines, None)
    if line is None:
        raise EOFError
    if not silent:
        print(f"{PROMPT}{line.strip()}")
    return line


def _heard(read_line: Callable[[], str]) -> str:
    """A line as it was typed; bytes that are no text make one that nothing is called."""
    try:
        return read_line()
    except UnicodeError:
        return "\N{REPLACEMENT CHARACTER}"


class _Sitting:
    """One sitting over one task."""

    def __init__(
        self, course: Course, circuit: str, arguments: argparse.Namespace, kept: Kept | None
    ) -> None:
        self.course = course
        self._warned = Warned()
        self.refused = 0
        self._circuit = circuit
        self._predict = bool(arguments.predict)
        self._silent = bool(arguments.json)
        self._scripted = arguments.do is not None
        self._kept = kept
        self._problem = ""
        # a class's task is told to those who know its word
        self._known = not course.task.class_key or bool(arguments.class_word)

    @property
    def told(self) -> Debrief | None:
        """The debrief; None while the task is not over, or may not be told."""
        return debrief(self.course) if self.course.over and self._known else None

    def _end_lines(self) -> list[str]:
        if self.told is not None:
            return debrief_lines(self.told)
        return [
            "",
            *paragraph(
                "The task is over, and what was done is kept. What was hidden, and what was lost where, "
                "is told with the teacher's word: --class WORD."
            ),
        ]

    def begin(self) -> None:
        """Say what the task is and how far it has come."""
        self._say(task_lines(self.course.task, self._warned))
        if self.course.steps:
            self._say([f"Taken up again after {len(self.course.steps)} steps.", *clock_lines(self.course)])
        if self.course.over:
            self._say(self._end_lines())

    def run(self, read_line: Callable[[], str]) -> int:
        """Do what is typed until it is over."""
        try:
            self.begin()
            if not self._scripted:
                self._say(["Type a check, or help."])
            while not self.course.over and self._line(read_line):
                pass
        except EOFError:
            self._say([""])
        except KeyboardInterrupt:
            self._say([""])
            return INTERRUPTED
        return 0

    def close(self, status: int) -> int:
        """Say where it is kept."""
        self.keep()
        if self._problem:
            return NOT_KEPT
        if self._kept is not None and not self.course.over:
            path = shlex.quote(str(self._kept.path))
            self._say(wrapped(f"Kept in {self._kept.path}. To go on: gaugesim practice --file {path}"))
        return status or self.refused

    def keep(self) -> None:
        """Write the save file."""
        if self._kept is None:
            return
        if self._kept.changed_elsewhere:
            self._problem = f"NOT KEPT: {self._kept.path} has been changed elsewhere."
        else:
            try:
                self._kept.keep(save_text(saved(self.course, self._circuit, self._predict)))
                self._problem = ""
            except OSError as error:
                self._problem = f"NOT KEPT: {self._kept.path} cannot be written ({error.strerror})."
        if self._problem:
            print(f"gaugesim: {self._problem}", file=sys.stderr)

    def _say(self, lines: list[str]) -> None:
        if not self._silent:
            print("\n".join(lines), flush=True)

    def _line(self, read_line: Callable[[], str]) -> bool:
        """Take one line; whether to go on."""
        typed = _heard(read_line)
        if not typed.strip():
            return True
        try:
            given = command(self.course, typed)
            if given.kind == STOP:
                return False
            self._obey(given, read_line)
        except GaugesimError as error:
            self._refuse(error)
        return True

    def _refuse(self, error: GaugesimError) -> None:
        if self._scripted:
            raise error
        if self._silent:
            print(f"gaugesim: {error}", file=sys.stderr)
        self.refused = 2 if not sys.stdin.isatty() else 0
        self._say(wrapped(f"Not done: {error}" + ("" if str(error).endswith("?") else ".")))

    def _obey(self, given: Command, read_line: Callable[[], str]) -> None:
        if given.action is None:
            show = {
                CHECKS: lambda: checks_lines(self.course, given.rest),
                PARTS: lambda: parts_lines(self.course),
                FAULTS: lambda: faults_lines(self.course, given.rest),
                CLOCK: lambda: clock_lines(self.course),
                HELP: lambda: list(HELP_LINES),
            }
            self._say(show[given.kind]())
            return
        action = given.action
        if action.kind == CHECKED and self._predict:
            foretold = self._with_prediction(action, read_line)
            if foretold is None:
                self._say(["The check is not made."])
                return
            action = foretold
        before = self.course
        self.course = perform(before, action)
        self.keep()
        done = self.course.steps[-1]
        if action.kind == HINT:
            self._say(hint_lines(hint(before), before.task.circuit, self._warned))
        elif action.kind == EXPLAIN:
            self._say(explain_lines(last_check(self.course)))
        elif self.course.over:
            self._say(self._end_lines())
        else:
            lines = before_lines(self.course, done, self._warned)
            self._say(lines + shown_lines(self.course, done))

    def _with_prediction(self, action: LearnerAction, read_line: Callable[[], str]) -> LearnerAction | None:
        """Ask for suspects and the expected reading before anything is shown; None if the check is left."""
        question = prediction_question(find_option(self.course.task, action.what, action.state))
        suspects = self._asked(
            ["Suspects? Parts, separated by commas."],
            read_line,
            lambda typed: suspects_named(self.course, typed),
        )
        if suspects is None:
            return None
        lines = question_lines(question)
        expected = self._asked(lines, read_line, lambda typed: prediction(question, typed))
        return None if expected is None else replace(action, suspects=suspects, predicted=expected)

    def _asked(
        self, question: list[str], read_line: Callable[[], str], understood: Callable[[str], _Answer]
    ) -> _Answer | None:
        """Ask until it is understood; None for a wish to go back, and a wish to stop ends the sitting."""
        self._say(question)
        while True:
            typed = _heard(read_line)
            wish = understand(ASIDE, typed).command
            if wish == STOP:
                raise EOFError
            if wish == BACK:
                return None
            if wish == HELP:
                self._say([*question, "Type back to leave the check out, quit to stop; everything is kept."])
                continue
            try:
                return understood(typed)
            except GaugesimError as error:
                self._refuse(error)
