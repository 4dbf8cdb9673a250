"""Ids of parts stand in sheets and in ``netlists/kinds/roles.toml``; code names none and no ending."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import gaugesim
from gaugesim.circuit import available, find, of_words
from gaugesim.sheet import Part

PACKAGE = Path(gaugesim.__file__).parent
# They write netlists and sheets: ids are what they put out.
WRITERS = ("compose/circuit_text.py", "compose/composed_sheet.py")
# What is called as a part is, and is none.
NO_PARTS = {
    ("compose/words.py", "sender_ground"): "a key of [vehicle] in a case",
    ("conversation/vehicle.py", "sender_ground"): "the same key",
    ("compose/layout.py", "panel_ground"): "a node of the netlist",
}
VEHICLES = (
    {"wiring": "boat", "temperature": {}, "fuel": {}, "oil_pressure": {}, "voltmeter": {}},
    {"temperature": {"studs": 4}},
)


# where a text is surely an id of a part
LOOKED_UP = (
    ".part",
    "parts.get",
    "parts",
    "id.endswith",
    "id.startswith",
    "part.endswith",
    "part.startswith",
)


@pytest.fixture(scope="module")
def parts() -> list[Part]:
    found = [*map(find, available()), *(circuit for said in VEHICLES for circuit in of_words(said))]
    return [part for circuit in found for part in circuit.sheet.parts.values()]


def looked_up(tree: ast.Module) -> Iterator[ast.AST]:
    """Expressions by which a part is looked up, compared or put together."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith(LOOKED_UP):
            yield from node.args
        elif isinstance(node, ast.Subscript) and ast.unparse(node.value).endswith("parts"):
            yield node.slice
        elif isinstance(node, ast.Compare):
            sides = [ast.unparse(side) for side in (node.left, *node.comparators)]
            if any(side.endswith((".id", "bare(part)", ".parts")) for side in sides):
                yield node
        elif isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.FormattedValue):
            yield node


def named(tree: ast.Module, parts: list[Part]) -> Iterator[tuple[int, str]]:
    """Line and text of each string, docstrings aside, that is an id of a part or the end of one.

    A kind, or one word as "sender", is an id only where a part is looked up by it: else it is a kind, a key,
    a word of the trade.
    """
    bare = {part.id.removeprefix(f"{part.gauge}_") for part in parts}
    ids = bare | {part.id for part in parts}
    ends = {name[at:] for name in ids for at, letter in enumerate(name) if letter == "_"}
    kinds = {part.kind for part in parts}
    sure = {id(each) for node in looked_up(tree) for each in ast.walk(node)}
    blocks = [
        node for node in ast.walk(tree) if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
    ]
    told = {id(block.body[0].value) for block in blocks if isinstance(block.body[0], ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            text = node.value
            if text in ids | ends if id(node) in sure else text in ids - kinds and "_" in text:
                yield node.lineno, text


def test_no_module_names_a_part(parts: list[Part]) -> None:
    seen = []
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        if name not in WRITERS:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            seen += [
                f"{name}:{line}: {text}" for line, text in named(tree, parts) if (name, text) not in NO_PARTS
            ]
    assert seen == []


@pytest.mark.parametrize(
    "code",
    [
        'ends = ("sender_connector", "other")',
        'circuit.part("sender", gauge)',
        'found = sheet.parts.get("movement")',
        'found = sheet.parts["fuse"]',
        'mine = part.id.endswith("sender")',
        'mine = part.id == "sender"',
        'there = f"{gauge}_sender" in names',
        'own = {f"{prefix}sender": 1}',
        'there = "fuse" in sheet.parts',
    ],
)
def test_a_part_named_in_code_is_seen(code: str, parts: list[Part]) -> None:
    assert list(named(ast.parse(code), parts))


@pytest.mark.parametrize(
    "code", ['kinds = ("wire", "feed_wire")', 'rows = {"sender": 1}', 'x = part.kind == "fuse"']
)
def test_kinds_and_words_are_no_ids(code: str, parts: list[Part]) -> None:
    assert not list(named(ast.parse(code), parts))


def test_what_is_excused_is_still_there() -> None:
    for name, text in NO_PARTS:
        assert f'"{text}"' in (PACKAGE / name).read_text(encoding="utf-8"), name
