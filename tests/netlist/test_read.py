"""What the netlist reader accepts, and what it makes of it."""

import pickle
from pathlib import Path

import numpy as np
import pytest

from gaugesim.errors import NetlistError, UnknownNameError
from gaugesim.netlist import Netlist, read, read_text

FULL = """Every kind of statement
* a rule and a blank line end a comment
*-- section --

* battery
* inside
Vbattery in 0 DC 12
Rwire IN out {2*per_metre}   ; end of line
.PARAM per_metre=0.5 LENGTH = '3' area={length/2}
Rlonger out a
* in between
+ {
+ length }
Iload 0 a 1m $ another comment
Lchoke a b L=1mH
Cfilter b 0 c = {1u}
Xone b 0 two_in_series PARAMS: ohms={2k}
Xtwo b gnd two_in_series ohms=length
Xdefault b 0 two_in_series // the last
.subckt two_in_series top bottom params: ohms=1k
.param half={ohms/2}
Rupper top middle {half}
Xlower middle bottom inner params: ohms={half}
.ends two_in_series
.subckt inner p q params: ohms=7
Ronly p q {ohms*scale}
.ends
.param scale=1
.op
.end
"""


@pytest.fixture(scope="module")
def full() -> Netlist:
    return read_text(FULL)


def test_names_and_nodes_are_ngspices_own(full: Netlist) -> None:
    assert full.title == "Every kind of statement"
    assert [part.name for part in full.elements] == [
        "vbattery", "rwire", "rlonger", "iload", "lchoke", "cfilter",
        "r.xone.rupper", "r.xone.xlower.ronly",
        "r.xtwo.rupper", "r.xtwo.xlower.ronly",
        "r.xdefault.rupper", "r.xdefault.xlower.ronly",
    ]  # fmt: skip
    assert full.nodes == ("in", "out", "a", "b", "xone.middle", "xtwo.middle", "xdefault.middle")
    assert [(part.node_a, part.node_b) for part in full.elements][-4:] == [
        ("b", "xtwo.middle"),
        ("xtwo.middle", "0"),
        ("b", "xdefault.middle"),
        ("xdefault.middle", "0"),
    ]
    assert "".join(part.kind for part in full.elements) == "vrrilcrrrrrr"


def test_values_follow_the_parameters(full: Netlist) -> None:
    values = full.values()
    assert values["vbattery"] == 12
    assert values["rwire"] == 1
    assert values["rlonger"] == 3
    assert (values["iload"], values["lchoke"], values["cfilter"]) == (1e-3, 1e-3, 1e-6)
    assert (values["r.xone.rupper"], values["r.xone.xlower.ronly"]) == (1000, 1000)
    assert (values["r.xtwo.rupper"], values["r.xtwo.xlower.ronly"]) == (1.5, 1.5)
    assert (values["r.xdefault.rupper"], values["r.xdefault.xlower.ronly"]) == (500, 500)
    changed = full.values({"length": 8.0, "scale": 10.0})
    assert changed["rlonger"] == 8
    assert (changed["r.xtwo.rupper"], changed["r.xtwo.xlower.ronly"]) == (4, 40)


def test_parameters(full: Netlist) -> None:
    assert full.parameters == ("per_metre", "length", "area", "scale")
    assert full.parameter_values() == {"per_metre": 0.5, "length": 3, "area": 1.5, "scale": 1}
    assert full.parameter_values({"length": 5.0})["area"] == 2.5
    assert full.where["area"] == "netlist.cir:9"


def test_a_parameter_may_be_an_array(full: Netlist) -> None:
    lengths = np.array([1.0, 2.0, 4.0])
    values = full.values({"length": lengths})
    assert values["rlonger"].tolist() == [1, 2, 4]
    assert values["r.xtwo.rupper"].tolist() == [0.5, 1, 2]
    assert values["rwire"] == 1


