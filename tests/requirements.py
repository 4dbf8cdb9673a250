"""What some tests need beside Python packages, and whether this machine has it.

As a program it says so for one name, with exit status 0 or 1; tests/run asks it before it installs anything.
"""

import shutil
import sys
from collections.abc import Callable

from gaugesim.errors import EngineError, unknown_name
from gaugesim.paths import ngspice_library

REQUIRE_VARIABLE = "GAUGESIM_REQUIRE"


def _missing_ngspice() -> str:
    try:
        ngspice_library()
    except EngineError as error:
        return str(error)
    return ""


def _missing_browser() -> str:
    programs = [name for name in ("chromium", "chromedriver") if shutil.which(name) is None]
    if not programs:
        return ""
    return (
        f"{' and '.join(programs)} not found; install them (Debian: apt-get install chromium chromium-driver)"
    )


# Name of the marker, and of the thing in GAUGESIM_REQUIRE -> why it is missing, "" where it is there.
REQUIREMENTS: dict[str, Callable[[], str]] = {"ngspice": _missing_ngspice, "browser": _missing_browser}


def missing(name: str) -> str:
    """Why `name` cannot be used here, or nothing if it can."""
    if name not in REQUIREMENTS:
        raise unknown_name("requirement", name, REQUIREMENTS, where=REQUIRE_VARIABLE)
    return REQUIREMENTS[name]()


if __name__ == "__main__":
    why = missing(sys.argv[1])
    sys.exit(f"{sys.argv[1]}: {why}" if why else 0)
