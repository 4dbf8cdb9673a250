"""How the package hangs together: order of imports, what an import loads, names, size."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import gaugesim
from gaugesim.scenario.kinds import KINDS

REPOSITORY = Path(__file__).resolve().parent.parent
PACKAGE = REPOSITORY / "gaugesim"
FILES = sorted(PACKAGE.rglob("*.py"))
ORDER = re.findall(r"^ {4}(\w+) {2,}\S", gaugesim.__doc__ or "", re.MULTILINE)

# Slow to load, so imported by the functions that use them.
HEAVY = ("matplotlib", "pandas", "PySpice", "scipy")

# Words of the field are written out; these are the shortened ones that slip in.
ABBREVIATIONS = set(
    """
    abs alt amb amp amps arg attr avg bat batt calc cfg cmd cnt coef coeff coeffs cols comp conf config
    conn const ctx cur curr def deg desc dev diag diff dir dirs dist div doc dst elem elems env err eval
    exc exp expr ext fig fn freq fun func gen gnd hi idx ign img inc init inst int iter iters lbl len lib
    lik lim loc loglik lst mat mem mov msg neg num obj param params pos pred prev prob probs proc prop ptr
    pwr qty rand rcv rec ref reg rel req res resp ret rng rv sched sec secs sel seq sev sig sim sol spec
    src stat stats std str sub sw sym tbl temp temps thr thresh tmp tol tols topo txt util utils val vals
    var vars vec vecs volt wgt
    """.split()
)


def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def dotted(path: Path) -> str:
    parts = path.relative_to(REPOSITORY).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def component(module: str) -> str:
    """The part of the pipeline that a dotted module belongs to, "" for the package itself."""
    return [*module.split("."), ""][1]


def imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and component of every import of gaugesim's own, on whatever level it stands."""
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                package = dotted(path) if path.name == "__init__.py" else dotted(path).rpartition(".")[0]
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, *filter(None, [base])])
            # what is taken from the package itself is a module of it, but for its version
            modules = [alias.name for alias in node.names if not alias.name.startswith("__")]
            names = [f"{base}.{name}" for name in modules] if base == "gaugesim" else [base]
        else:
            continue
        yield from ((node.lineno, component(name)) for name in names if name.split(".")[0] == "gaugesim")


def upstream(path: Path) -> list[str]:
    """The imports of `path` that go against the order in the package's docstring."""
    own = ORDER.index(component(dotted(path)))
    return [
        f"{path.relative_to(REPOSITORY)}:{line}: {ORDER[own]} imports {name or 'gaugesim'} from below"
        for line, name in imported(path)
        if name not in ORDER[: own + 1]
    ]


def test_the_docstring_has_an_order() -> None:
    assert len(ORDER) == len(set(ORDER)) >= 20
    assert (ORDER[0], ORDER[-1]) == ("errors", "cli")


def test_every_module_is_in_the_docstring() -> None:
    present = {component(dotted(path)) for path in FILES} - {"", "__main__"}
    assert present <= set(ORDER), f"not in the docstring of gaugesim: {sorted(present - set(ORDER))}"


def test_no_module_imports_from_further_down() -> None:
    ordered = [path for path in FILES if component(dotted(path)) in ORDER]
    assert [line for path in ordered for line in upstream(path)] == []
    assert {*FILES} - {*ordered} == {PACKAGE / "__init__.py", PACKAGE / "__main__.py"}


def test_the_search_for_a_plan_knows_no_circuits() -> None:
    """Faults, checks and repairs are numbers to it, so that it can be held to problems drawn at random."""
    modules = [path for path in FILES if component(dotted(path)) == "planning"]
    assert len(modules) > 15
    taken = {name: path.name for path in modules for _, name in imported(path)}
    assert taken.keys() <= {"arrays", "errors", "planning"}, taken


@pytest.mark.parametrize(
    ("statement", "names"),
    [
        ("import gaugesim.draw", ["draw"]),
        ("from gaugesim.solve.nodal import solve", ["solve"]),
        ("from gaugesim import draw, report", ["draw", "report"]),
        ("def late():\n    from ..draw import picture", ["draw"]),
        ("from .. import draw", ["draw"]),
        ("from . import sibling", ["physics"]),
        ("import gaugesim", [""]),
        ("import numpy\nfrom gaugesimulator import x", []),
    ],
)
def test_every_way_to_import_is_seen(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, statement: str, names: list[str]
) -> None:
    path = tmp_path / "gaugesim" / "physics" / "probe.py"
    path.parent.mkdir(parents=True)
    path.write_text(statement)
    monkeypatch.setattr(sys.modules[__name__], "REPOSITORY", tmp_path)
    assert [name for _, name in imported(path)] == names
    assert len(upstream(path)) == len([name for name in names if name != "physics"])


# Each statement in a process of its own, as fresh as a new interpreter but for numpy, which all use, and for
# what statements after a + have imported before.
FORKING = """
import os, sys, traceback
import numpy
for statement in sys.argv[1:]:
    if statement[0] == "+":
        exec(statement[1:])
        continue
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        try:
            exec(statement, {})
        except BaseException:
            traceback.print_exc()
            os._exit(1)
        print(statement, *sys.modules, sep="\\t", flush=True)
        os._exit(0)
    if os.waitpid(child, 0)[1]:
        sys.exit(f"cannot: {statement}")
"""


