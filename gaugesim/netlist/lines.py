"""The lines of a netlist: files and what they include, continuation lines joined, comments kept apart."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from gaugesim.errors import NetlistError
from gaugesim.files import read_file
from gaugesim.plain import ACTING, shown

MOST_FILES = 200
LONGEST_STATEMENT = 20_000  # characters
_END_COMMENT = re.compile(r";|\s\$|\s//")
INCLUDE = re.compile(r"\.inc(?:lude)?\s+(.+)$", re.IGNORECASE)


@dataclass(frozen=True)
class Line:
    """One logical line: continuation lines joined, comment stripped, lower case.

    Attributes
    ----------
    comment : str
        The comment lines that stand directly above, joined.
    written : str
        The line in its own case: file names need it.
    """

    where: str
    text: str
    comment: str = ""
    written: str = ""


def mistake(problem: str, remedy: str, where: str) -> NetlistError:
    """Make the error for one line (raise what it returns)."""
    return NetlistError(problem, where=where, remedy=remedy)


def read_lines(path: Path, root: Path, files: list[Path]) -> list[Line]:
    """Read the logical lines of a file and of all that it includes, in place.

    Parameters
    ----------
    root : Path
        The folder in which, or below which, an included file must lie; symbolic links resolved.
    files : list of Path
        The files read so far; those read now are appended.

    Raises
    ------
    NetlistError
    """
    try:
        text = read_file(path).decode("utf-8")
    except OSError as error:
        raise mistake(f"cannot be read ({error.strerror})", "name a readable .cir file", str(path)) from None
    except UnicodeDecodeError:
        raise mistake("is not plain text", "save it as UTF-8", str(path)) from None
    return lines_of(text, path, root, files)


def lines_of(text: str, path: Path, root: Path, files: list[Path]) -> list[Line]:
    """Read the logical lines of a text and of all files that it includes, in place.

    Parameters
    ----------
    path : Path
        Where it stands, or would: included files are looked for beside it.
    files : list of Path
        The files read so far; this one and those read now are appended.

    Raises
    ------
    NetlistError
    """
    files.append(path)
    if len(files) > MOST_FILES:
        raise mistake(f"includes more than {MOST_FILES} files", "does a file include itself?", str(path))
    lines: list[Line] = []
    for line in logical_lines(text, path.name, keep_title=not files[1:]):
        match = INCLUDE.match(line.written)
        if not match:
            lines.append(line)
            continue
        name = match.group(1).strip().strip("\"'")
        target = (path.parent / name).resolve()
        if root not in target.parents:
            raise mistake(
                f"includes {shown(name)}, which is outside {root.name}/",
                "an included file lies in the netlist's own folder or below",
                line.where,
            )
        if not target.is_file():
            raise mistake(
                f"includes {shown(name)}, which is not there", f"looked in {path.parent}", line.where
            )
        if any(target == other.resolve() for other in files):
            raise mistake(f"includes {shown(name)} a second time", "include each file once", line.where)
        lines += read_lines(target, root, files)
    return lines


def logical_lines(text: str, name: str, keep_title: bool = True) -> list[Line]:
    """Join continuation lines and drop comments; line 1 of a netlist is its title, whatever it says.

    Parameters
    ----------
    keep_title : bool, optional
        Whether line 1 is a title: an included file has none.

    Raises
    ------
    NetlistError
    """
    lines: list[Line] = []
    comment: list[str] = []
    for number, raw in enumerate(text.split("\n"), start=1):
        where = f"{name}:{number}"
        raw = raw.removesuffix("\r")
        if acting := ACTING.search(raw):
            code = f"U+{ord(acting.group()):04X}"
            raise mistake(f"holds a control character, {code}", "save the file as plain text", where)
        if number == 1 and keep_title:
            title = raw.strip().lstrip("*").strip()
            if raw.lstrip().startswith("."):  # ngspice would take it for a statement and give up
                raise mistake("line 1 is the title, not a statement", "put a title above it", where)
            lines.append(Line(where, title))
            continue
        stripped = _END_COMMENT.split(raw, maxsplit=1)[0].strip()
        if raw.lstrip().startswith("*"):
            words = raw.strip().lstrip("*").strip()
            if words.startswith("--"):  # a rule opens a section
                comment = []
            else:
                comment.append(words)
        elif not stripped:
            comment = []
        elif stripped.startswith("+"):
            if len(lines) <= keep_title:
                raise mistake("a continuation line continues nothing", "start the statement first", where)
            last = lines[-1]
            _refuse_long(last.text, where)
            more = stripped[1:].strip()
            lines[-1] = replace(last, text=f"{last.text} {more.lower()}", written=f"{last.written} {more}")
        else:
            _refuse_long(stripped, where)
            lines.append(Line(where, stripped.lower(), " ".join(comment), stripped))
            comment = []
    return lines


def _refuse_long(statement: str, where: str) -> None:
    if len(statement) > LONGEST_STATEMENT:
        raise mistake(
            f"the statement has more than {LONGEST_STATEMENT} characters", "make several of it", where
        )
