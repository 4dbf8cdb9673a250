"""Read a netlist from a file or a text."""

from __future__ import annotations

from pathlib import Path

from gaugesim.netlist.builder import build
from gaugesim.netlist.lines import INCLUDE, lines_of, logical_lines, mistake, read_lines
from gaugesim.netlist.model import Netlist


def read(path: Path | str) -> Netlist:
    """Read a netlist file and all that it includes.

    Parameters
    ----------
    path : path
        A ``.cir`` file. Files that it includes must lie in its folder or below.

    Raises
    ------
    NetlistError
        With file and line, what is wrong and what would be right.
    """
    path = Path(path)
    files: list[Path] = []
    lines = read_lines(path, path.parent.resolve(), files)
    return build(path, lines, tuple(files))


def read_text(text: str, path: Path | str = "netlist.cir", root: Path | None = None) -> Netlist:
    r"""Read a netlist from a string.

    Parameters
    ----------
    root : path, optional
        The folder in which files that it includes must lie, or below; without one it may include nothing.

    Examples
    --------
    >>> read_text("two resistors\nR1 a 0 1k\nR2 a 0 {2*1k}").nodes
    ('a',)
    """
    path = Path(path)
    if root is not None:
        files: list[Path] = []
        return build(path, lines_of(text, path, root.resolve(), files), tuple(files))
    lines = []
    for line in logical_lines(text, path.name):
        if INCLUDE.match(line.written):
            raise mistake("a netlist given as text cannot include files", "read it from a file", line.where)
        lines.append(line)
    return build(path, lines, (path,))
