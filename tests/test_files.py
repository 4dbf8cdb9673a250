"""Files are read with a limit, and written whole or not at all."""

import ast
import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

import gaugesim
from gaugesim.errors import CaseError
from gaugesim.files import read_file, write_files

# ways of writing a file, as they are called
WRITES = {"write_text", "write_bytes", "savefig", "NamedTemporaryFile", "mkstemp", "touch", "copyfile"}


def full(*_: object) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_file_is_read_up_to_a_limit(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"x" * 10)
    assert read_file(path, 10) == b"x" * 10
    with pytest.raises(OSError, match="it has more than 9 bytes"):
        read_file(path, 9)


def test_what_has_no_end_is_not_read(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero")):
        with pytest.raises(OSError, match="it is no regular file"):
            read_file(path)


def test_several_files_or_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    old.write_bytes(b"old")
    with pytest.raises(CaseError, match=f"{old}: is there already; name another"):
        write_files({new: b"1", old: b"2"})
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(CaseError, match=rf"{new}: cannot be written \(No space left on device\)"):
        write_files({new: b"1", old: b"2"}, replace=True)
    assert old.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["old"]
    monkeypatch.undo()
    write_files({new: b"1", old: b"2"}, replace=True)
    assert (new.read_bytes(), old.read_bytes()) == (b"1", b"2")
    assert sorted(os.listdir(tmp_path)) == ["new", "old"]


@pytest.mark.parametrize("there", ["a file", "nothing"])
@pytest.mark.parametrize("replace", [False, True])
def test_nothing_is_written_through_a_link(tmp_path: Path, there: str, replace: bool) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    if there == "a file":
        real.write_bytes(b"mine")
    link.symlink_to(real)
    with pytest.raises(CaseError, match=f"{link}: is "):
        write_files({link: b"theirs"}, replace)
    assert link.is_symlink()
    assert not real.exists() if there == "nothing" else real.read_bytes() == b"mine"


def test_a_file_that_comes_up_meanwhile_is_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a"
    real = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: (path.write_bytes(b"theirs"), real(handle)))
    with pytest.raises(CaseError, match="is there already"):
        write_files({path: b"mine"})
    assert path.read_bytes() == b"theirs"
    assert os.listdir(tmp_path) == ["a"]


def test_where_files_cannot_be_linked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", refuse)
    write_files({tmp_path / "a": b"1"})
    assert (tmp_path / "a").read_bytes() == b"1"
    assert os.listdir(tmp_path) == ["a"]


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match=r"none/a: cannot be written \(there is no such folder\)"):
        write_files({tmp_path / "none" / "a": b"1"})


def test_what_a_kill_left_is_swept_up_when_nobody_can_be_writing_it(tmp_path: Path) -> None:
    old, young = tmp_path / ".gaugesim.old.part", tmp_path / ".gaugesim.young.part"
    for path in (old, young):
        path.write_bytes(b"half")
    os.utime(old, (0, 0))
    write_files({tmp_path / "a": b"1"})
    assert sorted(os.listdir(tmp_path)) == [".gaugesim.young.part", "a"]


# In a process of its own, as it forks: it copies a circuit again and again and ends each time one call to the
# system later, as a kill would; after each the same copy must do.
KILLED = """
import os, sys
from pathlib import Path
from gaugesim import circuit
from gaugesim.template import copy_circuit

original = circuit.find("temp_two_coil")
folder = Path(sys.argv[1])
kills = 0
while True:
    to = folder / str(kills)
    if not (child := os.fork()):
        calls = 0
        def counted(real):
            def call(*words, **more):
                global calls
                if calls == kills:
                    os._exit(9)
                calls += 1
                return real(*words, **more)
            return call
        for name in ("open", "fsync", "link", "unlink", "mkdir"):
            setattr(os, name, counted(getattr(os, name)))
        copy_circuit(original, "mine", to)
        os._exit(0)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    if status == 0:
        break
    assert status == 9, status
    begun = (to / "mine.cir").exists()
    if begun:
        circuit.read(to / "mine.cir")  # all of it is there
    else:
        copy_circuit(original, "mine", to)
    kills += 1
print(kills)
"""


def test_a_copy_that_was_killed_does_not_block_the_next(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(tmp_path)], capture_output=True, text=True, check=False
    )
    assert not done.stderr
    assert int(done.stdout) > 20


def test_there_is_one_way_of_writing() -> None:
    package = Path(gaugesim.__file__).parent
    for path in sorted(package.rglob("*.py")):
        if path.name == "files.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            words = [word.value for word in node.args if isinstance(word, ast.Constant)]
            where = f"{path.name}:{node.lineno}"
            # a figure may be drawn into memory
            in_memory = name == "savefig" and getattr(node.args[0], "id", "") in ("buffer", "drawn")
            assert name not in WRITES or in_memory, where
            assert name != "open" or not {"w", "wb", "x", "xb", "a", "ab", "r+"} & set(words), where
