"""What is handed in at the front door, looked at first: one line says what is wrong with it."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from functools import cache, wraps
from numbers import Integral, Real
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, ParamSpec, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np

from gaugesim.errors import CaseError, unknown_name

_Given = ParamSpec("_Given")
_Result = TypeVar("_Result")
_WORDS: dict[object, str] = {
    str: "text",
    float: "a number",
    int: "a whole number",
    bool: "True or False",
    Path: "a path",
    Mapping: "a mapping",
    Sequence: "a list",
    Iterable: "a list",
    tuple: "a pair of numbers",
    np.ndarray: "an array of numbers",
    Callable: "a function",
}
# letters of a value that an error shows
_SHOWN = 40
# from the name of a result to that of the function which gives it
_GIVEN_BY: dict[str, str] = {}


def looked_at(function: Callable[_Given, _Result]) -> Callable[_Given, _Result]:
    """A function or method that holds what it is given to its annotations first.

    Raises
    ------
    CaseError, UnknownNameError
        By the argument's name: what was given and what would be right.

    Examples
    --------
    >>> looked_at(lambda name: name)(nome="fuel")
    Traceback (most recent call last):
    gaugesim.errors.UnknownNameError: <lambda>(): no argument is called 'nome'; did you mean name?
    """
    signature, name = inspect.signature(function), f"{function.__name__}()"
    _GIVEN_BY.setdefault(str(function.__annotations__.get("return")), function.__name__)
    others = any(each.kind is each.VAR_KEYWORD for each in signature.parameters.values())
    names = [each for each in signature.parameters if each != "self"]

    @wraps(function)
    def called(*arguments: _Given.args, **named: _Given.kwargs) -> _Result:
        for each in named:
            if each not in names and not others:
                raise unknown_name("argument", each, names, name)
        try:
            bound = signature.bind(*arguments, **named).arguments
        except TypeError as error:
            raise CaseError(str(error), name, f"it takes {', '.join(names)}") from None
        kinds = _kinds(function)
        for parameter, kind in kinds.items():
            if wrong := _misfit(
                bound.get(parameter, signature.parameters[parameter].default), kind, parameter
            ):
                inside, value, wanted = wrong
                raise CaseError(f"{inside} is {_shown(value)}", name, f"give {_words(wanted)}")
        return function(*arguments, **named)

    return called


@cache
def _kinds(function: Callable[..., Any]) -> dict[str, Any]:
    """What each argument may be, but for those that may be anything."""
    # nobody has axes while matplotlib is not loaded
    axes = {"Axes": getattr(sys.modules.get("matplotlib.axes"), "Axes", NoneType)}
    hints = get_type_hints(function, localns=axes)
    return {name: kind for name, kind in hints.items() if name != "return" and kind is not Any}


def _misfit(value: object, kind: Any, name: str) -> tuple[str, object, Any] | None:
    """Where a value is not what it should be: by name, what is there, and what would be right."""
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        wrong = [_misfit(value, part, name) for part in parts]
        inside = [each for each in wrong if each is not None and each[0] != name]
        return None if None in wrong else inside[0] if inside else (name, value, kind)
    if not _is(value, origin or kind):
        return name, value, kind
    if origin is tuple and isinstance(value, Collection) and len(value) != len(parts):
        return name, value, kind
    return next(filter(None, (_misfit(*each) for each in _inside(value, origin, parts, name))), None)


def _inside(value: Any, origin: Any, parts: Sequence[Any], name: str) -> Iterator[tuple[object, Any, str]]:
    """What is in a value that holds others, with what each should be and its name."""
    if origin is Mapping:  # its values are looked at where they are read
        yield from ((key, parts[0], f"a key of {name}") for key in value)
    elif origin in (Sequence, Iterable, tuple) and isinstance(value, Collection):
        yield from ((entry, parts[0], f"{name}[{i}]") for i, entry in enumerate(value))


def _is(value: object, kind: Any) -> bool:
    if kind is Any:
        return True
    if kind in (float, int):
        number = isinstance(value, Real if kind is float else Integral)
        return number and not isinstance(value, bool) and value == value
    if kind in (Sequence, Iterable):
        return isinstance(value, kind) and not isinstance(value, str | bytes | Mapping)
    if kind is tuple:
        return isinstance(value, tuple | list)
    if kind is np.ndarray:
        array = np.asarray(value) if hasattr(value, "__array__") else np.array("")
        return array.dtype.kind in "iuf" and array.ndim == 1
    return isinstance(value, kind)


def _shown(value: object) -> str:
    if not isinstance(value, str | bytes | int | float | Path | NoneType):
        return f"a {type(value).__name__}"
    text = repr(value)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."


def _words(kind: Any) -> str:
    origin = get_origin(kind)
    if origin in (Union, UnionType):
        *first, last = dict.fromkeys(_words(part) for part in get_args(kind) if part is not NoneType)
        return f"{', '.join(first)} or {last}" if first else last
    name = getattr(kind, "__name__", "")
    own = f"what {_GIVEN_BY[name]}() gives" if name in _GIVEN_BY else f"a {name}"
    return _WORDS.get(origin or kind, own)
