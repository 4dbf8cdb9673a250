"""The one place that speaks to the ngspice library.

ngspice is one per process and not made for threads: a lock lets one question in at a time. It carries out
the start-up file (``.spiceinit``) that lies in the current folder, programs included, so it is started in an
empty one; the file in a user's home, if there is one, is the user's own.
"""

from __future__ import annotations

import contextlib
import functools
import tempfile
import threading
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from gaugesim.arrays import Floats
from gaugesim.errors import EngineError
from gaugesim.paths import ngspice_library

# What ngspice says when all is well, on whichever stream.
HARMLESS = (
    b"Doing analysis at",
    b"No. of Data",
    b"Note:",
    b"Using SPARSE",
    b"Using KLU",
    b"Using transient initial conditions",
    b"Warning: can't find the initialization file",
    b"Circuit:",
    b"Initial Transient Solution",
    b"Reducing trtol",
)
COMMANDS_KEPT = 1000  # ngspice keeps what it parsed of every command until told otherwise
LOG_LINES = 6


@functools.cache
def _ascii(names: tuple[str, ...]) -> tuple[bytes, ...]:
    """Names as ngspice takes them; the same are read thousands of times."""
    return tuple(name.encode("ascii") for name in names)


class Engine:
    """The ngspice library of this process, see `engine`."""

    def __init__(self) -> None:
        self.lock = threading.RLock()
        self._shared, self._ffi = _start(ngspice_library())
        self._library = self._shared._ngspice_shared
        self._loaded = False
        self._commands = 0

    def load(self, text: str) -> None:
        """Make a circuit the current one; the one before is forgotten.

        Parameters
        ----------
        text : str
            A netlist, title first. It must come from this package or have been read by `gaugesim.netlist`:
            ngspice would carry out any command in it.

        Raises
        ------
        EngineError
            With what ngspice said.
        """
        self.clear()
        if self._loaded:
            self.command("remcirc")
            self._loaded = False
        lines = [self._ffi.new("char[]", line.encode("ascii")) for line in [*text.splitlines(), ""]]
        self._shared.clear_output()
        failed = self._library.ngSpice_Circ(self._ffi.new("char *[]", [*lines, self._ffi.NULL]))
        self._loaded = not failed
        if failed or self._complains():
            raise self._failure("does not take the circuit")

    def command(self, *commands: str) -> None:
        """Carry out ngspice commands, one after the other.

        Raises
        ------
        EngineError
            With what ngspice said.
        """
        self._shared.clear_output()
        for command in commands:
            self._commands += 1
            if self._commands % COMMANDS_KEPT == 0:
                self._library.ngSpice_Command(self._ffi.NULL)
            failed = self._library.ngSpice_Command(command.encode("ascii"))
            if failed or self._complains():
                raise self._failure(f"gave up on {command[:60]!r}")

    def operating_point(self, vectors: Sequence[str]) -> Floats:
        """Settle the current circuit at direct current, shape (vectors,): voltages [V] and currents [A].

        Parameters
        ----------
        vectors : sequence of str
            What to read: node names, or names of currents such as ``v1#branch``.

        Raises
        ------
        EngineError
            With what ngspice said.
        """
        self.command("destroy all", "op")
        return self.results(vectors, 1)[:, 0]

    def results(self, vectors: Sequence[str], points: int) -> Floats:
        """Results of the last analysis, shape (vectors, points).

        Parameters
        ----------
        points : int
            How many each must have [1].

        Raises
        ------
        EngineError
            If there is one missing, since the analysis failed; with what ngspice said.
        """
        find, unpack = self._library.ngGet_Vec_Info, self._ffi.unpack
        values = []
        for name in _ascii(tuple(vectors)):
            info = find(name)
            data = info.v_realdata if info else None
            if not data or info.v_length != points:
                raise self._failure(f"has no result for {name.decode()}")
            # one is sooner taken than unpacked
            values.append(data[0] if points == 1 else unpack(data, points))
        return np.array(values).reshape(len(vectors), points)

    def vector(self, name: str) -> Floats:
        """A result of the last analysis, shape (points,).

        Raises
        ------
        EngineError
            If there is none, since the analysis failed; with what ngspice said.
        """
        info = self._library.ngGet_Vec_Info(name.encode("ascii"))
        if not info or not info.v_realdata or not info.v_length:
            raise self._failure(f"has no result for {name}")
        # the memory is ngspice's own, and gone with the next analysis
        return np.frombuffer(self._ffi.buffer(info.v_realdata, info.v_length * 8), dtype=float).copy()

    def clear(self) -> None:
        """Forget all results: what is read next cannot be an old one."""
        self.command("destroy all")

    def _complains(self) -> bool:
        return self._shared.gone or any("rror" in line for line in self._log())

    def _log(self) -> list[str]:
        return [line for line in (*self._shared._stdout, *self._shared._stderr) if line.strip()]

    def _failure(self, problem: str) -> EngineError:
        said = " | ".join(line.strip() for line in self._log()[-LOG_LINES:]) or "nothing"
        remedy = "start Python anew before asking it again" if self._shared.gone else ""
        return EngineError(f"{problem}; it said: {said}", where="ngspice", remedy=remedy)


@functools.cache
def engine() -> Engine:
    """The ngspice of this process, started at the first call.

    Raises
    ------
    EngineError
        If the library is missing.
    """
    return Engine()


@contextlib.contextmanager
def using_engine() -> Iterator[Engine]:
    """Have ngspice for oneself for a while."""
    running = engine()
    with running.lock:
        yield running


def _start(library: str) -> tuple[Any, Any]:
    """The process's instance of PySpice's wrapper, and its foreign function interface."""
    from PySpice.Spice.NgSpice.Shared import NgSpiceShared, ffi

    class Quiet(NgSpiceShared):  # type: ignore[misc]
        """PySpice's wrapper, but it takes no harmless remark for a failure and prints none."""

        gone = False

        @staticmethod
        def _send_char(message: Any, number: int, user_data: Any) -> int:
            self = ffi.from_handle(user_data)
            stream, _, said = ffi.string(message).partition(b" ")
            if not said.startswith(HARMLESS):
                content = said.decode("utf-8", "replace")
                (self._stderr if stream == b"stderr" else self._stdout).append(content)
                self._error_in_stdout = self._error_in_stdout or "error" in content.lower()
            return 0

        @staticmethod
        def _send_init_data(data: Any, number: int, user_data: Any) -> int:
            return 0  # results are asked for by name

        @staticmethod
        def _exit(status: int, unload: bool, quits: bool, number: int, user_data: Any) -> int:
            ffi.from_handle(user_data).gone = True
            return 0

        def _init_ngspice(self, send_data: bool) -> None:
            logger: Any = NgSpiceShared._logger
            try:
                self._logger = logger.getChild("start")
                self._logger.disabled = True  # it warns of every version that it does not know
                super()._init_ngspice(send_data)
            finally:
                self._logger = logger

    if shared := NgSpiceShared._instances.get(0):  # PySpice was used before, and starts only once
        shared.__class__ = Quiet
        return shared, ffi
    NgSpiceShared.LIBRARY_PATH = library
    with tempfile.TemporaryDirectory() as empty, contextlib.chdir(empty):
        try:
            # the simulators that PySpice makes take the same instance
            shared = NgSpiceShared._instances[0] = Quiet()
        except OSError as error:
            raise EngineError(
                f"the library {library} cannot be loaded ({error})",
                where="ngspice",
                remedy="install it again",
            ) from None
    return shared, ffi
