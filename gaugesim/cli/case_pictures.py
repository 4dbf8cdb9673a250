"""Pictures of a case: the way to the repair, and how the ranking moved, of ``gaugesim show CASE.toml``."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugesim import case as cases
from gaugesim.cli.bench import refuse_ending
from gaugesim.cli.output import note, print_json
from gaugesim.cli.pictures import save_picture, target_of
from gaugesim.cli.plan import step_words, way_cautions
from gaugesim.cli.shown_cautions import Warned
from gaugesim.consultation import Consultation, consult
from gaugesim.draw.ranking import course, draw_course
from gaugesim.draw.tree import TreeNode, draw_plan, plan_page
from gaugesim.front.job_data import children
from gaugesim.planning.trees import Node

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# what the picture of the ranking begins with
_AT_FIRST = "nothing known"


def draw_case(arguments: argparse.Namespace) -> int:
    """Draw the plan of a case, or its ranking after each entry, into a file."""
    path = target_of(arguments)
    refuse_ending(path)
    consultation = consult(cases.read(Path(arguments.what)), arguments.netlists, arguments.history)
    ax, data = CASE_PICTURES[arguments.picture](consultation)
    save_picture(ax, path, arguments.replace)
    if arguments.json:
        print_json({"picture": arguments.picture, "saved": str(path)} | data)
        return 0
    if arguments.picture == "ranking":  # the plan has its cautions in the picture
        for text in data["cautions"]:
            note(f"! {text}")
    note(f"wrote {path}")
    return 0


def _way(consultation: Consultation) -> tuple[Axes, dict[str, Any]]:
    page, cautions = plan_page(_drawn(consultation, consultation.tree)), way_cautions(consultation)
    minutes = consultation.tree.expected_minutes
    return draw_plan(page, notes=cautions), {"expected_minutes": minutes, "cautions": cautions}


def _ranking(consultation: Consultation) -> tuple[Axes, dict[str, Any]]:
    """The likeliest faults after each entry of the case."""
    entries = consultation.case.entries
    sayings: dict[str, list[str]] = {}
    for observation in consultation.diagnosis.posteriors[0].observations:
        if not observation.implied:
            sayings.setdefault(observation.where, []).append(observation.seen)
    steps, rankings = [_AT_FIRST], []
    for count in range(len(entries) + 1):
        case = replace(consultation.case, entries=entries[:count])
        rankings.append({each.fault: each for each in consultation.with_case(case).diagnosis.ranking})
        if count < len(entries):
            steps.append(f"{count + 1}: {', '.join(sayings.get(entries[count].where, []))}")
    last = rankings[-1]
    table = [
        [suspects[fault].probability if fault in suspects else 0.0 for fault in last] for suspects in rankings
    ]
    shown = course(steps, [each.words for each in last.values()], table)
    data = {"steps": steps, "faults": list(shown.faults), "probability": shown.probability.tolist()}
    ax = draw_course(shown)
    ax.set_title(consultation.title, loc="left", fontsize=9)
    return ax, data | {"cautions": list(consultation.cautions)}


def _drawn(consultation: Consultation, node: Node) -> TreeNode:
    """A tree's node, each step with the names of its cautions, which stand in full above the picture."""
    if node.action is None:
        return TreeNode("goes on" if node.cut else "done", node.probability, node.minutes)
    work, step = consultation.job, node.action.step
    mind = Warned().named(work.circuit, consultation.cautions_of(step))
    following = [(words, _drawn(consultation, child)) for _, words, child in children(work, step, node)]
    return TreeNode(f"{step_words(work, step)}{mind}", node.probability, node.minutes, tuple(following))


CASE_PICTURES = {"plan": _way, "ranking": _ranking}
