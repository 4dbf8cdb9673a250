"""What many scores come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugesim.evaluation.block import DISTINGUISHABLE, STRATA
from gaugesim.evaluation.plans import PlanCost
from gaugesim.evaluation.scores import Scores, calibration_error, noise_floor, share_limits, standard_error
from gaugesim.planning.comparison import RULES, Comparison

# a stratum with fewer cases says nothing
FEW = 30


@dataclass(frozen=True)
class Gain:
    """How much better than the prior's the log score of one kind of fault is.

    Attributes
    ----------
    gain, error : float
        Mean, and its standard error, which heeds that some cases were asked the same [nat].
    """

    gain: float
    error: float
    cases: int


@dataclass(frozen=True)
class Counted:
    """A share that was counted.

    Attributes
    ----------
    limits : (float, float)
        Between which the true one lies with 95 of 100 certainty [1].
    """

    share: float
    limits: tuple[float, float]
    cases: int

    @classmethod
    def of(cls, hit: np.ndarray) -> Counted:
        """Count.

        Parameters
        ----------
        hit : ndarray of bool, shape (cases,)
            At least one.
        """
        return cls(float(np.mean(hit)), share_limits(hit), len(hit))


@dataclass(frozen=True)
class Summary:
    """Scores of one world, over all its cases.

    Attributes
    ----------
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
    none_leads : Counted
        In how many cases "none of these" is likelier than every fault.
    strata : dict
        From kind of fault to `Gain`.
    distinguishable : float or None
        Share of unlisted faults that the readings tell from every listed one [1]; None for listed faults.
    none_leads_distinguishable : Counted or None
        In how many of these "none of these" leads; None where there are none.
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
    none_leads: Counted
    strata: dict[str, Gain]
    distinguishable: float | None
    none_leads_distinguishable: Counted | None

    @property
    def better_than_prior(self) -> float:
        """By what factor the truth is more probable than before anything was seen, geometric mean."""
        return float(np.exp(self.prior_log_score - self.log_score))


def summarise(scores: Scores, unlike: int = 0, tried: int = 0) -> Summary:
    """Sum scores up.

    Parameters
    ----------
    scores : Scores
        At least one.
    unlike, tried : int, optional
        How many vehicles with unlisted faults were distinguishable, of how many.
    """
    floor, high = noise_floor(scores.certainty)
    apart = scores.stratum == STRATA.index(DISTINGUISHABLE)
    strata = {}
    for number, name in enumerate(STRATA):
        some = scores.stratum == number
        if some.sum() >= FEW:
            gain = (scores.prior_log_score - scores.log_score)[some]
            error = standard_error(gain, scores.block[some])
            strata[name] = Gain(float(gain.mean()), error, len(gain))
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
        none_leads=Counted.of(scores.none_leads),
        strata=strata,
        distinguishable=unlike / tried if tried else None,
        none_leads_distinguishable=Counted.of(scores.none_leads[apart]) if apart.any() else None,
    )


@dataclass(frozen=True)
class PlanSummary:
    """Mean minutes from a complaint to the proven repair.

    Attributes
    ----------
    mean_minutes, optimum_minutes : float
        Of the core of each job: following the planner, and the least that any plan takes [min].
    whole_minutes, bound_minutes : float
        Of the whole job: following the planner, and a certified bound from below for every plan [min].
    rules : dict
        Of the whole job, following other rules [min].
    worst_ratio : float
        Of the core that is planned worst, the planner's minutes against the least.
    avoidable_ratio : float
        Of all cores, that of the minutes which need not be spent by one who knows the fault.
    rule_ratios : dict
        Of the cores, what other rules take against the least.
    """

    complaints: int
    mean_minutes: float
    optimum_minutes: float
    whole_minutes: float
    bound_minutes: float
    rules: dict[str, float]
    worst_ratio: float
    avoidable_ratio: float
    rule_ratios: dict[str, float]

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
    """
    cores, jobs = [cost.reduced for cost in costs], [cost.whole for cost in costs]
    mean, least, unavoidable = (_mean(cores, name) for name in ("planner", "least", "unavoidable"))
    avoidable = least - unavoidable
    return PlanSummary(
        complaints=len(costs),
        mean_minutes=mean,
        optimum_minutes=least,
        whole_minutes=_mean(jobs, "planner"),
        bound_minutes=_mean(jobs, "least"),
        rules={name: _mean(jobs, name) for name in RULES},
        worst_ratio=max(each.ratio for each in cores),
        avoidable_ratio=(mean - unavoidable) / avoidable if avoidable > 0 else 1.0,
        rule_ratios={name: _mean(cores, name) / least for name in RULES},
    )


def _mean(comparisons: Sequence[Comparison], name: str) -> float:
    return float(np.mean([getattr(entry, name) for entry in comparisons]))
