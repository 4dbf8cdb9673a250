"""What many scores come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.evaluate.block import DISTINGUISHABLE, STRATA
from gaugesim.evaluate.plans import PlanCost
from gaugesim.evaluate.scores import Scores, calibration_error, noise_floor
from gaugesim.plan.compare import RULES

# a stratum with fewer cases says nothing
FEW = 30


@dataclass(frozen=True)
class Summary:
    """Scores of one world, over all its cases.

    Attributes
    ----------
    cases : int
    top1, top3 : float
        Share of cases whose fault is the likeliest, is among the three likeliest [1].
    repair_top1 : float
        Share whose likeliest repair mends it [1].
    group_top1 : float
        Share whose fault the answers do not tell apart from the likeliest [1].
    log_score, prior_log_score : float
        Mean negative logarithm of the fault's probability, and the same before anything was seen [nat].
    brier : float
        Mean squared distance from the truth [1].
    ece, ece_floor, ece_floor_high : float
        Calibration error; its mean, and what 95 of 100 lie below, if every certainty were exactly right [1].
    none_leads : float
        Share of cases in which "none of these" is likelier than every fault [1].
    strata : dict
        From kind of fault to how much better its log score is than the prior's, and how many cases [nat].
    distinguishable, none_leads_distinguishable : float or None
        Of unlisted faults: how many the readings tell from every listed one, and the share of these in which
        "none of these" leads [1]; None where there are none.
    """

    cases: int
    top1: float
    top3: float
    repair_top1: float
    group_top1: float
    log_score: float
    prior_log_score: float
    brier: float
    ece: float
    ece_floor: float
    ece_floor_high: float
    none_leads: float
    strata: dict[str, tuple[float, int]]
    distinguishable: float | None
    none_leads_distinguishable: float | None

    @property
    def better_than_prior(self) -> float:
        """By what factor the truth is more probable than before anything was seen, geometric mean."""
        return float(np.exp(self.prior_log_score - self.log_score))


def summarise(scores: Scores) -> Summary:
    """Sum scores up.

    Parameters
    ----------
    scores : Scores
        At least one.

    Returns
    -------
    Summary
    """
    floor, high = noise_floor(scores.certainty)
    apart = scores.stratum == STRATA.index(DISTINGUISHABLE)
    strata = {}
    for number, name in enumerate(STRATA):
        some = scores.stratum == number
        if some.sum() >= FEW:
            gain = float((scores.prior_log_score - scores.log_score)[some].mean())
            strata[name] = (gain, int(some.sum()))
    return Summary(
        cases=len(scores),
        top1=float(scores.hit.mean()),
        top3=float(scores.hit3.mean()),
        repair_top1=float(scores.repair_hit.mean()),
        group_top1=float(scores.group_hit.mean()),
        log_score=float(scores.log_score.mean()),
        prior_log_score=float(scores.prior_log_score.mean()),
        brier=float(np.mean(scores.brier)),
        ece=calibration_error(scores.certainty, scores.hit),
        ece_floor=floor,
        ece_floor_high=high,
        none_leads=float(scores.none_leads.mean()),
        strata=strata,
        distinguishable=float(apart.mean()) if apart.any() else None,
        none_leads_distinguishable=float(scores.none_leads[apart].mean()) if apart.any() else None,
    )


@dataclass(frozen=True)
class PlanSummary:
    """Mean minutes from a complaint to the proven repair.

    Attributes
    ----------
    complaints : int
    mean_minutes, optimum_minutes : float
        Of the core of each job: following the planner, and the least that any plan takes [min].
    whole_minutes, bound_minutes : float
        Of the whole job: following the planner, and a certified bound from below for every plan [min].
    rules : dict
        Of the whole job, following other rules [min].
    """

    complaints: int
    mean_minutes: float
    optimum_minutes: float
    whole_minutes: float
    bound_minutes: float
    rules: dict[str, float]

    @property
    def ratio(self) -> float:
        """The planner's minutes against the least, of the cores."""
        return self.mean_minutes / self.optimum_minutes


def summarise_plans(costs: Sequence[PlanCost]) -> PlanSummary:
    """Sum the costs of plans up.

    Parameters
    ----------
    costs : sequence of PlanCost
        At least one.

    Returns
    -------
    PlanSummary
    """
    return PlanSummary(
        len(costs),
        float(np.mean([cost.core.planner for cost in costs])),
        float(np.mean([cost.core.least for cost in costs])),
        float(np.mean([cost.whole.planner for cost in costs])),
        float(np.mean([cost.whole.least for cost in costs])),
        {name: float(np.mean([getattr(cost.whole, name) for cost in costs])) for name in RULES},
    )