def test_comments_and_places(full: Netlist) -> None:
    battery, wire, longer = full.elements[:3]
    assert (battery.comment, battery.where) == ("battery inside", "netlist.cir:7")
    assert (wire.comment, wire.where) == ("", "netlist.cir:8")
    assert longer.where == "netlist.cir:10"


def test_an_element_by_name(full: Netlist) -> None:
    assert full.element("r.xone.rupper").value.text == "half"
    with pytest.raises(UnknownNameError, match=r"no element is called 'rwir'; did you mean rwire\?"):
        full.element("rwir")


def test_a_parameter_to_set_must_exist(full: Netlist) -> None:
    for method in (full.values, full.parameter_values):
        with pytest.raises(UnknownNameError, match="no parameter is called 'lenght'; did you mean length"):
            method({"lenght": 1.0})
    with pytest.raises(UnknownNameError, match="no parameter is called 'ohms'"):  # a subcircuit's own
        full.values({"ohms": 1.0})


def test_which_elements_a_parameter_moves(full: Netlist) -> None:
    def moved(*names: str) -> list[str]:
        return [part.name for part in full.moved_by(names)]

    assert moved("per_metre") == ["rwire"]
    assert moved("length") == ["rlonger", "r.xtwo.rupper", "r.xtwo.xlower.ronly"]
    assert moved("area", "nothing") == []
    assert moved("scale") == ["r.xone.xlower.ronly", "r.xtwo.xlower.ronly", "r.xdefault.xlower.ronly"]
    for name in full.parameters:  # as seen from outside: what changes when it does
        before, after = full.values(), full.values({name: 17.5})
        assert [part for part in before if before[part] != after[part]] == moved(name)


def test_parameters_that_branch_at_every_step_are_looked_through_at_once() -> None:
    steps = "".join(f".param a{i}={{a{i + 1}+b{i + 1}}} b{i}={{a{i + 1}*b{i + 1}}}\n" for i in range(60))
    netlist = read_text(f"title\n{steps}.param a60=0.5 b60=0.5\nR1 x 0 {{a0+b0}}\n")
    assert [part.name for part in netlist.moved_by(["b60"])] == ["r1"]
    circle = read_text("title\n.param p={q} q={p}\nR1 x 0 {p}\n")
    assert [part.name for part in circle.moved_by(["q"])] == ["r1"]


def test_a_parameter_that_is_not_given_is_the_callers() -> None:
    # ngspice looks a name up where the subcircuit is used, not where it is written
    text = (
        "t\n.param g=6\n.subckt inner p\nR1 p 0 {g}\n.ends\n.subckt outer p params: g=1\nXin p inner\n.ends\n"
        "V1 a 0 12\nX1 a outer params: g=3\nX2 a inner\n"
    )
    assert read_text(text).values() == {"v1": 12, "r.x1.xin.r1": 3, "r.x2.r1": 6}


def test_an_instance_may_hand_a_parameter_on_under_its_own_name() -> None:
    text = "t\n.param r=6\n.subckt s p params: r=1\nR1 p 0 {r}\n.ends\nV1 a 0 12\nX1 a s params: r={r/2}\n"
    assert read_text(text).values()["r.x1.r1"] == 3


def test_it_travels_to_another_process(full: Netlist) -> None:
    assert pickle.loads(pickle.dumps(full)).values() == full.values()


