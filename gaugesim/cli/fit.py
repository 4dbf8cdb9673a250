"""``gaugesim fit``: a gauge and its sender from a few measured points."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import numpy as np

from gaugesim.cli.bench import refuse_ending
from gaugesim.cli.output import note, print_json, table, words_of, wrapped
from gaugesim.cli.parser import add_command
from gaugesim.cli.pictures import save_picture
from gaugesim.draw.fitted import draw_fit
from gaugesim.fitting import Fit, Quantified, write
from gaugesim.fitting.summary import next_point_data, residual_rows, undetermined
from gaugesim.front.fitted_gauges import fit

# resistors at which a person is told how well the needle is known
SHOWN_OHMS = 5


def add(commands: Any) -> None:
    """Add the command to what ``add_subparsers`` gave."""
    more = (
        "POINTS.toml holds [[needle]] (ohms in place of the sender, position), [[coil]] (ohms between two "
        "studs) and [[sender]] (ohms at celsius, level or bar); see help(gaugesim.fit). Bands are 5 to 95 %."
    )
    parser = add_command(commands, "fit", run, "Which movement and sender is it, from a few points?", more)
    parser.add_argument("points", metavar="POINTS.toml", type=Path, help="what was measured")
    parser.add_argument("--write", metavar="NAME", help="write the circuit NAME.cir and NAME.toml")
    parser.add_argument(
        "--to",
        metavar="FOLDER",
        type=Path,
        help="where to write it; the --netlists folder, else the current one",
    )
    parser.add_argument(
        "--save", metavar="FILE", type=Path, help="draw needle, points and band into a .png, .pdf or .svg"
    )


def run(arguments: argparse.Namespace) -> int:
    """Answer."""
    fitted = fit(arguments.points)
    result, data = fitted.fit, fitted.to_dict()
    if arguments.write is not None:
        folder = arguments.to or arguments.netlists or Path()
        written = write(result, arguments.write, folder)
        data["written"] = [str(written.files.netlist), str(written.files.sheet)]
        data["template"] = written.template
        note(f"wrote {written.files.netlist} and {written.files.sheet}, made from {written.template}")
        for text in written.notes:
            note(text)
    if arguments.save is not None:
        refuse_ending(arguments.save)
        save_picture(draw_fit(result), arguments.save, replace=False)
        data["saved"] = str(arguments.save)
        note(f"wrote {arguments.save}")
    if arguments.json:
        print_json(data)
    else:
        print("\n".join(_lines(result)))
    return 0


def _lines(fitted: Fit) -> list[str]:
    lines = []
    if fitted.movement:
        others = [f"{name} {share:.0%}" for name, share in fitted.remaining.items()]
        lines += [f"Movement: {fitted.movement}", *wrapped(", ".join(others), "  ", "How likely: ")]
        lines += table([_row(name, value) for name, value in fitted.parameters.items()])
        lines += _needle_lines(fitted)
    if fitted.sender:
        lines += ["", f"Sender: {words_of(fitted.sender.kind)}"]
        lines += table([_row(name, value) for name, value in fitted.sender.parameters.items()])
    rows = [
        (
            f"{row['table']} {row['number']}",
            f"{_figure(row['measured'])} {row['unit']}",
            f"fit {_figure(row['fitted'])}",
            f"{row['deviations']:+.1f} deviations" + ("  BAD, left out" if row["bad"] else ""),
        )
        for row in residual_rows(fitted)
    ]
    lines += ["", "Points", *table(rows)]
    for entry in undetermined(fitted):
        lines += wrapped(entry["words"], "  ", "? ")
    following = next_point_data(fitted)
    if following:
        lines += ["", *wrapped(f"{following['words']}, {following['why']}", "  ", "Next: ")]
        for caution in following["cautions"]:
            lines += wrapped(caution, "  ", "! ")
    return lines


def _needle_lines(fitted: Fit) -> list[str]:
    ohms = [point.ohms for point in fitted.points.needle if 0 < point.ohms < np.inf]
    if len(ohms) < 2:
        return []
    between = np.geomspace(min(ohms), max(ohms), SHOWN_OHMS)
    positions, widths = fitted.band(between)
    rows = [
        (f"{value:.3g} ohm", f"{position:.2f}", f"+/- {width:.2f}")
        for value, position, width in zip(between, positions, widths, strict=True)
    ]
    return ["", "Needle", *table(rows)]


def _row(name: str, value: Quantified) -> tuple[str, str, str]:
    unit = "" if value.unit == "1" else f" {value.unit}"
    return name, f"{value.value:.4g}{unit}", f"{value.low:.4g} to {value.high:.4g}"


def _figure(value: float | None) -> str:
    return "open" if value is None else f"{value:.4g}"
