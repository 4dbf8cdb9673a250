"""Jobs out of the shipped cases, made once."""

from functools import cache
from pathlib import Path

import pytest

from gaugesim import case as cases
from gaugesim.diagnose import diagnose
from gaugesim.plan.job import Job, job

FOLDER = Path(__file__).parents[2] / "netlists/cases"


@cache
def job_of(name: str) -> Job:
    return job(diagnose(cases.read(FOLDER / f"{name}.toml")))


@pytest.fixture(params=sorted(path.stem for path in FOLDER.glob("*.toml")))
def any_job(request: pytest.FixtureRequest) -> Job:
    """The job of each shipped case in turn."""
    return job_of(request.param)


@pytest.fixture
def workboat() -> Job:
    """The job of the needle that is stuck at half."""
    return job_of("stuck_at_half")


@pytest.fixture
def fire_pump() -> Job:
    """The job of the sender that cured the gauge for a week."""
    return job_of("cured_for_a_week")
