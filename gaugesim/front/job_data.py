"""A job as JSON has it: the diagnosis, the plan, and what they are made of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from gaugesim.consultation import Consultation
from gaugesim.diagnosis import Suspect
from gaugesim.evidence.history import Effect
from gaugesim.notebook import encoded
from gaugesim.planning.check_advice import Advice, outcome_words
from gaugesim.planning.hazard import Refused
from gaugesim.planning.jobs import Job
from gaugesim.planning.next_step import rate_per_hour
from gaugesim.planning.outside import FromOutside, Group
from gaugesim.planning.problem import CHECK, Step
from gaugesim.planning.resistor import BestResistor
from gaugesim.planning.trees import MENDED, Node


def diagnosis_data(consultation: Consultation) -> dict[str, Any]:
    """A diagnosis for a program."""
    found = consultation.diagnosis
    told = {
        "circuit": found.circuit,
        "gauge": found.gauge,
        "first": [danger.words for danger in consultation.first],
        "ranking": [_suspect(suspect) for suspect in found.ranking],
        "circuits": found.circuits,
        "none_of_these": found.none_of_these,
        "groups": [list(group) for group in found.groups],
        "never_from_outside": _groups(consultation.never_apart),
        "conflicts": [
            {
                "where": conflict.where,
                "subject": conflict.subject,
                "seen": conflict.seen,
                "probability": conflict.probability,
                "words": conflict.sentence,
                "leader_without": conflict.leader,
                "changes_leader": conflict.changes_leader,
            }
            for conflict in consultation.conflicts
        ],
        "history": effect_data(consultation.effects, found.circuit),
        "cured": consultation.cured or None,
        "next_check": advice_data(consultation.next_check),
        "mend_now": consultation.mend.words if consultation.mend else None,
        "refused": [_refused(entry) for entry in consultation.refused],
        "cautions": list(consultation.cautions),
    }
    return told | ({"proof": encoded(consultation.proof)} if consultation.cured else {})


def _suspect(suspect: Suspect) -> dict[str, Any]:
    return {
        "fault": suspect.fault,
        "part": suspect.part,
        "mode": suspect.mode,
        "probability": suspect.probability,
        "words": suspect.words,
        "place": suspect.place,
        "repair": suspect.repair,
        "repair_minutes": suspect.repair_minutes,
        "explains": [reason.sentence for reason in suspect.reasons],
    }


def plan_data(consultation: Consultation, outside: bool = False) -> dict[str, Any]:
    """A plan for a program.

    Parameters
    ----------
    outside : bool, optional
        Whether with what no check from outside tells apart on this circuit at all.
    """
    work, best = consultation.job, consultation.best_resistor
    result: dict[str, Any] = {
        "circuit": work.circuit.id,
        "gauge": consultation.gauge,
        "first": [danger.words for danger in consultation.first],
        "cured": consultation.cured or None,
        "next_check": _check(consultation),
        "next_step": None if consultation.cured else _step(consultation, consultation.way.step),
        "tree": _node(consultation, consultation.tree),
        "expected_minutes": consultation.tree.expected_minutes,
        "lower_bound_minutes": consultation.lower_bound_minutes,
        "optimum_minutes": consultation.optimum_minutes,
        "swap_parts_minutes": consultation.swapping_minutes,
        "rate_per_hour": rate_per_hour(work),
        "best_resistor": None if best is None else _resistor(best),
        "while_you_are_there": [
            vars(entry) | {"cautions": list(entry.cautions)} for entry in consultation.neighbours
        ],
        "proof": encoded(consultation.proof),
        "refused": [_refused(entry) for entry in consultation.refused],
        "cautions": list(consultation.cautions),
        "history": effect_data(consultation.effects, work.circuit.id),
    }
    if outside:
        result["never_from_outside"] = _outside(consultation.from_outside)
    return result


def _refused(entry: Refused) -> dict[str, Any]:
    step = {"check": entry.name, "state": entry.state} if entry.state else {"repair": entry.name}
    return {**step, "words": entry.words, "probability": entry.probability}


def advice_data(advised: Advice | None) -> dict[str, Any] | None:
    """A check for a program."""
    if advised is None:
        return None
    return {
        "check": advised.check,
        "state": advised.state,
        "words": advised.words,
        "steps": list(advised.steps),
        "minutes": advised.minutes,
        "bits": advised.bits,
        "cautions": list(advised.cautions),
        "outcomes": [
            {
                "outcome": outcome.outcome,
                "words": outcome.words,
                "probability": outcome.probability,
                "leads_to": [
                    {"fault": fault, "words": words, "probability": p} for fault, words, p in outcome.leads_to
                ],
            }
            for outcome in advised.outcomes
        ],
    }


def _check(consultation: Consultation) -> dict[str, Any] | None:
    check = advice_data(consultation.next_check)
    if check is None:
        return None
    readings = [vars(entry) for entry in consultation.expected_readings]
    return check | {"minutes_saved": consultation.minutes_saved, "expected_readings": readings}


def _step(consultation: Consultation, step: Step) -> dict[str, Any]:
    work, cautions = consultation.job, list(consultation.cautions_of(step))
    if step.kind == CHECK:
        option = work.options[step.number]
        told = {"check": option.check.id, "state": option.state, "words": option.check.words}
        return told | {"cautions": cautions}
    repair = work.remedies[work.repairs[step.number]]
    return {"repair": repair.name, "words": repair.words, "price": repair.price, "cautions": cautions}


def _node(consultation: Consultation, node: Node) -> dict[str, Any]:
    told: dict[str, Any] = {
        "probability": node.probability,
        "minutes": node.minutes,
        "expected_minutes": node.expected_minutes,
    }
    if node.action is None:
        return told | {"done": not node.cut}
    step = node.action.step
    outcomes = [
        {"outcome": name, "words": words, "then": _node(consultation, child)}
        for name, words, child in children(consultation.job, step, node)
    ]
    return told | _step(consultation, step) | {"outcomes": outcomes}


def children(work: Job, step: Step, node: Node) -> Iterator[tuple[str, str, Node]]:
    """What follows a step, likeliest first.

    Parameters
    ----------
    node : Node
        Where the step is made.

    Yields
    ------
    (str, str, Node)
        The outcome's name, its words, and the node that it leads to.
    """
    for outcome, child in sorted(node.children.items(), key=lambda item: -item[1].probability):
        if step.kind == CHECK:
            option = work.options[step.number]
            name = option.classes[outcome]
            yield name, outcome_words(option.check.reads, name), child
        elif outcome == MENDED:
            yield "cured", "the complaint is gone", child
        else:
            yield "not_cured", "the complaint is still there", child


def _resistor(best: BestResistor) -> dict[str, Any]:
    return {
        "ohms": best.ohms,
        "check": best.check,
        "bits": best.bits,
        "second_point": best.point,
        "both_bits": best.both_bits,
        "cautions": list(best.cautions),
        "expected": [
            {
                "fault": entry.fault,
                "words": entry.words,
                "position": encoded(entry.position),
                "volts": encoded(entry.volts),
            }
            for entry in best.expected
        ],
    }


def _outside(hidden: FromOutside) -> dict[str, Any]:
    return {
        "groups": _groups(hidden.groups),
        "test_point": None if hidden.test_point is None else vars(hidden.test_point),
    }


def _groups(groups: Sequence[Group]) -> list[dict[str, Any]]:
    """Faults that no check from outside tells apart."""
    return [
        {
            "faults": list(group.faults),
            "separated_by": None if group.separated_by is None else vars(group.separated_by),
        }
        for group in groups
    ]


def effect_data(effects: tuple[Effect, ...], circuit: str) -> dict[str, Any] | None:
    """What past repairs changed, for a program.

    Parameters
    ----------
    circuit : str
        The likeliest.
    """
    for effect in effects:
        if effect.circuit == circuit:
            shares = [
                {"fault": share.fault, "before": share.before, "after": share.after}
                for share in effect.shares
            ]
            return {
                "source": effect.past.source,
                "repairs": effect.counted,
                "elsewhere": effect.elsewhere,
                "sheet_worth": effect.past.sheet_worth,
                "unreadable": list(effect.past.unreadable),
                "priors": shares,
            }
    return None
