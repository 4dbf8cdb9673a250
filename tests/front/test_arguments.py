"""What is handed in wrongly at the front door: every name says in one line what would be right."""

import inspect
import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib import pyplot

import gaugesim as gs
from gaugesim.errors import GaugesimError
from gaugesim.front.arguments import looked_at

CIRCUIT = "temp_two_coil"
CASE = {"circuit": CIRCUIT, "seen": [{"state": "running_warm", "needle": "pegged_low"}]}
POINTS = {"gauge": "fuel", "needle": [{"ohms": 10, "position": 1}, {"ohms": 73, "position": 0}]}
WRONG: tuple[Any, ...] = (
    object(), "temp_two_coli", "", math.nan, math.inf, -1, b"x", {"a": 1}, [["a"]], np.zeros((2, 2)),
    Path("/nowhere/x.toml"), gs,
)  # fmt: skip
# each name with what it needs at least
CALLS: dict[str, dict[str, Any]] = {
    "circuits": {},
    "diagnose": {"case": CASE},
    "evaluate": {"circuits": CIRCUIT, "cases": 2, "plans": 0},
    "find_circuit": {"name": CIRCUIT},
    "fit": {"points": POINTS},
    "monte_carlo": {"circuit": CIRCUIT, "samples": 2},
    "plan": {"case": CASE},
    "practice": {"circuit": CIRCUIT},
    "read_case": {"source": CASE},
    "see": {"circuit": CIRCUIT},
    "sweep": {"circuit": CIRCUIT, "faults": "sound"},
    "transient": {"circuit": CIRCUIT, "seconds": 1.0},
    "find_circuit.to_pyspice": {},
    "diagnose.after": {"answer": None},
    "plan.after": {"answer": None},
    "fit.write": {"name": "own_gauge"},
    "practice.do": {"said": "hint"},
    "plot.bench": {"circuit": CIRCUIT},
    "plot.dials": {"seen": gs.see},
    "plot.fault_curves": {"circuit": CIRCUIT},
    "plot.movement": {"circuit": CIRCUIT},
    "plot.projector": {"seen": gs.see},
    "plot.ranking": {"stages": {"nothing known": gs.diagnose}},
    "plot.schematic": {"seen": gs.see},
    "plot.sender": {"circuit": CIRCUIT},
    "plot.signatures": {"circuit": CIRCUIT, "checks": ["unplug_sender"]},
    "plot.transient": {"run": gs.transient},
    "plot.why": {"seen": gs.see},
}
# what any other keyword of a name is an entry of
OTHERS = {"diagnose.after": "needle", "plan.after": "check", "read_case": "measured", "transient": "slosh"}


@pytest.fixture(autouse=True)
def _no_figure_stays_open() -> Iterator[None]:
    yield
    pyplot.close("all")


def made(value: Any) -> Any:
    """What stands for a result of a name, made with what that needs."""
    if isinstance(value, dict):
        return {key: made(entry) for key, entry in value.items()}
    return value(**CALLS[value.__name__]) if inspect.isfunction(value) else value


def function(name: str) -> Callable[..., Any]:
    first, _, second = name.partition(".")
    offered = getattr(gs, first)
    if second and first != "plot":
        offered = offered(**CALLS[first])
    return getattr(offered, second) if second else offered


def test_every_name_is_here() -> None:
    names = {name for name in gs.__all__ if name != "plot"} | {f"plot.{name}" for name in gs.plot.__all__}
    assert names == {name for name in CALLS if name in names}


@pytest.mark.parametrize("name", CALLS)
@pytest.mark.filterwarnings("error")
def test_what_is_wrong_is_said_in_a_line(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    call, given = function(name), made(CALLS[name])
    parameters = [*inspect.signature(call).parameters.values()]
    names = [each.name for each in parameters if each.kind is not each.VAR_KEYWORD]
    for parameter in [*names, *([OTHERS[name]] if name in OTHERS else [])]:
        errors = []
        for wrong in WRONG:
            others = {} if parameter in OTHERS.get(name, "") or name == "read_case" else given
            path = isinstance(wrong, Path) and parameter == "folder"  # which is made
            try:
                call(**{**others, parameter: tmp_path / "x" if path else wrong})
            except GaugesimError as error:
                errors.append(str(error))
        assert len(errors) >= len(WRONG) - 4, f"{parameter} takes nearly anything"
        assert [text for text in errors if "\n" in text or "; " not in text or len(text) > 400] == []


@pytest.mark.parametrize("name", CALLS)
def test_a_word_for_an_argument_that_there_is_not(name: str) -> None:
    call = function(name)
    if any(each.kind is each.VAR_KEYWORD for each in inspect.signature(call).parameters.values()):
        return
    with pytest.raises(GaugesimError, match=r"\(\): no argument is called 'gague'"):
        call(**made(CALLS[name]), gague="fuel")


def test_it_says_which_and_what_would_be_right() -> None:
    ranking = gs.diagnose(CASE)
    with pytest.raises(GaugesimError, match=r"^dials\(\): seen is a Ranking; give what see\(\) gives$"):
        gs.plot.dials(ranking)
    with pytest.raises(GaugesimError, match=r"^diagnose\(\): case is 5; give a path, text, a mapping or "):
        gs.diagnose(5)
    with pytest.raises(GaugesimError, match=r"^see\(\): faults\[1\] is 3; give text$"):
        gs.see(CIRCUIT, faults=["sender=open", 3])
    with pytest.raises(GaugesimError, match=r"^plan\(\): rate is nan; give a number$"):
        gs.plan(CASE, rate=math.nan)
    with pytest.raises(GaugesimError, match=r"^evaluate\(\): missing a required argument: 'circuits'; "):
        gs.evaluate()
    with pytest.raises(GaugesimError, match="stages\\['at first'\\] is no ranking; give what diagnose"):
        gs.plot.ranking({"at first": gs.see(CIRCUIT)})


def test_what_fits_goes_through_as_it_is() -> None:
    def named(names: str | list[str], shares: tuple[float, float] | None = None, count: int = 1) -> list[Any]:
        return [names, shares, count]

    called = looked_at(named)
    shares = [0.25, np.float64(0.5)]
    assert called("a", shares, np.int64(3)) == ["a", shares, 3]
    assert called(["a"])[1] is None
    for wrong in ({"shares": (1, 2, 3)}, {"shares": (1, "a")}, {"count": True}, {"count": 1.0}):
        with pytest.raises(GaugesimError):
            called("a", **wrong)
