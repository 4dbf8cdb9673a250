"""Jobs out of the shipped cases, made once."""

from functools import cache
from pathlib import Path

import pytest

from gaugesim.advice.jobs import Job
from gaugesim.consultation import Consultation, consult

FOLDER = Path(__file__).parents[2] / "netlists/cases"


@cache
def consultation_of(name: str) -> Consultation:
    return consult(FOLDER / f"{name}.toml")


@pytest.fixture(params=sorted(path.stem for path in FOLDER.glob("*.toml")))
def any_job(request: pytest.FixtureRequest) -> Job:
    """The job of each shipped case in turn."""
    return consultation_of(request.param).job


@pytest.fixture
def workboat() -> Job:
    """The job of the needle that is stuck at half."""
    return consultation_of("stuck_at_half").job


@pytest.fixture
def fire_pump() -> Job:
    """The job of the sender that cured the gauge for a week."""
    return consultation_of("cured_for_a_week").job
