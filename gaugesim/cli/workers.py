"""Several processes that do the work."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import AbstractContextManager, contextmanager, nullcontext

from gaugesim.errors import EngineError

# each process takes some hundred megabytes and a second to start, so it does so many tasks at least
MOST_PROCESSES, LEAST_TASKS = 4, 3


def processes_for(tasks: int) -> AbstractContextManager[Executor | None]:
    """As many processes as pay for a class; None if this one does as well."""
    count = min(os.cpu_count() or 1, MOST_PROCESSES, tasks // LEAST_TASKS)
    return nullcontext() if count < 2 else processes(count, "", "is there memory for it? Try fewer tasks")


@contextmanager
def processes(count: int, where: str, remedy: str) -> Iterator[Executor]:
    """A pool of processes, gone when it is left.

    Raises
    ------
    EngineError
        If it was.
    """
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    try:
        with ProcessPoolExecutor(count, get_context("spawn"), _begin) as pool:
            yield pool
    except BrokenProcessPool:
        raise EngineError("a process that did the work was ended", where, remedy) from None


def _begin() -> None:
    """Leave Ctrl-C to the process that is talked to, or each would tell of it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
