"""Every public function of the physics keeps the same contract: documents its arguments, and broadcasts."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

import gaugesim.physics
from gaugesim.physics import constants

UNITS = {
    "1", "percent", "degree", "celsius", "K", "K/s", "1/K", "A", "V", "V/min", "W", "W/K", "J/K", "ohm",
    "ohm.m", "ohm.m2",
    "ohm/rad", "m", "1/m", "mm2", "s", "Hz", "Pa", "bar", "N", "year", "1/year",
}  # fmt: skip
SECTIONS = ("Parameters", "Returns", "Source", "Examples")
STOPS = (-0.1, 1.1)
STEINHART_HART = {"a": 8.402250578e-4, "b": 2.5963477648e-4, "c": 1.5674403474e-7}
LAMP = {"rated_volts": 12.0, "rated_watts": 3.6, "cold_fraction": 0.1, "exponent": 0.45}

# One sound call of every public function. Numbers are broadcast in the test below; lists, pairs and words
# are not.
CALLS: dict[str, dict[str, Any]] = {
    "air_core.field": {"currents": [0.04, 0.02], "ampere_turns": [100.0, 90.0], "degrees": [0.0, 90.0]},
    "air_core.needle_degrees": {"x": 1.0, "y": 2.0},
    "air_core.position": {"degrees": 10.0, "degrees_low": -45.0, "degrees_high": 45.0, "stops": STOPS},
    "air_core.is_driven": {"x": 1.0, "y": 2.0, "friction": 0.5},
    "bimetal.position": {"watts": 0.3, "watts_low": 0.1, "watts_high": 0.5, "stops": STOPS},
    "bimetal.first_order": {"start": 0.1, "final": 1.0, "seconds": 3.0, "lag_seconds": 10.0},
    "bimetal.still_missing": {"seconds": 7.0, "winding_seconds": 4.0, "strip_seconds": 10.0},
    "engine.coolant_celsius": {
        "seconds": 400.0, "start_celsius": 15.0, "settled_celsius": 90.0, "kelvin_per_second": 0.2,
        "loss_seconds": 1500.0, "opens_below": 5.0,
    },
    "lamp.filament_ohms": {"volts": 6.0, **LAMP},
    "lamp.operating_volts": {"open_volts": 12.0, "source_ohms": 20.0, **LAMP},
    "lamp.brightness_word": {"volts": 6.0, "rated_volts": 12.0},
    "meter.is_open": {"ohms": 1e9, "highest_ohms": 4e7},
    "regulator.duty": {"on_volts": 14.0, "off_volts": 0.5, "design_volts": 10.0, "convention": "rms"},
    "regulator.steady_share": {
        "on_volts": 14.0, "off_volts": 0.5, "design_volts": 10.0, "dropout_volts": 1.0,
    },
    "thermistor.steinhart_hart_ohms": {"celsius": 40.0, **STEINHART_HART},
    "thermistor.beta_ohms": {
        "celsius": 60.0, "ohms_reference": 2044.0, "celsius_reference": 25.0, "beta": 3600.0,
    },
    "thermistor.beta_from_points": {
        "celsius_first": 25.0, "ohms_first": 2044.0, "celsius_second": 50.0, "ohms_second": 806.9,
    },
}  # fmt: skip


def public_functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    for module_info in pkgutil.iter_modules(gaugesim.physics.__path__):
        if module_info.name.startswith("_"):
            continue
        module = importlib.import_module(f"gaugesim.physics.{module_info.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if not name.startswith("_") and function.__module__ == module.__name__:
                yield f"{module_info.name}.{name}", function


FUNCTIONS = dict(public_functions())
NUMERIC = {
    name: numeric
    for name, call in CALLS.items()
    if (numeric := [argument for argument, value in call.items() if isinstance(value, float)])
}
# Where an argument speaks only elsewhere: the field near the friction threshold.
ELSEWHERE = {
    ("air_core.is_driven", "x"): {"y": 0.1},
    ("air_core.is_driven", "y"): {"x": 0.1},
    # below what is set the input decides
    ("regulator.steady_share", "dropout_volts"): {"on_volts": 10.5},
}
# Arguments that choose between two answers, and the change that makes them choose the other one; 1 % for
# the rest.
SWITCHES = {
    ("air_core.is_driven", "x"): 1e-3,
    ("air_core.is_driven", "y"): 1e-3,
    ("air_core.is_driven", "friction"): 10.0,
    ("lamp.brightness_word", "volts"): 2.0, ("lamp.brightness_word", "rated_volts"): 0.5,
    ("meter.is_open", "ohms"): 1e-3, ("meter.is_open", "highest_ohms"): 1e3,
}  # fmt: skip


def sections(function: Callable[..., Any]) -> dict[str, str]:
    parts = re.split(r"^(\w+)\n-+\n", inspect.getdoc(function) or "", flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def documented(section: str) -> dict[str, str]:
    """Names and their description, of a section whose entries are `name, name : type` and an indented
    text."""
    entries = re.findall(
        r"^(\S[^\n]*?)(?: : [^\n]*)?\n((?:[ ]+\S[^\n]*\n?|\n(?=[ ]))+)", section, flags=re.MULTILINE
    )
    return {name.strip(): text for names, text in entries for name in names.split(",")}


def units(text: str) -> list[str]:
    return re.findall(r"\[([^\]]+)\]", text)


def outputs(value: Any) -> tuple[Any, ...]:
    return value if isinstance(value, tuple) else (value,)


def test_every_public_function_has_a_sound_call_here() -> None:
    assert set(CALLS) == set(FUNCTIONS)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_documented_arguments_are_the_signature(name: str) -> None:
    described = documented(sections(FUNCTIONS[name])["Parameters"])
    assert list(described) == list(inspect.signature(FUNCTIONS[name]).parameters)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_argument_and_result_has_a_unit(name: str) -> None:
    parts = sections(FUNCTIONS[name])
    for argument, text in (documented(parts["Parameters"]) | documented(parts["Returns"])).items():
        found = units(text)
        assert found, f"{name}: {argument} has no unit in brackets"
        assert set(found) <= UNITS, f"{name}: {argument} has an unknown unit {found}"


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_docstring_has_its_sections_and_an_example(name: str) -> None:
    parts = sections(FUNCTIONS[name])
    assert set(SECTIONS) <= set(parts)
    assert parts["Source"].strip()
    assert ">>> " in parts["Examples"]


# what is no input: what is changed of the sound call, and what the error says
REFUSED: list[tuple[str, dict[str, Any], str]] = [
    ("air_core.position", {"degrees_high": -45.0}, "differ by more than 0 and at most 360"),
    ("air_core.position", {"degrees_high": 400.0}, "differ by more than 0 and at most 360"),
    ("air_core.position", {"stops": (1.1, -0.1)}, "low below high"),
    ("air_core.position", {"stops": (0.5, 0.5)}, "low below high"),
    ("air_core.position", {"stops": (np.nan, 1.0)}, "low below high"),
    ("air_core.is_driven", {"friction": -0.1}, "friction must be zero or more"),
    ("bimetal.position", {"watts": -0.1}, "watts must be zero or more, but -0.1"),
    ("bimetal.position", {"watts_low": 0.5}, "watts_low and watts_high must differ"),
    ("bimetal.first_order", {"seconds": -1.0}, "seconds must be zero or more"),
    ("bimetal.first_order", {"lag_seconds": 0.0}, "lag_seconds must be above zero"),
    ("bimetal.still_missing", {"winding_seconds": -1.0}, "winding_seconds must be zero or more"),
    ("bimetal.still_missing", {"strip_seconds": 0.0}, "strip_seconds must be above zero"),
    ("engine.coolant_celsius", {"start_celsius": 88.0}, "must lie below the thermostat's opening, but 88.0"),
    ("engine.coolant_celsius", {"kelvin_per_second": 0.04}, "or it never warms"),
    ("engine.coolant_celsius", {"opens_below": 0.0}, "opens_below must be above zero"),
    ("engine.coolant_celsius", {"seconds": -1.0}, "seconds must be zero or more"),
    ("lamp.filament_ohms", {"rated_volts": 0.0}, "rated_volts must be above zero"),
    ("lamp.filament_ohms", {"rated_watts": 0.0}, "rated_watts must be above zero"),
    ("lamp.filament_ohms", {"cold_fraction": 0.0}, "cold_fraction must be above zero"),
    ("lamp.filament_ohms", {"cold_fraction": 1.01}, "cold_fraction must be from 0 to 1"),
    ("lamp.filament_ohms", {"exponent": 0.6}, "exponent must be from 0 to 0.5"),
    ("lamp.operating_volts", {"source_ohms": -1.0}, "source_ohms must be zero or more"),
    ("lamp.operating_volts", {"source_ohms": np.nan}, "source_ohms must be zero or more"),
    ("lamp.brightness_word", {"volts": np.nan}, "volts must be numbers"),
    ("lamp.brightness_word", {"rated_volts": 0.0}, "rated_volts must be above zero"),
    ("meter.is_open", {"highest_ohms": 0.0}, "highest_ohms must be above zero"),
    ("regulator.duty", {"convention": "average"}, 'must be "rms" or "mean", but \'average\''),
    ("regulator.duty", {"design_volts": 0.0}, "design_volts must be above zero"),
    ("thermistor.steinhart_hart_ohms", {"celsius": -300.0}, "celsius must be above -273.15"),
    ("thermistor.steinhart_hart_ohms", {"b": 0.0}, "b must be above zero"),
    ("thermistor.steinhart_hart_ohms", {"celsius": -200.0, "c": -2e-6}, "turns back"),
    ("thermistor.beta_ohms", {"ohms_reference": 0.0}, "ohms_reference must be above zero"),
    ("thermistor.beta_ohms", {"beta": -1.0}, "beta must be above zero"),
    ("thermistor.beta_from_points", {"celsius_second": 25.0}, "must differ"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "changed", "message"), REFUSED)
def test_bad_input_is_refused(name: str, changed: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        FUNCTIONS[name](**CALLS[name] | changed)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_numbers_give_numbers(name: str) -> None:
    for value in outputs(FUNCTIONS[name](**CALLS[name])):
        assert np.ndim(value) == 0
        if np.asarray(value).dtype == np.float64:
            assert isinstance(value, float)
            assert np.isfinite(value)


@pytest.mark.parametrize("name", NUMERIC)
def test_arrays_broadcast_and_agree_with_single_calls(name: str) -> None:
    call, function, numeric = CALLS[name], FUNCTIONS[name], NUMERIC[name]
    # Half a percent apart, along one axis of its own for each argument: every pair must broadcast.
    steps = np.array([1.0, 1.005])
    spread = {
        argument: call[argument] * steps.reshape([2 if axis == own else 1 for axis in range(len(numeric))])
        for own, argument in enumerate(numeric)
    }
    together = outputs(function(**(call | spread)))
    for index in np.ndindex(*[2] * len(numeric)):
        single = {
            argument: float(call[argument] * steps[i]) for argument, i in zip(numeric, index, strict=True)
        }
        for whole, one in zip(together, outputs(function(**(call | single))), strict=True):
            assert whole.shape == (2,) * len(numeric)
            if whole.dtype == np.float64:
                np.testing.assert_allclose(whole[index], one, rtol=1e-12, atol=0)
            else:
                assert whole[index] == one


@pytest.mark.parametrize(
    ("name", "argument"), [(name, argument) for name in NUMERIC for argument in NUMERIC[name]]
)
def test_every_number_moves_the_result(name: str, argument: str) -> None:
    """An accepted argument that changes nothing is a mistake."""
    call, function = CALLS[name], FUNCTIONS[name]
    changed = call | ELSEWHERE.get((name, argument), {})
    before = outputs(function(**changed))
    after = outputs(
        function(**(changed | {argument: changed[argument] * SWITCHES.get((name, argument), 1.01)}))
    )
    assert after != before


@pytest.mark.parametrize(
    ("name", "argument"), [(name, argument) for name in NUMERIC for argument in NUMERIC[name]]
)
def test_text_instead_of_a_number_is_refused_by_name(name: str, argument: str) -> None:
    with pytest.raises(ValueError, match=f"{argument} must be a number or an array of numbers"):
        FUNCTIONS[name](**(CALLS[name] | {argument: "twelve"}))


def test_every_constant_says_where_it_comes_from() -> None:
    found = {name: value for name, value in vars(constants).items() if isinstance(value, constants.Constant)}
    assert len(found) > 3
    for name, constant in found.items():
        assert constant.standing in {"defined", "measured", "typical", "assumed"}, name
        assert len(constant.source) > 10, name
        assert constant.unit, name
        assert np.isfinite(constant.value), name
        assert constant.tolerance >= 0, name
        if constant.standing == "defined":
            assert constant.tolerance == 0, f"{name} is defined, so it has no spread"
        if constant.standing == "assumed":
            assert constant.tolerance > 0, f"{name} is assumed, so it has a spread"
