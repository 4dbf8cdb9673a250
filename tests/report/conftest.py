"""Jobs of the shipped cases, their pages, and a real browser."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from gaugesim.advice.jobs import Job
from gaugesim.consultation import Consultation, consult
from gaugesim.report.job_html import page_text
from gaugesim.report.tables import PageData, page_data
from gaugesim.report.wiring import Pictures

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --force-device-scale-factor=1"
).split()


@dataclass(frozen=True)
class Made:
    """A case with all that follows from it, the tables of its page, and the page in a file."""

    consultation: Consultation
    data: PageData
    html: str
    file: Path

    @property
    def job(self) -> Job:
        return self.consultation.job


Make = Callable[..., Made]


@pytest.fixture(scope="session")
def make(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> Make:
    """Makes the page of a shipped case, by its name, or of any case file."""

    @cache
    def made(case: str | Path, netlists: Path | None = None) -> Made:
        path = repository / "netlists" / "cases" / f"{case}.toml" if isinstance(case, str) else case
        consultation, text = consult(path, netlists), path.read_text()
        pictures = Pictures(consultation.job)
        data = page_data(consultation, text, pictures)
        html = page_text(consultation, data, pictures)
        file = tmp_path_factory.mktemp("page") / f"{path.stem}.html"
        file.write_text(html)
        return Made(consultation, data, html, file)

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
