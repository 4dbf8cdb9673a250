"""How good ranking and plan are, on generated cases."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from gaugesim.circuit import Circuit
from gaugesim.evaluation import Evaluation, Summary
from gaugesim.evaluation import evaluate as measure
from gaugesim.evaluation.run import Progress
from gaugesim.front.arguments import looked_at
from gaugesim.front.catalogue import AnyCircuit, find_circuit
from gaugesim.notebook import Result, encoded


@dataclass(frozen=True, repr=False)
class Judged(Result):
    """How often the ranking is right, and how honest its certainty is.

    Attributes
    ----------
    evaluation : Evaluation
        All that was measured.
    """

    evaluation: Evaluation

    @property
    def caption(self) -> str:
        """How many cases of which seed."""
        return f"{self.evaluation.model.cases} generated cases, seed {self.evaluation.seed}"

    @cached_property
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """A row for each circuit: how often the likeliest is right, in its group, among the first three."""
        summaries = {name: summary for name, (summary, _) in self.evaluation.circuits.items()}
        scores = ("cases", "top1", "group_top1", "top3", "log_score", "ece")
        return {"circuit": [*summaries]} | {
            score: [getattr(summary, score) for summary in summaries.values()] for score in scores
        }

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim evaluate --json`` says."""
        result = self.evaluation
        return {
            "seed": result.seed,
            **_summary_data(result.model),
            "identities": encoded(result.identities),
            "plan": None if result.plan is None else encoded(result.plan) | {"ratio": result.plan.ratio},
            "stress": {name: _summary_data(summary) for name, summary in result.stress.items()},
            "circuits": {
                name: _summary_data(summary) | {"identities": encoded(z)}
                for name, (summary, z) in result.circuits.items()
            },
        }


def _summary_data(summary: Summary) -> dict[str, Any]:
    data: dict[str, Any] = encoded(summary)
    for name in ("none_leads", "none_leads_distinguishable"):
        counted = data[name]
        data[name] = counted and counted["share"]
        data[f"{name}_limits"] = counted and counted["limits"]
    return data


@looked_at
def evaluate(
    circuits: AnyCircuit | Iterable[AnyCircuit],
    cases: int = 2000,
    seed: int = 1,
    plans: int = 8,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Judged:
    """Measure ranking and plan on generated cases: each a fault, tolerances and slips, solved anew.

    Parameters
    ----------
    circuits : str, Circuit or iterable of such
        Ids, paths of ``.cir`` files, or circuits.
    cases : int, optional
        On each circuit [1].
    seed : int, optional
        The same seed draws the same cases.
    plans : int, optional
        Complaints on each circuit whose plan is costed [1].
    executor : concurrent.futures.Executor, optional
        Who does the work; this process, if left out.
    progress : callable, optional
        Called with the number of blocks that are done, and of all.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> judged = gs.evaluate("temp_two_coil", cases=50, plans=0)
    >>> judged["circuit"], judged["cases"]
    (['temp_two_coil'], [50])
    """
    named = [circuits] if isinstance(circuits, str | Path | Circuit) else list(circuits)
    chosen = [find_circuit(name) for name in named]
    return Judged(measure(chosen, cases, seed, executor, progress, plans=plans))
