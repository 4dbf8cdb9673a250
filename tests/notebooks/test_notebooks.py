"""The notebooks run from top to bottom, say today what they said when they were kept, and need one import."""

import ast
from pathlib import Path

import nbformat
import pytest
from nbclient.exceptions import CellExecutionError
from outputs import NOTEBOOKS, executed, outputs, texts


def name(path: Path) -> str:
    return path.stem


def kept(path: Path) -> nbformat.NotebookNode:
    return nbformat.read(path, as_version=4)


def sources(path: Path) -> list[str]:
    return [cell.source for cell in kept(path).cells if cell.cell_type == "code"]


def test_there_are_five() -> None:
    assert [path.stem for path in NOTEBOOKS] == [
        "class_on_shared_grounds",
        "faults_and_signatures",
        "from_complaint_to_fault",
        "one_circuit_by_hand",
        "tolerances_and_best_resistor",
    ]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_what_it_shows_is_what_comes_out(path: Path) -> None:
    """Where it does not any more, ``python tests/outputs.py`` puts there what comes out."""
    before = kept(path)
    done = executed(kept(path))
    assert [output.text for output in outputs(done) if output.get("name") == "stderr"] == []
    assert texts(done) == texts(before)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_it_is_kept_as_it_ran(path: Path) -> None:
    cells = [cell for cell in kept(path).cells if cell.cell_type == "code"]
    assert [cell.execution_count for cell in cells] == list(range(1, len(cells) + 1))
    assert "a picture" in texts(kept(path))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_one_import_is_enough(path: Path) -> None:
    """Beside the front door it takes the standard library's arithmetic at most."""
    nodes = [node for source in sources(path) for node in ast.walk(ast.parse(source))]
    imports = [ast.unparse(node) for node in nodes if isinstance(node, ast.Import | ast.ImportFrom)]
    assert set(imports) - {"import math"} == {"import gaugesim as gs"}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_it_says_what_it_needs(path: Path) -> None:
    assert "Needs gaugesim and Jupyter" in kept(path).cells[0].source


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_it_checks_a_number(path: Path) -> None:
    assert any("assert " in source for source in sources(path))


def test_a_wrong_number_in_a_notebook_is_seen() -> None:
    wrong = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("assert 1 + 1 == 3")])
    with pytest.raises(CellExecutionError, match="AssertionError"):
        executed(wrong)
