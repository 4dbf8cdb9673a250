"""``gaugesim plan``: the way to the fault, the repair and its proof."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from gaugesim import case as cases
from gaugesim.cli.advice_text import advice_json, advice_lines, group_lines, groups_json, or_else, percent
from gaugesim.cli.history import add_history, circuits_of, effect_json, effect_lines
from gaugesim.cli.output import number, print_json, wrapped
from gaugesim.cli.parser import add_command, finish
from gaugesim.diagnose import diagnose
from gaugesim.plan.advice import advice, expected_readings, outcome_words
from gaugesim.plan.bound import lower_bound
from gaugesim.plan.decide import Action, next_action
from gaugesim.plan.job import Job, Option, job
from gaugesim.plan.neighbours import Neighbour, while_you_are_there
from gaugesim.plan.optimum import optimum
from gaugesim.plan.outside import FromOutside, from_outside
from gaugesim.plan.problem import CHECK, REPAIR, Step
from gaugesim.plan.proof import Proof, proof
from gaugesim.plan.resistor import BestResistor, best_resistor
from gaugesim.plan.tree import MENDED, Node, tree
from gaugesim.plan.way import (
    best_check,
    mend_cautions,
    mend_now,
    opens,
    rate_per_hour,
    remedy,
    swapping_minutes,
)
from gaugesim.reading.words import quantity

# branches of the tree that are reached less often are cut off
DRAWN = 0.03
# suspects whose reading a person, and a program, is told
_TOLD, _LISTED = 0.05, 0.01


def add(commands: Any) -> None:
    """Add the command.

    Parameters
    ----------
    commands
        What ``add_subparsers`` gave.
    """
    parser = add_command(commands, "plan", run, "What to do next, and the way to the end?")
    parser.add_argument(
        "case", metavar="CASE.toml|CIRCUIT", help="a case file, or a circuit of which nothing is known"
    )
    parser.add_argument("--gauge", help="the gauge complained of, where a circuit is named that has several")
    parser.add_argument("--tree", action="store_true", help="the whole way as a tree")
    parser.add_argument("--outside", action="store_true", help="what no check from outside tells apart")
    parser.add_argument(
        "--rate",
        metavar="MONEY_PER_HOUR",
        type=rate,
        help="what an hour of work costs: prices of parts then count as minutes (else the sheet's rate)",
    )
    add_history(parser)
    finish(parser)


def run(arguments: argparse.Namespace) -> int:
    """Answer.

    Parameters
    ----------
    arguments : argparse.Namespace

    Returns
    -------
    int
    """
    case = _case(arguments)
    chosen, effects = circuits_of(arguments, case)
    work = job(diagnose(case, chosen), arguments.rate)
    action = next_action(work.problem)
    way = tree(work.problem, least_probability=DRAWN)
    hidden = from_outside(work.circuit, work.diagnosis.gauge) if arguments.outside else None
    if arguments.json:
        told = _as_json(work, action, way, hidden)
        print_json(told | {"history": effect_json(effects, work.circuit.id)})
    else:
        lines = _as_text(work, action, way, hidden, arguments.tree)
        print("\n".join(lines + effect_lines(effects, work.circuit.id)))
    return 0


def rate(text: str) -> float:
    """Read what an hour of work costs.

    Parameters
    ----------
    text : str

    Returns
    -------
    float

    Raises
    ------
    argparse.ArgumentTypeError
    """
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"{text!r} is no rate; give what an hour of work costs, as 60")
    return value


def _case(arguments: argparse.Namespace) -> cases.Case:
    if arguments.case.endswith(".toml"):
        return cases.read(Path(arguments.case))
    data: dict[str, Any] = {"circuit": arguments.case}
    if arguments.gauge:
        data["gauge"] = arguments.gauge
    return cases.parse(data, Path(arguments.case))


def _as_json(work: Job, action: Action, way: Node, hidden: FromOutside | None) -> dict[str, Any]:
    check = best_check(work, action)
    best = best_resistor(work)
    found = work.diagnosis
    result: dict[str, Any] = {
        "circuit": work.circuit.id,
        "gauge": found.gauge,
        "next_check": None if check is None else _check_json(work, check, action),
        "next_step": _step_json(work, action.step),
        "tree": _node_json(work, way),
        "expected_minutes": way.expected_minutes,
        "lower_bound_minutes": lower_bound(work.problem),
        "optimum_minutes": optimum(work.problem),
        "swap_parts_minutes": swapping_minutes(work),
        "rate_per_hour": rate_per_hour(work),
        "best_resistor": None if best is None else _resistor_json(best),
        "while_you_are_there": [vars(entry) for entry in _neighbours(work, action.step)],
        "proof": _proof_json(proof(found)),
    }
    if hidden is not None:
        result["never_from_outside"] = _outside_json(hidden)
    return result


def _check_json(work: Job, check: Option, action: Action) -> dict[str, Any]:
    readings = [vars(entry) for entry in expected_readings(work, check, _LISTED)]
    saved = {"minutes_saved": _saved(action), "expected_readings": readings}
    return advice_json(advice(work, check)) | saved


def _saved(action: Action) -> float | None:
    """Minutes that the check to make now is expected to save; None if mending comes first, or cannot."""
    mending = [choice.expected_minutes for choice in action.alternatives if choice.step.kind == REPAIR]
    if action.step.kind != CHECK or not mending:
        return None
    return min(mending) - action.expected_minutes


def _step_json(work: Job, step: Step) -> dict[str, Any]:
    if step.kind == CHECK:
        option = work.options[step.number]
        return {"check": option.check.id, "state": option.state, "words": option.check.words}
    price = float(work.problem.price[step.number])
    return {"repair": work.repairs[step.number], "words": remedy(work, step), "price": price}


def _node_json(work: Job, node: Node) -> dict[str, Any]:
    told: dict[str, Any] = {
        "probability": node.probability,
        "minutes": node.minutes,
        "expected_minutes": node.expected_minutes,
    }
    if node.action is None:
        return told | {"done": not node.cut}
    step = node.action.step
    outcomes = [
        {"outcome": name, "words": words, "then": _node_json(work, child)}
        for name, words, child in _children(work, step, node)
    ]
    return told | _step_json(work, step) | {"outcomes": outcomes}


def _children(work: Job, step: Step, node: Node) -> Iterator[tuple[str, str, Node]]:
    """What follows a step, likeliest first: the outcome's name, its words, and the node."""
    for outcome, child in sorted(node.children.items(), key=lambda item: -item[1].probability):
        if step.kind == CHECK:
            option = work.options[step.number]
            name = option.classes[outcome]
            yield name, outcome_words(option.check.reads, name), child
        elif outcome == MENDED:
            yield "cured", "the complaint is gone", child
        else:
            yield "not_cured", "the complaint is still there", child


