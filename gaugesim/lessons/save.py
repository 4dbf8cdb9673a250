"""The save file of a task: which task it is and what was done, never what is hidden."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import MISSING, asdict, dataclass, fields
from pathlib import Path
from typing import Any

from gaugesim.circuit import find
from gaugesim.errors import CaseError, GaugesimError, location, unknown_name
from gaugesim.files import read_file
from gaugesim.lessons.chance import MOST_SEED
from gaugesim.lessons.course import Course, LearnerAction, perform
from gaugesim.lessons.task import LEVELS, LOOKED_AT, Task, keep_last, task_of

VERSION = 1


@dataclass(frozen=True)
class Saved:
    """A save file.

    Attributes
    ----------
    circuit : str
        Its id, or the path of its netlist.
    predict : bool
        Whether suspects and reading are asked for before each check.
    class_key : str
        Of the class whose task it is, see `chance.class_key`; not in the file if empty.
    """

    circuit: str
    gauge: str
    seed: int
    level: int
    draw: int
    predict: bool
    log: tuple[LearnerAction, ...]
    class_key: str = ""


def saved(course: Course, circuit: str, predict: bool) -> Saved:
    """A course as it is saved."""
    task = course.task
    log = tuple(step.action for step in course.steps)
    return Saved(circuit, task.gauge, task.seed, task.level, task.draw, predict, log, task.class_key)


def save_text(content: Saved) -> str:
    """The text of a save file. One line for each thing that was done.

    Examples
    --------
    >>> saved = Saved("temp_bridge", "temperature", 7, 2, 3, False, (LearnerAction("hint"),))
    >>> print(save_text(saved), end="")
    {"practice": 1, "circuit": "temp_bridge", "gauge": "temperature", "seed": 7, "level": 2, "draw": 3,
     "predict": false, "log": [
    {"kind": "hint"}
    ]}
    """
    own = {key: value for key, value in asdict(content).items() if key not in ("log", "predict")}
    # a task of no class has no key of one
    head = {"practice": VERSION, **{key: value for key, value in own.items() if value != ""}}
    head["predict"] = content.predict
    lines = []
    for entry in content.log:
        given = {key: value for key, value in asdict(entry).items() if value}
        lines.append(json.dumps(given, ensure_ascii=False))
    top = json.dumps(head, ensure_ascii=False).removesuffix("}").replace(', "predict"', ',\n "predict"')
    body = ",\n".join(lines) + ("\n" if lines else "")
    return f'{top}, "log": [\n{body}]}}\n'


def read(path: Path) -> Saved:
    """Read a save file.

    Raises
    ------
    CaseError
        By file and key: what is wrong and what would be right.
    """
    try:
        data = json.loads(read_file(path).decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise CaseError(f"is no save file of practice ({error})", str(path), "name another --file") from None
    if not isinstance(data, dict) or data.get("practice") != VERSION:
        raise CaseError("is no save file of practice", str(path), "name another --file")
    content = _typed(data, "", path, Saved, {"practice"})
    if content["level"] not in LEVELS or not 0 <= content["draw"] < LOOKED_AT:
        raise _wrong(path, "level" if content["level"] not in LEVELS else "draw", "no level or draw there is")
    if not 0 <= content["seed"] <= MOST_SEED:
        raise _wrong(path, "seed", f"not between 0 and {MOST_SEED}")
    log = []
    for number, entry in enumerate(data["log"], start=1):
        if not isinstance(entry, dict):
            raise _wrong(path, f"log[{number}]", "no table")
        own = _typed(entry, f"log[{number}].", path, LearnerAction, set())
        log.append(LearnerAction(**own))
    return Saved(**{**content, "log": tuple(log)})


def _typed(
    data: Mapping[str, Any], front: str, path: Path, kind: type[Saved] | type[LearnerAction], more: set[str]
) -> dict[str, Any]:
    """Keys of a table, each of the type that its class wants."""
    wanted = {field.name: str(field.type) for field in fields(kind)}
    for key in data:
        if key not in wanted and key not in more:
            raise unknown_name("key", front + key, wanted, str(path))
    result = {}
    for field in fields(kind):
        if field.name not in data:
            if field.default is not MISSING:
                continue
            raise _wrong(path, front + field.name, "missing")
        value = data[field.name]
        types = {"str": str, "int": int, "bool": bool}.get(wanted[field.name], list)
        fits = isinstance(value, types) and (types is not int or not isinstance(value, bool))
        if not fits or (field.name == "suspects" and not all(isinstance(name, str) for name in value)):
            words = {str: "a text", int: "a whole number", bool: "true or false", list: "a list"}[types]
            raise _wrong(path, front + field.name, f"not {words}")
        result[field.name] = tuple(value) if types is list else value
    return result


def _wrong(path: Path, key: str, problem: str) -> CaseError:
    return CaseError(f"is {problem}", location(path, key=key), "take an untouched save file")


def take_up(content: Saved, path: Path, netlists_folder: Path | None = None) -> Course:
    """A saved course as it stood.

    Raises
    ------
    GaugesimError
        If the file does not fit its circuit.
    """
    circuit = find(content.circuit, netlists_folder)
    gauge = circuit.gauge(content.gauge).id
    task = keep_last(
        circuit,
        "task of draw",
        (gauge, content.seed, content.level, content.draw, content.class_key),
        lambda: task_of(circuit, gauge, content.seed, content.level, content.draw, content.class_key),
    )
    if task is None:
        raise _wrong(path, "draw", "none that can be set on this circuit")
    return _again(task, content, path)


def _again(task: Task, content: Saved, path: Path) -> Course:
    course = Course(task)
    for number, entry in enumerate(content.log, start=1):
        try:
            course = perform(course, entry)
        except GaugesimError as error:
            raise CaseError(error.problem, location(path, key=f"log[{number}]"), error.remedy) from None
    return course
