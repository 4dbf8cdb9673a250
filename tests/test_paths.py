"""Where netlists and the ngspice library are found."""

import ctypes
import os
from pathlib import Path

import pytest

from gaugesim import paths
from gaugesim.errors import EngineError, GaugesimError


class TestShippedNetlists:
    def layout(self, monkeypatch: pytest.MonkeyPatch, package: Path, *files: str) -> None:
        for file in files:
            (package.parent / file).parent.mkdir(parents=True, exist_ok=True)
            (package.parent / file).touch()
        monkeypatch.setattr(paths, "PACKAGE", package)

    def test_installed(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        self.layout(monkeypatch, tmp_path / "gaugesim", "gaugesim/netlists/fuel.cir", "netlists/stranger.cir")
        assert paths.shipped_netlists() == tmp_path / "gaugesim" / "netlists"

    def test_checkout(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        self.layout(monkeypatch, tmp_path / "gaugesim", "pyproject.toml", "netlists/fuel.cir")
        assert paths.shipped_netlists() == tmp_path / "netlists"

    @pytest.mark.parametrize("files", [("netlists/stranger.cir",), ("pyproject.toml",)])
    def test_neither(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, files: tuple[str, ...]) -> None:
        self.layout(monkeypatch, tmp_path / "gaugesim", *files)
        with pytest.raises(GaugesimError, match="the shipped netlists are missing; install gaugesim again"):
            paths.shipped_netlists()

    def test_this_checkout(self, repository: Path) -> None:
        assert paths.shipped_netlists() == repository / "netlists"


class TestNetlistFolders:
    @pytest.fixture
    def folders(self, tmp_path: Path) -> list[Path]:
        made = [tmp_path / name for name in ("one", "two", "three")]
        for folder in made:
            folder.mkdir()
        return made

    def test_command_line_then_environment_then_shipped(
        self, monkeypatch: pytest.MonkeyPatch, folders: list[Path]
    ) -> None:
        one, two, three = folders
        monkeypatch.setenv("GAUGESIM_NETLISTS", os.pathsep.join([str(two), "", str(three)]))
        assert paths.netlist_folders(one) == [one, two, three, paths.shipped_netlists()]

    def test_shipped_alone(self) -> None:
        assert paths.netlist_folders() == [paths.shipped_netlists()]

    def test_a_folder_that_does_not_exist_is_named(
        self, monkeypatch: pytest.MonkeyPatch, folders: list[Path]
    ) -> None:
        with pytest.raises(GaugesimError, match=r"^--netlists: there is no folder 'nowhere'; name a folder"):
            paths.netlist_folders(Path("nowhere"))
        monkeypatch.setenv("GAUGESIM_NETLISTS", os.pathsep.join([str(folders[0]), "nowhere"]))
        with pytest.raises(GaugesimError, match=r"^GAUGESIM_NETLISTS: there is no folder 'nowhere'"):
            paths.netlist_folders()


class TestNgspiceLibrary:
    def test_the_one_that_was_named(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        library = tmp_path / "libngspice.so.0"
        library.touch()
        monkeypatch.setenv("GAUGESIM_NGSPICE", str(library))
        assert paths.ngspice_library() == str(library)

    def test_a_wrong_name_is_not_replaced_by_another(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ctypes.util.find_library", lambda _: "libngspice.so.0")
        monkeypatch.setenv("GAUGESIM_NGSPICE", "nowhere/libngspice.so")
        with pytest.raises(EngineError, match=r"no ngspice library at 'nowhere/libngspice.so'"):
            paths.ngspice_library()

    def test_the_loaders_own_comes_first(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.delenv("GAUGESIM_NGSPICE", raising=False)
        monkeypatch.setattr("ctypes.util.find_library", lambda name: f"lib{name}.so.7")
        assert paths.ngspice_library() == "libngspice.so.7"

    def test_a_usual_folder(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        (tmp_path / "lib").mkdir()
        (tmp_path / "lib" / "libngspice.so.0").touch()
        monkeypatch.delenv("GAUGESIM_NGSPICE", raising=False)
        monkeypatch.setattr("ctypes.util.find_library", lambda _: None)
        monkeypatch.setattr(paths.sys, "prefix", str(tmp_path))
        assert paths.ngspice_library() == str(tmp_path / "lib" / "libngspice.so.0")

    def test_none_says_what_to_do(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.delenv("GAUGESIM_NGSPICE", raising=False)
        monkeypatch.setattr("ctypes.util.find_library", lambda _: None)
        monkeypatch.setattr(paths.Path, "glob", lambda self, pattern: iter(()))
        with pytest.raises(
            EngineError, match=r"library is missing; install it .*apt-get install libngspice0"
        ):
            paths.ngspice_library()

    @pytest.mark.ngspice
    def test_the_library_loads(self) -> None:
        loaded = ctypes.CDLL(paths.ngspice_library())
        assert hasattr(loaded, "ngSpice_Init")
