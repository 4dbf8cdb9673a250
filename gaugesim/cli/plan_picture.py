"""The way to the repair as a picture, of ``gaugesim show CASE.toml --picture plan``."""

from __future__ import annotations

import argparse
from pathlib import Path

from gaugesim import case as cases
from gaugesim.cli.bench import refuse_ending
from gaugesim.cli.output import note, print_json
from gaugesim.cli.pictures import save_picture, target_of
from gaugesim.cli.plan import step_words, way_cautions
from gaugesim.cli.warned import Warned
from gaugesim.consultation import Consultation, consult
from gaugesim.draw.tree import Step, draw_plan, plan_page
from gaugesim.front.job_data import children
from gaugesim.planning.trees import Node


def draw_way(arguments: argparse.Namespace) -> int:
    """Draw the plan of a case into a file."""
    path = target_of(arguments)
    refuse_ending(path)
    consultation = consult(cases.read(Path(arguments.what)), arguments.netlists, arguments.history)
    page, cautions = plan_page(_drawn(consultation, consultation.tree)), way_cautions(consultation)
    save_picture(draw_plan(page, notes=cautions), path, arguments.replace)
    if arguments.json:
        minutes = consultation.tree.expected_minutes
        print_json({"picture": "plan", "saved": str(path), "expected_minutes": minutes, "cautions": cautions})
    else:
        note(f"wrote {path}")
    return 0


def _drawn(consultation: Consultation, node: Node) -> Step:
    """A tree's node, each step with the names of its cautions, which stand in full above the picture."""
    if node.action is None:
        return Step("goes on" if node.cut else "done", node.probability, node.minutes)
    work, step = consultation.job, node.action.step
    mind = Warned().named(work.circuit, consultation.cautions_of(step))
    following = [(words, _drawn(consultation, child)) for _, words, child in children(work, step, node)]
    return Step(f"{step_words(work, step)}{mind}", node.probability, node.minutes, tuple(following))