def write(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        path = folder / f"{name.replace('__', '/')}.cir"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return folder / "main.cir"


def test_included_files_are_put_in_place(tmp_path: Path) -> None:
    main = write(
        tmp_path,
        main='title\n.include part.cir\n.INC "below/More.cir"\nV1 a 0 6\n.param x=2\n',
        part="R1 a b {x} ; line 1 of an included file is a statement\n",
        below__More="* comment\n.include deeper/last.cir\n.include '../side.cir'\n",
        below__deeper__last="R2 b 0 1\n",
        side="R3 b 0 2\n",
    )
    netlist = read(main)
    assert [(part.name, part.where) for part in netlist.elements] == [
        ("r1", "part.cir:1"), ("r2", "last.cir:1"), ("r3", "side.cir:1"), ("v1", "main.cir:4"),
    ]  # fmt: skip
    assert [path.name for path in netlist.files] == [
        "main.cir",
        "part.cir",
        "More.cir",
        "last.cir",
        "side.cir",
    ]
    assert [line.written for line in netlist.lines] == [
        "",
        "R1 a b {x}",
        "R2 b 0 1",
        "R3 b 0 2",
        "V1 a 0 6",
        ".param x=2",
    ]
    assert netlist.lines[0].text == "title"


def test_windows_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "main.cir"
    path.write_bytes(b"title\r\nV1 a 0\r\n+ 12\r\nR1 a 0 6\r\n")
    assert read(path).values() == {"v1": 12, "r1": 6}


OUTSIDE = "an included file lies in the netlist's own folder or below"


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("../secret.cir", OUTSIDE),
        ("below/../../secret.cir", OUTSIDE),
        ("{absolute}", OUTSIDE),
        ("link.cir", OUTSIDE),
        ("folder_link/secret.cir", OUTSIDE),
        ("/etc/passwd", OUTSIDE),
        ("nothing.cir", "which is not there"),
        ("below", "which is not there"),
        ("main.cir", "a second time"),
        ("below/../main.cir", "a second time"),
        ("inner_link.cir", "a second time"),
        ("loop.cir", "a second time"),
    ],
)
def test_includes_that_are_refused(tmp_path: Path, name: str, reason: str) -> None:
    folder = tmp_path / "own"
    secret = tmp_path / "secret.cir"
    secret.write_text("R1 a 0 1\n")
    main = write(
        folder,
        main=f"title\nV1 a 0 1\n.include {name.format(absolute=secret)}\nR9 a 0 1\n",
        below__x="R2 a 0 1\n",
        loop=".include loop2.cir\n",
        loop2=".include loop.cir\n",
    )
    (folder / "link.cir").symlink_to(secret)
    (folder / "folder_link").symlink_to(tmp_path)
    (folder / "inner_link.cir").symlink_to(main)
    with pytest.raises(NetlistError, match=reason) as caught:
        read(main)
    assert caught.value.where == ("loop2.cir:1" if name == "loop.cir" else "main.cir:3")


def test_a_file_twice_is_refused(tmp_path: Path) -> None:
    main = write(tmp_path, main="title\n.include x.cir\n.include x.cir\n", x="R1 a 0 1\n")
    with pytest.raises(
        NetlistError, match=r"main\.cir:3: includes 'x\.cir' a second time; include each file once"
    ):
        read(main)


def test_too_many_files(tmp_path: Path) -> None:
    files = {f"f{i}": f".include f{i + 1}.cir\n" for i in range(250)}
    main = write(tmp_path, main="title\n.include f0.cir\n", **files)
    with pytest.raises(NetlistError, match="includes more than 200 files"):
        read(main)


def test_files_that_are_no_netlists(tmp_path: Path) -> None:
    with pytest.raises(NetlistError, match=r"cannot be read \(No such file or directory\); name a readable"):
        read(tmp_path / "none.cir")
    with pytest.raises(NetlistError, match=r"cannot be read \(Is a directory\)"):
        read(tmp_path)
    path = tmp_path / "main.cir"
    path.write_bytes(b"title\nR1 a 0 \xff\n")
    with pytest.raises(NetlistError, match="is not plain text; save it as UTF-8"):
        read(path)
    path.write_text("title\n" + "* filler\n" * 120_000)
    with pytest.raises(NetlistError, match="it has more than 1000000 bytes"):
        read(path)
    path.write_text("")
    with pytest.raises(NetlistError, match="the file is empty"):
        read(path)
