"""Worker processes for what has to be looked at a million times."""

import os
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import TypeVar

import pytest

ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

Result = TypeVar("Result")
Spread = Callable[..., Iterable[Result]]


def start_worker() -> None:
    warnings.simplefilter("error")


@pytest.fixture(scope="session")
def spread() -> Iterator[Spread]:
    """Like `map`, over the cores that no other test process has; one thread each, the matrices are small."""
    cores = (os.cpu_count() or 1) // int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    if cores <= 1:
        yield map
        return
    with pytest.MonkeyPatch.context() as environment:
        for name in ONE_THREAD:
            environment.setenv(name, "1")
        with ProcessPoolExecutor(cores, get_context("spawn"), start_worker) as pool:
            yield pool.map
