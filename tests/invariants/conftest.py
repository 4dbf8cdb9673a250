"""Worker processes for what has to be looked at a million times."""

import os
import warnings
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from multiprocessing import get_context

import pytest

ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def start_worker() -> None:
    warnings.simplefilter("error")


@pytest.fixture(scope="session")
def workers() -> Iterator[Executor]:
    """One process a core; each with one thread, since the matrices are small."""
    with pytest.MonkeyPatch.context() as environment:
        for name in ONE_THREAD:
            environment.setenv(name, "1")
        with ProcessPoolExecutor(os.cpu_count(), get_context("spawn"), start_worker) as pool:
            yield pool
