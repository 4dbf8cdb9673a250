"""Part ids stand in sheets: code knows kinds, points, and a few names that every gauge's parts have."""

import ast
from pathlib import Path

import gaugesim
from gaugesim.circuit import available, find

PACKAGE = Path(gaugesim.__file__).parent
# what every gauge has under these names, and what its leads lead through
OF_A_GAUGE = {
    "sender",
    "sender_connector",
    "sender_ground",
    "sender_wire",
    "harness_plug_sender",
    "panel_connector_sender",
    "foil_sender",
    "sender_leads",
    "gauge_leads",
}


def texts(module: Path) -> set[str]:
    """All strings of a module but its docstrings."""
    tree = ast.parse(module.read_text())
    blocks = [
        node for node in ast.walk(tree) if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
    ]
    told = {id(block.body[0].value) for block in blocks if isinstance(block.body[0], ast.Expr)}
    constants = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and id(node) not in told]
    return {node.value for node in constants if isinstance(node.value, str)}


def test_no_module_names_a_part() -> None:
    ids, allowed = set(), set(OF_A_GAUGE)
    for circuit in map(find, available()):
        sheet = circuit.sheet
        for entry in (*sheet.parts.values(), *sheet.points.values()):
            bare = entry.id.removeprefix(f"{entry.gauge}_")
            (ids if entry.id in sheet.parts else allowed).update((entry.id, bare))
        allowed |= {part.kind for part in sheet.parts.values()} | {*sheet.points}
    # vehicles of a few words are laid out in a module of its own, where sheets are written
    modules = [path for path in PACKAGE.rglob("*.py") if path.parent.name != "compose"]
    named = {path.name: texts(path) & ids - allowed for path in modules}
    assert {name: found for name, found in named.items() if found} == {}