def _resistor_json(best: BestResistor) -> dict[str, Any]:
    return {
        "ohms": best.ohms,
        "check": best.check,
        "bits": best.bits,
        "second_point": best.point,
        "both_bits": best.both_bits,
        "expected": [
            {
                "fault": entry.fault,
                "words": entry.words,
                "position": number(entry.position),
                "volts": number(entry.volts),
            }
            for entry in best.expected
        ],
    }


def _proof_json(shown: Proof) -> dict[str, Any]:
    return {
        "must_see": [
            {**vars(need), "low": number(need.low), "high": number(need.high)} for need in shown.must_see
        ],
        "still_passes": shown.still_passes,
        "intermittent": shown.intermittent,
        "quiet_trips": shown.quiet_trips,
        "quiet_wiggles": shown.quiet_wiggles,
    }


def _outside_json(hidden: FromOutside) -> dict[str, Any]:
    return {
        "groups": groups_json(hidden.groups),
        "test_point": None if hidden.test_point is None else vars(hidden.test_point),
    }


def _neighbours(work: Job, step: Step) -> tuple[Neighbour, ...]:
    """Neighbours at the place that the step opens, or else at the leading suspect's."""
    places = work.options[step.number].check.places if step.kind == CHECK else ()
    place = places[-1] if places else work.diagnosis.ranking[0].place
    return while_you_are_there(work.diagnosis, place)


def _check_lines(work: Job, check: Option, action: Action) -> list[str]:
    lines = advice_lines(advice(work, check))
    saved = _saved(action)
    if saved is not None and saved >= 0.5:
        unit = "minute" if round(saved) == 1 else "minutes"
        lines += wrapped(
            f"Why: to mend something at once instead would take {saved:.0f} {unit} more on average.", "  "
        )
    readings = expected_readings(work, check, _TOLD)
    lines += ["  What each suspect would most probably show:"] if readings else []
    for entry in readings:
        told = f"{entry.suspect}: {entry.words} ({percent(entry.probability).strip()})"
        lines += wrapped(told, "      ", "  - ")
    return lines


