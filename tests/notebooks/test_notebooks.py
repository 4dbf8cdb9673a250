"""The notebooks run from top to bottom without an error, and are committed as they were before that."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

REPOSITORY = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted((REPOSITORY / "notebooks").glob("*.ipynb"))


def name(path: Path) -> str:
    return path.stem


def code_cells(notebook: nbformat.NotebookNode) -> list[nbformat.NotebookNode]:
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def execute(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """The notebook with its outputs; an error in a cell is an error here."""
    resources = {"metadata": {"path": str(REPOSITORY)}}
    return NotebookClient(notebook, timeout=600, kernel_name="python3", resources=resources).execute()


def test_there_are_five() -> None:
    assert [path.stem for path in NOTEBOOKS] == [
        "class_on_shared_grounds",
        "faults_and_signatures",
        "from_complaint_to_fault",
        "one_circuit_by_hand",
        "tolerances_and_best_resistor",
    ]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_it_runs_without_an_error_or_a_warning(path: Path) -> None:
    done = execute(nbformat.read(path, as_version=4))
    outputs = [output for cell in code_cells(done) for output in cell.outputs]
    assert outputs
    assert [output.text for output in outputs if output.get("name") == "stderr"] == []


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_it_is_kept_without_outputs(path: Path) -> None:
    cells = code_cells(nbformat.read(path, as_version=4))
    assert [cell.source for cell in cells if cell.outputs or cell.execution_count is not None] == []


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_it_checks_a_number(path: Path) -> None:
    assert any("assert " in cell.source for cell in code_cells(nbformat.read(path, as_version=4)))


def test_a_wrong_number_in_a_notebook_is_seen() -> None:
    wrong = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("assert 1 + 1 == 3")])
    with pytest.raises(CellExecutionError, match="AssertionError"):
        execute(wrong)