def loaded_by(*statements: str) -> dict[str, set[str]]:
    """The heavy packages that a fresh interpreter has loaded after each of some statements."""
    done = subprocess.run(
        [sys.executable, "-c", FORKING, *statements], cwd=REPOSITORY, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    lines = [line.split("\t") for line in done.stdout.splitlines()]
    return {statement: {name for name in names if name.split(".")[0] in HEAVY} for statement, *names in lines}


MODULES = [dotted(path) for path in FILES if path.name != "__main__.py"]


@pytest.fixture(scope="module")
def loaded() -> dict[str, set[str]]:
    """What each module loads, imported before any other of its component and of those above it."""
    statements = []
    for name in ("", *ORDER):
        own = [f"import {module}" for module in MODULES if component(module) == name]
        statements += [*own, *(f"+{statement}" for statement in own)]
    return loaded_by(*statements)


def test_no_module_loads_anything_heavy(loaded: dict[str, set[str]]) -> None:
    assert [*loaded] == [
        f"import {module}" for name in ("", *ORDER) for module in MODULES if component(module) == name
    ]
    assert {statement: names for statement, names in loaded.items() if names} == {}


def test_a_heavy_import_is_seen_and_not_taken_for_another_modules() -> None:
    loads = loaded_by("import scipy.optimize", "import gaugesim")
    assert "scipy.optimize" in loads["import scipy.optimize"]
    assert loads["import gaugesim"] == set()


def test_an_import_that_fails_is_seen() -> None:
    with pytest.raises(AssertionError, match="cannot: import nowhere"):
        loaded_by("import gaugesim", "import nowhere")


def public_names(path: Path) -> Iterator[tuple[int, str]]:
    """Line and name of what others see: the module, functions, parameters, classes, members, constants."""
    yield 1, dotted(path).rpartition(".")[2]

    def walk(body: list[ast.stmt]) -> Iterator[tuple[int, str]]:
        for node in body:
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                if not node.name.startswith("_"):
                    yield node.lineno, node.name
                if not node.name.startswith("_") or node.name == "__init__":
                    every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
                    yield from ((argument.lineno, argument.arg) for argument in every)
            elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                yield node.lineno, node.name
                yield from walk(node.body)
            elif isinstance(node, ast.AnnAssign | ast.Assign):
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                yield from ((node.lineno, target.id) for target in targets if isinstance(target, ast.Name))

    yield from ((line, name) for line, name in walk(parsed(path).body) if not name.startswith("_"))


def words(name: str) -> set[str]:
    return {word.lower() for word in re.findall(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+", name)}


def test_nothing_is_kept_by_where_it_lies_in_memory() -> None:
    """What `id` gives may be another object's later."""
    asked = [
        f"{path.relative_to(REPOSITORY)}:{node.lineno}"
        for path in FILES
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Name) and node.id == "id" and isinstance(node.ctx, ast.Load)
    ]
    assert asked == []


def test_public_names_are_written_out() -> None:
    shortened = [
        f"{path.relative_to(REPOSITORY)}:{line}: {name}"
        for path in FILES
        for line, name in public_names(path)
        if words(name) & ABBREVIATIONS
    ]
    assert shortened == []


def test_a_shortened_name_is_seen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(sys.modules[__name__], "REPOSITORY", tmp_path)
    path = tmp_path / "cfg.py"
    path.write_text(
        "MAX_TOL = 1\n_tmp = 2\nclass FaultIdx:\n    val: float\n    def __init__(self, cfg): ...\n"
        "def coolant(temp, *, sender_res): ...\ndef _own(tmp): ...\n"
    )
    found = [name for _, name in public_names(path) if words(name) & ABBREVIATIONS]
    assert found == ["cfg", "MAX_TOL", "FaultIdx", "val", "cfg", "temp", "sender_res"]


def test_a_class_shares_its_name_with_no_other() -> None:
    """One word, one concept; what is private to a module may not be called like another's class either."""
    named: dict[str, list[str]] = {}
    for path in FILES:
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.ClassDef):
                own = f"{path.relative_to(REPOSITORY)}:{node.lineno}"
                named.setdefault(node.name.strip("_").lower(), []).append(own)
    assert {name: places for name, places in named.items() if len(places) > 1} == {}


def test_a_check_is_spelled_where_its_kind_is() -> None:
    """Else a kind that is called otherwise is forgotten somewhere. A sheet that is composed spells some."""
    spelled = [
        f"{path.relative_to(REPOSITORY)}:{node.lineno}: {node.value}"
        for path in FILES
        if path.parent.name not in ("kinds", "compose")
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Constant) and str(node.value).split(":")[0] in KINDS
    ]
    assert spelled == []


def test_modules_are_small() -> None:
    lines = {
        str(path.relative_to(REPOSITORY)): path.read_text(encoding="utf-8").count("\n") for path in FILES
    }
    assert {path: count for path, count in lines.items() if count >= 400} == {}


def names_shared(package: Path) -> set[str]:
    """Modules and packages that are called like a function of the package that they stand in."""
    modules = {path.stem for path in package.iterdir() if path.suffix == ".py" or path.is_dir()}
    bodies = [parsed(path).body for path in package.glob("*.py")]
    functions = {node.name for body in bodies for node in body if isinstance(node, ast.FunctionDef)}
    return modules & (functions | (set(gaugesim.__all__) if package == PACKAGE else set()))


@pytest.mark.parametrize("package", sorted({path.parent for path in FILES}), ids=lambda path: path.name)
def test_no_module_is_called_like_a_function_beside_it(package: Path) -> None:
    assert names_shared(package) == set()


def test_the_top_level_holds_only_what_belongs_there() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "gaugesim", "netlists", "notebooks", "tests"}
    made = {"__pycache__", "build", "dist"}
    present = {path.name for path in REPOSITORY.iterdir() if not path.name.startswith(".")}
    assert present - made <= allowed
