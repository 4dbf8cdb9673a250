"""A terminal of 80 columns with `gaugesim` in it."""

import fcntl
import os
import pty
import random
import select
import signal
import struct
import subprocess
import sys
import termios
from collections.abc import Sequence
from pathlib import Path

# takes the terminal as its own, so that Ctrl-C reaches it, heeds it even if the tests run in the background,
# and becomes the command
START = (
    "import fcntl, os, signal, sys, termios; os.setsid(); fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
    "signal.signal(signal.SIGINT, signal.SIG_DFL); "
    "os.execv(sys.executable, [sys.executable, '-m', 'gaugesim', *sys.argv[1:]])"
)
# long enough for a busy machine; nothing is measured by them
PATIENCE_SECONDS, PRESS_AGAIN_SECONDS = 120, 4


class Terminal:
    """A command in a pseudo-terminal.

    Parameters
    ----------
    folder : Path
        Where it runs.
    *arguments : str
        Of ``gaugesim``.
    """

    def __init__(self, folder: Path, *arguments: str) -> None:
        self._master, inside = pty.openpty()
        fcntl.ioctl(inside, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        root = str(Path(__file__).resolve().parents[2])
        self._process = subprocess.Popen(
            [sys.executable, "-c", START, *arguments],
            cwd=folder,
            stdin=inside,
            stdout=inside,
            stderr=inside,
            env={**os.environ, "PYTHONPATH": root, "TERM": "xterm-256color"},
        )
        os.close(inside)
        self.shown = ""
        self._mark = 0

    def __enter__(self) -> "Terminal":
        return self

    def __exit__(self, *_: object) -> None:
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()
        os.close(self._master)

    def _more(self, seconds: float = PATIENCE_SECONDS) -> bool | None:
        """Read what is shown next: whether there was something, None if nothing came for so long."""
        ready, _, _ = select.select([self._master], [], [], seconds)
        if not ready:
            return None
        try:
            came = os.read(self._master, 4096).decode(errors="replace")
        except OSError:  # the other side is closed
            came = ""
        self.shown += came
        return bool(came)

    def until(self, text: str) -> str:
        """Read until a text is shown that was not there before; what came since the last one."""
        while text not in self.shown[self._mark :]:
            since = self.shown[self._mark :]
            assert self._more(), f"{text!r} never came after {since!r}"
        end = self.shown.index(text, self._mark) + len(text)
        since, self._mark = self.shown[self._mark : end], end
        return since

    def type(self, text: str) -> None:
        """Type a text as it stands."""
        os.write(self._master, text.encode())

    def type_bytes(self, typed: bytes) -> None:
        """Type bytes that may be no text."""
        os.write(self._master, typed)

    def answer(self, text: str) -> str:
        """Wait for the prompt and type a line; what was shown before it."""
        before = self.until("> ")
        self.type(f"{text}\n")
        return before

    def kill(self) -> None:
        """End it without a warning, as when the terminal's window is closed on a dying machine."""
        self._process.send_signal(signal.SIGKILL)
        self._process.wait()

    def end(self, key: str = "") -> int:
        """Press a key, read all that is left; the exit status.

        The key is pressed again while nothing comes of it: a Ctrl-C that falls between the prompt and the
        reading of the line waits for the next key.
        """
        for _ in range(PATIENCE_SECONDS // PRESS_AGAIN_SECONDS):
            self.type(key)
            more: bool | None = True
            while more:
                more = self._more(PRESS_AGAIN_SECONDS)
            if more is False:
                return self._process.wait()
        raise AssertionError(f"it never ended after {self.shown[self._mark :]!r}")


def kill_at_random(
    path: Path,
    arguments: Sequence[str],
    ready: str,
    acts: Sequence[tuple[Sequence[str], str]],
    texts: Sequence[str],
    chance: random.Random,
) -> None:
    """Go on with a file again and again, killed in the middle of it, until all is done; nothing gets lost.

    Each act is a few lines, the last of which changes the file, and what is shown after it; ``texts`` is the
    file before the first act that is left and after each of them; ``ready`` is shown at the beginning.
    """
    done, kills = 0, 0
    while done < len(acts):
        with Terminal(path.parent, *arguments) as terminal:
            terminal.until(ready)
            for lines, shown in acts[done : done + chance.randint(0, 3)]:
                for line in lines:
                    terminal.answer(line)
                terminal.until(shown)
                done += 1
            # in the middle of the next act: some of its lines typed, shown or not
            lines = acts[done][0] if done < len(acts) else ()
            typed = chance.randint(0, len(lines))
            for line in lines[:typed]:
                terminal.answer(line)
            if chance.random() < 0.5:
                terminal.until("\n")
            terminal.kill()
            kills += 1
        text = path.read_text()
        # the last line typed may have been taken or not; nothing that was done is missing
        allowed = texts[done : done + 2] if lines and typed == len(lines) else texts[done : done + 1]
        assert text in allowed
        done = texts.index(text)
    assert path.read_text() == texts[-1]
    assert kills > 3
