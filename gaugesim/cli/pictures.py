"""Pictures of ``gaugesim show`` that are not the bench: each into a file."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugesim.circuit import Circuit
from gaugesim.cli.bench import TAKEN
from gaugesim.cli.output import note, print_json
from gaugesim.cli.parser import CommandParser, circuit_as_set
from gaugesim.draw import draw_curves, draw_signature_map, draw_transient, fault_curves, signature_map
from gaugesim.draw.curves import draw_scale, scale_curves
from gaugesim.draw.scenes import Scene, scene
from gaugesim.draw.wall import draw_wall
from gaugesim.draw.why_picture import draw_why
from gaugesim.errors import CaseError
from gaugesim.files import refuse_taken, write_files
from gaugesim.front.snapshots import cautions_of, reading_data
from gaugesim.front.time_courses import transient
from gaugesim.notebook import encoded
from gaugesim.reading import Situation, why
from gaugesim.reading.reason_data import why_data
from gaugesim.scenario.caution import in_order
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.check_list import first_checks

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# pictures of a case file, the others are of a circuit
OF_A_CASE = ("plan", "ranking")
# length of a transient and of a warm-up [s]
SECONDS, WARM_UP_SECONDS = 60.0, 900.0
# distance of two points of a transient [s], and how many a warm-up has
STEP_SECONDS, STEPS = 0.05, 900
LONGEST_SECONDS = 7200.0
_WALL_DOTS = 144.0  # in an inch: 1920 dots across


def add_pictures(parser: CommandParser) -> None:
    """Add the options that ask for a picture."""
    pictures = parser.add_mutually_exclusive_group()
    pictures.add_argument(
        "--why",
        action="store_const",
        const="why",
        dest="picture",
        help="why the needle stands there, sound beside faulty: arrows of the coils, or heat and strip",
    )
    pictures.add_argument(
        "--picture",
        choices=("transient", "signatures", "faults", "scale", *OF_A_CASE),
        help="needles against time; what each check shows under each fault; needle against severity of each "
        "fault; sender and needle over the scale; of a case file the way to the repair, or the ranking after "
        "each entry",
    )
    parser.add_argument(
        "--from",
        metavar="S",
        dest="before",
        help="state before the transient, default key_off; before the warm-up, default key_on_cold",
    )
    parser.add_argument(
        "--seconds",
        metavar="N",
        type=float,
        help="length of the transient, default 60; of the warm-up, default 900",
    )
    pictures.add_argument(
        "--warm-up",
        action="store_const",
        const="warm-up",
        dest="picture",
        help="needles and coolant of an engine that is started cold and warms up, with its thermostat and a "
        "lagging sender",
    )
    pictures.add_argument(
        "--projector",
        action="store_const",
        const="projector",
        dest="picture",
        help="the dials alone, large, sound beside faulty, for a wall",
    )


@dataclass(frozen=True)
class Wanted:
    """What a picture is to be of.

    Attributes
    ----------
    before : str or None
        The state from which a transient comes.
    seconds : float or None
        How long it is followed [s].
    """

    circuit: Circuit
    gauge: str
    faults: tuple[str, ...]
    given: dict[str, float]
    state: str | None
    check: str
    before: str | None
    seconds: float | None

    @property
    def situation(self) -> Situation:
        """State and check."""
        check = find_check(self.circuit, self.check, self.gauge) if self.check else NO_CHECK
        return Situation.of(self.circuit, self.state, check, self.given)

    def scene(self, faulty: bool = True) -> Scene:
        """What is the case, or what would be if all were sound."""
        faults = self.faults if faulty else ()
        return scene(self.circuit, self.state, self.check, faults, self.given, self.gauge)


def run_picture(arguments: argparse.Namespace) -> int:
    """Draw a picture into a file.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.
    """
    path = target_of(arguments)
    if arguments.picture in OF_A_CASE:
        raise CaseError(f"--picture {arguments.picture} is of a case file", "", "give CASE.toml")
    circuit, given = circuit_as_set(arguments.what, arguments)
    faults, gauge = tuple(arguments.fault), circuit.gauge(arguments.gauge).id
    check, before = arguments.check or "", arguments.before
    wanted = Wanted(circuit, gauge, faults, given, arguments.state, check, before, arguments.seconds)
    ax, data = _PICTURES[arguments.picture](wanted)
    save_picture(ax, path, arguments.replace)
    for text in data["cautions"]:
        note(f"! {text}")
    if arguments.json:
        print_json(
            {"circuit": circuit.id, "gauge": gauge, "picture": arguments.picture, "saved": str(path)} | data
        )
    else:
        note(f"wrote {path}")
    return 0


def target_of(arguments: argparse.Namespace) -> Path:
    """The file that a picture goes into, refused where it is none or is there already.

    Raises
    ------
    CaseError
    """
    path: Path | None = arguments.save
    if path is None:
        option = (
            arguments.picture
            if arguments.picture in ("why", "projector", "warm-up")
            else f"picture {arguments.picture}"
        )
        raise CaseError(f"--{option} draws into a file", "", "say which, --save picture.png")
    refuse_taken([path], arguments.replace, TAKEN)
    return path


def save_picture(ax: Axes, path: Path, replace: bool) -> None:
    """Write the whole figure of some axes into a file."""
    figure: Any = ax.get_figure(root=True)
    buffer = BytesIO()
    figure.savefig(buffer, format=path.suffix.lower().removeprefix("."), dpi=_WALL_DOTS)
    write_files({path: buffer.getvalue()}, replace, TAKEN)


def _warm_up(wanted: Wanted) -> tuple[Axes, dict[str, Any]]:
    cold = "key_on_cold" if "key_on_cold" in wanted.circuit.sheet.states else "key_off"
    seconds = WARM_UP_SECONDS if wanted.seconds is None else wanted.seconds
    return _transient(replace(wanted, before=wanted.before or cold, seconds=seconds), warm_up=True)


def _transient(wanted: Wanted, warm_up: bool = False) -> tuple[Axes, dict[str, Any]]:
    if len(wanted.faults) > 1 or wanted.check:
        raise CaseError("a transient has no check and one fault at most", "", "leave the others out")
    fault = wanted.faults[0] if wanted.faults else None
    before, seconds = wanted.before or "key_off", SECONDS if wanted.seconds is None else wanted.seconds
    step = seconds / STEPS if warm_up else STEP_SECONDS
    if not STEP_SECONDS <= seconds <= LONGEST_SECONDS:
        remedy = f"give {STEP_SECONDS:g} to {LONGEST_SECONDS:g} seconds"
        raise CaseError(f"{seconds:g} s cannot be followed", "--seconds", remedy)
    run = transient(wanted.circuit, wanted.state, before, seconds, fault, wanted.given, step, warm_up)
    words = [f"{wanted.circuit.sheet.states[name].words}" for name in (run.state_from, run.state_to)]
    ax = draw_transient(run.run, wanted.circuit)
    ax.set_title(f"from: {words[0]}\nto: {words[1]}{f'; {fault}' if fault else ''}", loc="left", fontsize=9)
    return ax, {
        "from": run.state_from,
        "to": run.state_to,
        "fault": fault,
        "seconds": seconds,
        "end": {name: encoded(float(course[-1])) for name, course in run.run.positions.items()},
        "cautions": list(run.cautions),
    }


def _signatures(wanted: Wanted) -> tuple[Axes, dict[str, Any]]:
    first = [wanted.check] if wanted.check else first_checks(wanted.circuit, wanted.gauge)
    checks = ["", *first]
    signatures = signature_map(wanted.circuit, checks, wanted.state, wanted.gauge)
    made = [find_check(wanted.circuit, name, wanted.gauge) for name in checks if name]
    ids = [name for check in made for name in check.cautions]
    cautions = [caution.words for caution in in_order(wanted.circuit, ids)]
    return draw_signature_map(signatures), {
        "checks": checks[1:],
        "bits": signatures.bits.tolist(),
        "cautions": cautions,
    }


def _faults(wanted: Wanted) -> tuple[Axes, dict[str, Any]]:
    curves = fault_curves(wanted.circuit, wanted.state, wanted.check, wanted.gauge, wanted.given)
    return draw_curves(curves), {"sound": list(curves.sound), "cautions": list(cautions_of(wanted.situation))}


def _scale(wanted: Wanted) -> tuple[Axes, dict[str, Any]]:
    return draw_scale(scale_curves(wanted.circuit, wanted.gauge, wanted.state)), {"cautions": []}


def _why(wanted: Wanted) -> tuple[Axes, dict[str, Any]]:
    shown = wanted.scene()
    reasons = why(shown.situation, shown.scenarios if wanted.faults else None, shown.seen.response)
    return draw_why(reasons, wanted.gauge, shown.fault_words), _seen(shown) | {"why": why_data(reasons)}


def _projector(wanted: Wanted) -> tuple[Axes, dict[str, Any]]:
    shown = wanted.scene()
    return draw_wall(shown, wanted.scene(faulty=False) if wanted.faults else None), _seen(shown)


def _seen(shown: Scene) -> dict[str, Any]:
    return {
        "state": shown.situation.state,
        "check": shown.situation.check.id or None,
        "faults": list(shown.faults),
        "needles": encoded(shown.seen.needles),
        "reading": reading_data(shown.seen.reading),
        "cautions": list(cautions_of(shown.situation)),
    }


_PICTURES: dict[str, Callable[[Wanted], tuple[Axes, dict[str, Any]]]] = {
    "why": _why,
    "projector": _projector,
    "transient": _transient,
    "warm-up": _warm_up,
    "signatures": _signatures,
    "faults": _faults,
    "scale": _scale,
}
