"""Files, read with a limit and written whole or not at all.

What is written stands under a passing name beside its place until all of it is on the disk, and takes its own
name then. Whatever stops the program between leaves the old content, or none.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Iterable, Mapping
from pathlib import Path

from gaugesim.errors import CaseError

LARGEST_FILE = 1_000_000  # bytes of a file that a person writes
# how a passing name begins and ends, and after how many seconds nobody can still be writing there (assumed)
_BEGINS, _ENDS, _LEFT_OVER = ".gaugesim.", ".part", 60.0


def read_file(path: Path, largest: int = LARGEST_FILE) -> bytes:
    """Read a regular file of limited size.

    Parameters
    ----------
    largest : int, optional
        Bytes that it may have [1].

    Raises
    ------
    OSError
        Also if it is a device or a pipe, which may have no end, or has more.
    """
    with open(path, "rb", opener=_at_once) as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError(errno.EINVAL, "it is no regular file", str(path))
        content = file.read(largest + 1)
    if len(content) > largest:
        raise OSError(errno.EFBIG, f"it has more than {largest} bytes", str(path))
    return content


def _at_once(path: str, flags: int) -> int:
    """Open a file; a pipe with nobody at its other end does not hold it up."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def refuse_taken(paths: Iterable[Path], replace: bool, remedy: str) -> None:
    """See that files may be written, before there is anything to write.

    Raises
    ------
    CaseError
    """
    for path in paths:
        if not path.parent.is_dir():
            raise CaseError(
                "cannot be written (there is no such folder)", str(path), "make the folder, or name another"
            )
        if not replace and os.path.lexists(path):
            raise CaseError("is there already", str(path), remedy)
        if path.is_symlink() or (path.exists() and not path.is_file()):
            raise CaseError("is no regular file and is not written over", str(path), "name another")


def write_files(contents: Mapping[Path, bytes], replace: bool = False, remedy: str = "name another") -> None:
    """Write files of which none takes its name before all are on the disk.

    Parameters
    ----------
    contents : mapping
        From each file to what it shall hold; they take their names in this order.
    replace : bool, optional
        Whether those that are there are replaced. Nothing is ever written through a link.

    Raises
    ------
    CaseError
        If one is there already, or the disk is full: what was there is there still.
    """
    refuse_taken(contents, replace, remedy)
    parts: dict[Path, Path] = {}
    try:
        for target, content in contents.items():
            try:
                parts[target] = _written_beside(target, content)
            except OSError as error:
                raise _not_written(target, error) from None
        for target, part in parts.items():
            try:
                _name(part, target, replace)
            except FileExistsError:
                raise CaseError("is there already", str(target), remedy) from None
            except OSError as error:
                raise _not_written(target, error) from None
            _settle(target.parent)
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)


def replace_file(path: Path, content: bytes) -> None:
    """Write a file so that at any moment either the old or the new content is there, whole.

    Parameters
    ----------
    path : Path
        A link keeps pointing where it does.

    Raises
    ------
    OSError
        The old content is still there.
    """
    target = Path(os.path.realpath(path))
    part = _written_beside(target, content)
    try:
        os.replace(part, target)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    _settle(target.parent)


def _not_written(path: Path, error: OSError) -> CaseError:
    return CaseError(f"cannot be written ({error.strerror})", str(path), "what was there is there still")


def _written_beside(target: Path, content: bytes) -> Path:
    """A passing file with that content, safe on the disk, which may take the place of another."""
    _sweep_up(target.parent)
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=_BEGINS, suffix=_ENDS)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, part)
        else:
            part.chmod(0o666 & ~_umask())
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return part


def _name(part: Path, target: Path, replace: bool) -> None:
    if replace:
        os.replace(part, target)
        return
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links to files
        if os.path.lexists(target):
            raise FileExistsError from None
        os.rename(part, target)


def _sweep_up(folder: Path) -> None:
    """Take away what was left where somebody ended the program while it wrote."""
    for path in folder.glob(f"{_BEGINS}*{_ENDS}"):
        with contextlib.suppress(OSError):
            if time.time() - path.lstat().st_mtime > _LEFT_OVER:
                path.unlink()


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def _settle(folder: Path) -> None:
    """Have the folder itself written, so that the new name outlives a loss of power; not every system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
