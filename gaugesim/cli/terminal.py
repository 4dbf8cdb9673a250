"""The streams of the command: what is printed stands there and does nothing, whoever wrote it."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from gaugesim.plain import clean


class _Plain:
    """A stream to which no control character gets."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write a text, cleaned."""
        return int(self._stream.write(clean(text)))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def _plain(stream: Any) -> Any:
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="replace")
    return _Plain(stream)


def _nowhere() -> io.StringIO:
    """A stream for one that is closed, whose number no file shall get."""
    os.open(os.devnull, os.O_RDWR)
    return io.StringIO()


@contextmanager
def plain_streams() -> Iterator[None]:
    """Print through streams that clean, and that show a question mark for a sign that the terminal has not.

    A stream that was closed before the program began is one that leads nowhere.
    """
    before = sys.stdin, sys.stdout, sys.stderr
    sys.stdin = sys.stdin or _nowhere()
    sys.stdout, sys.stderr = (_plain(stream or _nowhere()) for stream in before[1:])
    try:
        yield
    finally:
        sys.stdin, sys.stdout, sys.stderr = before
