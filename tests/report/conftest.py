"""Jobs of the shipped cases, their pages, and a real browser."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from gaugesim import case as cases
from gaugesim.cli.diagnose import cautions_of
from gaugesim.diagnose import candidates, diagnose
from gaugesim.plan.job import Job, job
from gaugesim.report import job_page
from gaugesim.report.tables import PageData, page_data

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --force-device-scale-factor=1"
).split()


@dataclass(frozen=True)
class Made:
    """A case with its job, the tables of its page, and the page in a file."""

    job: Job
    data: PageData
    html: str
    file: Path


Make = Callable[..., Made]


@pytest.fixture(scope="session")
def make(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> Make:
    """Makes the page of a shipped case, by its name, or of any case file."""

    @cache
    def made(case: str | Path, netlists: Path | None = None) -> Made:
        path = repository / "netlists" / "cases" / f"{case}.toml" if isinstance(case, str) else case
        read = cases.read(path)
        found = diagnose(read, candidates(read, netlists))
        work, text, cautions = job(found), path.read_text(), cautions_of(found)
        html = job_page(work, text, cautions)
        file = tmp_path_factory.mktemp("page") / f"{path.stem}.html"
        file.write_text(html)
        return Made(work, page_data(work, text, cautions), html, file)

    return made


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator["Chrome"]:
    """A headless Chromium with a profile of its own."""
    from selenium.webdriver import Chrome, ChromeOptions
    from selenium.webdriver.chrome.service import Service

    options = ChromeOptions()
    options.binary_location = str(shutil.which("chromium"))
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = Chrome(options, Service(shutil.which("chromedriver")))
    yield driver
    driver.quit()