def _as_text(work: Job, action: Action, way: Node, hidden: FromOutside | None, drawn: bool) -> list[str]:
    found = work.diagnosis
    check = best_check(work, action)
    lines = [f"{work.circuit.sheet.gauges[found.gauge].words.capitalize()} ({work.circuit.id})", ""]
    mend = mend_now(work, action)
    if mend:
        lines += wrapped(f"Quickest is to mend this at once: {mend}.", "  ", "")
        places = opens(work, action.step)
        lines += wrapped(f"Counted in: getting {' and '.join(places)}.", "  ") if places else []
        for text in mend_cautions(work, action):
            lines += wrapped(text, "    ", "  ! ")
        lines += ["", "If you would rather check first:"] if check else []
    lines += _check_lines(work, check, action) if check else []
    least = lower_bound(work.problem)
    lines += [
        "",
        *wrapped(
            f"To the proven repair: {way.expected_minutes:.0f} minutes to expect; "
            f"no plan takes less than {least:.0f}. "
            f"Swapping parts in order of likelihood: {swapping_minutes(work):.0f}."
        ),
    ]
    hour = rate_per_hour(work)
    if hour is not None:
        lines += wrapped(f"Prices of parts are counted in as minutes, at {hour:g} for an hour of work.")
    lines += _neighbour_lines(_neighbours(work, action.step))
    lines += _resistor_lines(best_resistor(work))
    lines += _proof_lines(proof(found))
    if drawn:
        lines += ["", "The way to the end, with the minutes since its beginning", *_tree_lines(work, way)]
    if hidden is not None:
        lines += _outside_lines(hidden)
    return lines


def _neighbour_lines(neighbours: tuple[Neighbour, ...]) -> list[str]:
    if len(neighbours) < 2:
        return []
    lines = ["", "While you are there"]
    for entry in neighbours[:5]:
        lines += wrapped(
            f"{entry.words} ({entry.because}): {entry.action}", " " * 8, f"  {percent(entry.chance)}  "
        )
    return lines


def _resistor_lines(best: BestResistor | None) -> list[str]:
    if best is None or best.bits < 0.05:
        return []
    lines = [
        "",
        *wrapped(
            f"The best resistor in place of the sender: {best.ohms:g} ohm; then probe {best.point_words}"
        ),
    ]
    alike: dict[str, list[str]] = {}
    for entry in best.expected:
        needle = "stays where it was" if entry.position != entry.position else f"at {entry.position:.2f}"
        if "+" not in entry.fault:
            alike.setdefault(f"needle {needle}, {quantity(entry.volts, 'V')}", []).append(entry.words)
    for shown, words in list(alike.items())[:5]:
        lines += wrapped(f"{shown}: {or_else(words, 2)}", "      ", "  - ")
    return lines


def _proof_lines(shown: Proof) -> list[str]:
    lines = ["", "Proof of the repair: the needle must now be"]
    for need in shown.must_see[:4]:
        band = "" if need.low != need.low else f" ({need.low:.2f} to {need.high:.2f})"
        lines += wrapped(f"{need.word}{band}, {need.state_words}", "      ", "  - ")
    lines += wrapped(
        f"A wrong repair would pass all of that in {100 * shown.still_passes:.0f} of 100 cases.", "  "
    )
    if shown.quiet_trips:
        moved = "once" if shown.quiet_wiggles == 1 else f"{shown.quiet_wiggles} times"
        lines += wrapped(
            f"For a fault that comes and goes: {shown.quiet_trips} quiet trips, or the joint moved "
            f"{moved} without a jump, before it may be called cured.",
            "  ",
        )
    return lines


def _tree_lines(work: Job, node: Node, indent: str = "  ") -> Iterator[str]:
    """A tree in indented lines; what is unlikely is cut off."""
    if node.action is None:
        return
    step = node.action.step
    told = _step_json(work, step)
    name = f"{told['check']} ({told['state']})" if step.kind == CHECK else f"mend {told['repair']}"
    yield from wrapped(f"{name}, {node.minutes + node.action.minutes:.0f} min", indent + "  ", indent)
    for _, words, child in _children(work, step, node):
        if child.probability < DRAWN / 3:
            continue
        more = f": {child.expected_minutes:.0f} min more" if child.cut else ""
        share = percent(child.probability).strip()
        yield from wrapped(f"{share} {words}{more}", indent + "    ", indent + "- ")
        yield from _tree_lines(work, child, indent + "    ")


def _outside_lines(hidden: FromOutside) -> list[str]:
    lines = group_lines(hidden.groups)
    if hidden.test_point:
        point = hidden.test_point
        lines += wrapped(
            f"A permanent test point at {point.node} tells {point.told_apart} more pairs of faults apart.",
            "  ",
        )
    return lines
