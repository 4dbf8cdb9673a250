"""Where things are on this machine: the folders of netlists, and the ngspice library."""

import os
import sys
from pathlib import Path

from gaugesim.errors import EngineError, GaugesimError

NETLISTS_VARIABLE = "GAUGESIM_NETLISTS"
NGSPICE_VARIABLE = "GAUGESIM_NGSPICE"

PACKAGE = Path(__file__).resolve().parent


def shipped_netlists() -> Path:
    """Folder of the circuits that gaugesim brings along.

    ``netlists`` inside the installed package, or beside it in a checkout.

    Raises
    ------
    GaugesimError
        When the installation has neither.

    Examples
    --------
    >>> shipped_netlists().name
    'netlists'
    """
    # In a checkout site-packages is not the parent, so a stranger's netlists/ there is never taken.
    installed, checkout = PACKAGE / "netlists", PACKAGE.parent
    if installed.is_dir():
        return installed
    if (checkout / "pyproject.toml").is_file() and (checkout / "netlists").is_dir():
        return checkout / "netlists"
    raise GaugesimError(
        "the shipped netlists are missing", where=str(installed), remedy="install gaugesim again"
    )


def netlist_folders(extra: Path | None = None) -> list[Path]:
    """Folders in which a circuit is looked for by its id, the first one first.

    `extra`, those in the environment variable ``GAUGESIM_NETLISTS``, then the shipped ones.

    Raises
    ------
    GaugesimError
        When a folder that was asked for does not exist.

    Examples
    --------
    >>> netlist_folders()[-1] == shipped_netlists()
    True
    """
    asked = [("--netlists", extra)] if extra is not None else []
    listed = os.environ.get(NETLISTS_VARIABLE, "").split(os.pathsep)
    asked += [(NETLISTS_VARIABLE, Path(folder)) for folder in listed if folder]
    for origin, folder in asked:
        if not folder.is_dir():
            raise GaugesimError(
                f"there is no folder '{folder}'", where=origin, remedy="name a folder of .cir files"
            )
    return [*(folder for _, folder in asked), shipped_netlists()]


def ngspice_library() -> str:
    """Name under which the system loads the ngspice shared library.

    The path in the environment variable ``GAUGESIM_NGSPICE`` if it is set, else the library that the system's
    loader or one of the usual folders has.

    Raises
    ------
    EngineError
        When there is none, or the variable names a file that does not exist.

    Examples
    --------
    >>> from unittest import mock
    >>> with mock.patch.dict(os.environ, GAUGESIM_NGSPICE="old/libngspice.so"):
    ...     try:
    ...         ngspice_library()
    ...     except EngineError as error:
    ...         print(error.where, error.problem, sep=": ")
    GAUGESIM_NGSPICE: there is no ngspice library at 'old/libngspice.so'
    """
    named = os.environ.get(NGSPICE_VARIABLE)
    if named:
        if Path(named).is_file():
            return named
        raise EngineError(
            f"there is no ngspice library at '{named}'",
            where=NGSPICE_VARIABLE,
            remedy="name the file of the shared library, or leave the variable unset",
        )
    from ctypes.util import find_library  # slow to start, and seldom wanted

    loader = find_library("ngspice")
    if loader:
        return loader
    for folder in (Path(sys.prefix, "lib"), *map(Path, ("/usr/local/lib", "/opt/homebrew/lib", "/usr/lib"))):
        for pattern in ("libngspice.so*", "libngspice*.dylib", "*/libngspice.so*"):
            for library in sorted(folder.glob(pattern)):
                return str(library)
    raise EngineError(
        "the ngspice shared library is missing",
        remedy=f"install it (Debian: apt-get install libngspice0), or name its file in {NGSPICE_VARIABLE}",
    )
