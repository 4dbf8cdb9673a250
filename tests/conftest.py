"""Tests that need more than Python say so with a marker: skipped and loudly counted where it is missing.

GAUGESIM_REQUIRE=ngspice,browser makes what is missing stop the run instead.
"""

import os
from collections import Counter
from pathlib import Path

import pytest
from requirements import REQUIRE_VARIABLE, REQUIREMENTS, missing

from gaugesim.errors import UnknownNameError
from gaugesim.paths import NETLISTS_VARIABLE

REASONS = pytest.StashKey[dict[str, str]]()
SKIPPED = pytest.StashKey[Counter[str]]()


def pytest_configure(config: pytest.Config) -> None:
    # A user's own circuits and screen are no part of the tests.
    os.environ.pop(NETLISTS_VARIABLE, None)
    os.environ["MPLBACKEND"] = "agg"
    for name in REQUIREMENTS:
        config.addinivalue_line("markers", f"{name}: needs {name}, skipped where that is missing")
    config.stash[REASONS] = {name: reason for name in REQUIREMENTS if (reason := missing(name))}
    config.stash[SKIPPED] = Counter()
    for name in filter(None, os.environ.get(REQUIRE_VARIABLE, "").split(",")):
        try:
            reason = missing(name)
        except UnknownNameError as error:
            raise pytest.UsageError(str(error)) from None
        if reason:
            raise pytest.UsageError(f"{REQUIRE_VARIABLE} asks for {name}, which is missing here: {reason}")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    # An example in a docstring cannot carry a marker, and the hook below sees tests alone.
    for item in items:
        if isinstance(item, pytest.DoctestItem) and "spice" in item.path.parts:
            item.add_marker("ngspice")
            if reason := config.stash[REASONS].get("ngspice"):
                config.stash[SKIPPED]["ngspice"] += 1
                item.add_marker(pytest.mark.skip(f"ngspice is missing: {reason}"))


def pytest_runtest_setup(item: pytest.Item) -> None:
    for name, reason in item.config.stash[REASONS].items():
        if item.get_closest_marker(name):
            item.config.stash[SKIPPED][name] += 1
            pytest.skip(f"{name} is missing: {reason}")


@pytest.hookimpl(trylast=True)
def pytest_unconfigure(config: pytest.Config) -> None:
    # After pytest's own closing line, so that it is the last thing seen.
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    for name, count in config.stash.get(SKIPPED, Counter()).items():
        reason = config.stash[REASONS][name]
        line = f"NOT TESTED: {count} {'test' if count == 1 else 'tests'} skipped, {name} is missing: {reason}"
        if reporter is not None:
            reporter.write_line(line, red=True, bold=True)


@pytest.fixture(scope="session")
def repository() -> Path:
    """The checkout under test."""
    return Path(__file__).resolve().parent.parent
