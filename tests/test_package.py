"""The sdist and the wheel: what is in them, and that an installed copy finds its netlists from anywhere."""

import os
import re
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

import gaugesim

BUILD = "import sys; from hatchling import build; print(getattr(build, 'build_' + sys.argv[1])(sys.argv[2]))"


def build(kind: str, source: Path, target: Path) -> Path:
    """The sdist or wheel that the build backend makes of `source`."""
    target.mkdir(exist_ok=True)
    command = [sys.executable, "-c", BUILD, kind, str(target)]
    done = subprocess.run(command, cwd=source, capture_output=True, text=True, check=True)
    return target / done.stdout.split()[-1]


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory, repository: Path) -> Path:
    """The checkout without what git would ignore, and with one circuit more."""
    copy = tmp_path_factory.mktemp("source") / "checkout"
    copy.mkdir()
    for name in (".gitignore", "pyproject.toml", "README.md"):
        shutil.copy(repository / name, copy)
    for name in ("gaugesim", "netlists", "tests"):
        shutil.copytree(repository / name, copy / name, ignore=shutil.ignore_patterns("__pycache__", ".*"))
    (copy / "netlists" / "probe" / "deeper").mkdir(parents=True)
    (copy / "netlists" / "probe" / "deeper" / "probe.cir").write_text("* a circuit\n")
    (copy / "netlists" / "__pycache__").mkdir()
    (copy / "netlists" / "__pycache__" / "junk.pyc").touch()
    return copy


@pytest.fixture(scope="module")
def sdist(checkout: Path) -> Path:
    return build("sdist", checkout, checkout.parent / "made")


@pytest.fixture(scope="module")
def wheel(sdist: Path) -> Path:
    """A wheel built the way an installer does it that was given the sdist."""
    with tarfile.open(sdist) as archive:
        # Python 3.11 has the filter only from its fourth patch on.
        archive.extraction_filter = getattr(tarfile, "data_filter", lambda member, _: member)
        archive.extractall(sdist.parent / "unpacked")
    return build("wheel", next((sdist.parent / "unpacked").iterdir()), sdist.parent)


def files(folder: Path) -> set[str]:
    found = (path for path in folder.rglob("*") if path.is_file() and path.suffix != ".pyc")
    return {path.relative_to(folder).as_posix() for path in found}


def test_the_wheel_holds_the_package_and_every_netlist_inside_it(checkout: Path, wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
    package = {f"gaugesim/{name}" for name in files(checkout / "gaugesim")}
    netlists = {f"gaugesim/netlists/{name}" for name in files(checkout / "netlists")}
    assert "gaugesim/netlists/probe/deeper/probe.cir" in netlists
    assert held == package | netlists


def test_the_sdist_holds_the_tests_too(checkout: Path, sdist: Path) -> None:
    with tarfile.open(sdist) as archive:
        held = {name.partition("/")[2] for name in archive.getnames()}
    for folder in ("gaugesim", "netlists", "tests"):
        assert {f"{folder}/{name}" for name in files(checkout / folder)} <= held


def test_the_wheel_says_what_it_is(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        held = {name.rpartition("/")[2]: name for name in archive.namelist()}
        metadata = archive.read(held["METADATA"]).decode()
        commands = archive.read(held["entry_points.txt"]).decode()
    assert f"\nVersion: {gaugesim.__version__}\n" in metadata
    assert "\nRequires-Python: >=3.11\n" in metadata
    assert "gaugesim = gaugesim.cli:main" in commands


def shipped_netlists(package_folder: Path, working_folder: Path) -> Path:
    """What a fresh interpreter answers that has the package of `package_folder` alone."""
    show = "from gaugesim.paths import shipped_netlists; print(shipped_netlists())"
    # -S leaves out the environment's own copy of the package.
    done = subprocess.run(
        [sys.executable, "-S", "-c", show],
        cwd=working_folder,
        env=os.environ | {"PYTHONPATH": str(package_folder)},
        capture_output=True,
        text=True,
        check=True,
    )
    return Path(done.stdout.strip())


def test_an_installed_copy_finds_its_netlists_from_any_folder(wheel: Path, tmp_path: Path) -> None:
    target = tmp_path / "site-packages"
    subprocess.run(
        [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", target, wheel],
        capture_output=True,
        check=True,
    )
    found = shipped_netlists(target, tmp_path)
    assert found == target / "gaugesim" / "netlists"
    assert (found / "probe" / "deeper" / "probe.cir").read_text() == "* a circuit\n"


def test_a_checkout_finds_its_own_netlists_from_any_folder(checkout: Path, tmp_path: Path) -> None:
    assert shipped_netlists(checkout, tmp_path) == checkout / "netlists"


def test_every_dependency_has_a_lower_bound(repository: Path) -> None:
    project = tomllib.loads((repository / "pyproject.toml").read_text())["project"]
    stated = project["dependencies"] + [
        name for extra in project["optional-dependencies"].values() for name in extra
    ]
    assert len(stated) >= 4
    unbounded = [name for name in stated if not re.search(r"(>=|==|~=)\d", name)]
    assert unbounded == []
