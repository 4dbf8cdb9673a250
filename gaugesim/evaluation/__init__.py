"""How good ranking and plan are, on generated cases whose fault is known.

In the order of the data:

- `ailments`, `fleet`, `resolve`: vehicles with faults and tolerances of their own, every network solved anew;
- `interview`, `answers`: what is asked of them, and what people and meters answer;
- `worlds`: the world that inference believes in, and those that differ from it;
- `resemblance`: whether a fault that no sheet lists can be told from those that it does;
- `scores`, `identities`: how good posteriors are, and equations that only a right one fulfils;
- `block`: a block of cases from the draw to the score;
- `plans`: what plans take;
- `summary`, `run`: all of it for any executor.
"""

from gaugesim.evaluation.run import Evaluation, evaluate
from gaugesim.evaluation.summary import PlanSummary, Summary

__all__ = ["Evaluation", "PlanSummary", "Summary", "evaluate"]
