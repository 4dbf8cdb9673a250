"""A job as JSON has it: the diagnosis, the plan, and what they are made of."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from gaugesim.advice.ambiguity_groups import FromOutside
from gaugesim.advice.check_advice import Advice
from gaugesim.advice.hazard import Refused
from gaugesim.advice.jobs import Job
from gaugesim.advice.next_step import rate_per_hour
from gaugesim.advice.resistor import BestResistor
from gaugesim.consultation import Consultation
from gaugesim.diagnosis import Suspect
from gaugesim.evidence.history import Effect
from gaugesim.notebook import encoded, picked
from gaugesim.planning.problem import CHECK, Step
from gaugesim.planning.trees import MENDED, Node
from gaugesim.vocabulary import outcome_words


def diagnosis_data(consultation: Consultation) -> dict[str, Any]:
    """A diagnosis for a program."""
    diagnosis = consultation.diagnosis
    data = {
        **picked(diagnosis, "circuit gauge"),
        "first": [danger.words for danger in consultation.first],
        "ranking": [_suspect(suspect) for suspect in diagnosis.ranking],
        **picked(diagnosis, "circuits none_of_these groups"),
        "never_from_outside": [picked(group, "faults separated_by") for group in consultation.never_apart],
        "conflicts": [
            picked(conflict, "where subject seen probability changes_leader")
            | {"words": conflict.sentence, "leader_without": conflict.leader}
            for conflict in consultation.conflicts
        ],
        "history": effect_data(consultation.effects, diagnosis.circuit),
        "cured": consultation.cured or None,
        "next_check": advice_data(consultation.next_check),
        "mend_now": consultation.mend.words if consultation.mend else None,
        "refused": [_refused(entry) for entry in consultation.refused],
        "cautions": list(consultation.cautions),
    }
    return data | ({"proof": encoded(consultation.proof)} if consultation.cured else {})


def _suspect(suspect: Suspect) -> dict[str, Any]:
    data = picked(suspect, "fault part mode probability words place repair repair_minutes")
    return data | {"explains": [reason.sentence for reason in suspect.reasons]}


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
        **picked(consultation, "lower_bound_minutes optimum_minutes"),
        "swap_parts_minutes": consultation.swapping_minutes,
        "rate_per_hour": rate_per_hour(work),
        "best_resistor": None if best is None else _resistor(best),
        "while_you_are_there": encoded(consultation.neighbours),
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
    return step | picked(entry, "words probability")


def advice_data(advised: Advice | None) -> dict[str, Any] | None:
    """A check for a program."""
    if advised is None:
        return None
    leads = ("fault", "words", "probability")
    return picked(advised, "check state words steps minutes bits cautions") | {
        "outcomes": [
            picked(outcome, "outcome words probability")
            | {"leads_to": [dict(zip(leads, entry, strict=True)) for entry in outcome.leads_to]}
            for outcome in advised.outcomes
        ]
    }


def _check(consultation: Consultation) -> dict[str, Any] | None:
    check = advice_data(consultation.next_check)
    if check is None:
        return None
    return check | picked(consultation, "minutes_saved expected_readings")


def _step(consultation: Consultation, step: Step) -> dict[str, Any]:
    work, cautions = consultation.job, list(consultation.cautions_of(step))
    if step.kind == CHECK:
        option = work.options[step.number]
        data = {"check": option.check.id, "state": option.state, "words": option.check.words}
        return data | {"cautions": cautions}
    repair = work.remedies[work.repairs[step.number]]
    return {"repair": repair.name, **picked(repair, "words price"), "cautions": cautions}


def _node(consultation: Consultation, node: Node) -> dict[str, Any]:
    data = picked(node, "probability minutes expected_minutes")
    if node.action is None:
        return data | {"done": not node.cut}
    step = node.action.step
    outcomes = [
        {"outcome": name, "words": words, "then": _node(consultation, child)}
        for name, words, child in children(consultation.job, step, node)
    ]
    return data | _step(consultation, step) | {"outcomes": outcomes}


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
        **picked(best, "ohms check bits both_bits cautions"),
        "second_point": best.point,
        "expected": [picked(entry, "fault words position volts") for entry in best.expected],
    }


def _outside(hidden: FromOutside) -> dict[str, Any]:
    groups = [picked(group, "faults separated_by") for group in hidden.groups]
    return {"groups": groups, "test_point": encoded(hidden.test_point)}


def effect_data(effects: tuple[Effect, ...], circuit: str) -> dict[str, Any] | None:
    """What past repairs changed, for a program.

    Parameters
    ----------
    circuit : str
        The likeliest.
    """
    for effect in effects:
        if effect.circuit == circuit:
            return {
                **picked(effect.past, "source sheet_worth unreadable"),
                "repairs": effect.counted,
                "elsewhere": effect.elsewhere,
                "priors": [picked(share, "fault before after") for share in effect.shares],
            }
    return None
