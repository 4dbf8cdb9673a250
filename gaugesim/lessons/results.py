"""What a class has done: save files that came back, marked, and where most of it was lost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from gaugesim.errors import CaseError, GaugesimError
from gaugesim.lessons.course import Course
from gaugesim.lessons.debriefing import Debrief, debrief
from gaugesim.lessons.judge import Decision
from gaugesim.lessons.save import read, take_up

# a class has no more files than this
MOST_FILES = 500
FINISHED, UNFINISHED, NO_WORD, UNREADABLE = "finished", "not finished", "needs the class's word", "not read"


@dataclass(frozen=True, eq=False)
class Returned:
    """One save file.

    Attributes
    ----------
    state : str
        ``FINISHED`` or why there are no marks.
    """

    name: str
    state: str
    course: Course | None = None
    debrief: Debrief | None = None
    problem: str = ""

    @property
    def wrong_turn(self) -> Decision | None:
        """The first decision that cost much."""
        return None if self.debrief is None else self.debrief.first_loss


def save_files(folder: Path) -> list[Path]:
    """The save files of a folder, by name.

    Raises
    ------
    CaseError
        If there is no such folder, or nothing in it.
    """
    if not folder.is_dir():
        raise CaseError("is no folder", str(folder), "name the folder that holds the save files")
    paths = sorted(folder.glob("*.json"))
    if not 1 <= len(paths) <= MOST_FILES:
        raise CaseError(
            f"holds {len(paths)} save files", str(folder), f"put 1 to {MOST_FILES} there, each NAME.json"
        )
    return paths


def returned(path: Path, class_key: str, netlists_folder: Path | None = None) -> Returned:
    """Mark a save file; what cannot be marked says why.

    Parameters
    ----------
    class_key : str
        Of the class, see `chance.class_key`; empty if no word was given.
    """
    try:
        content = read(path)
        if content.class_key and content.class_key != class_key:
            return Returned(path.stem, NO_WORD, problem="another class, or no --class WORD")
        course = take_up(content, path, netlists_folder)
    except GaugesimError as error:
        return Returned(path.stem, UNREADABLE, problem=str(error))
    if not course.over:
        return Returned(path.stem, UNFINISHED, course)
    return Returned(path.stem, FINISHED, course, debrief(course))


def commonest(turns: Iterable[str]) -> tuple[str, int]:
    """The most common of some wrong turns.

    Parameters
    ----------
    turns : iterable of str
        Empty ones do not count.

    Examples
    --------
    >>> commonest(["replace sender", "", "look_at:fuse", "replace sender"])
    ('replace sender', 2)
    """
    counted = Counter(turn for turn in turns if turn)
    return counted.most_common(1)[0] if counted else ("", 0)
