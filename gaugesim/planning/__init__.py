"""The cheapest way to a fault and to its proven repair, knowing nothing of circuits.

There are faults with their probabilities, checks with minutes and probable outcomes, places to be opened,
and repairs. In the order of the data:

- `problem`: faults, checks, places, repairs and their minutes; a state of the job and what follows a step;
- `prune`, `compacted`: the same as arrays, only what can still matter;
- `repairs`, `expected_gain`: what repairs alone would take, what checks are expected to tell;
- `following`, `policies`: simple rules, and the expected minutes of following one;
- `shortlist`, `rollout`: the best of them looked ahead with;
- `exact`, `exact_erring`, `yardstick`: the least that any plan takes; `exact_leading`: with few
  of the checks;
- `generous_bound`, `bound`: what no plan takes less than, where the optimum is out of reach;
- `reduced_problem`: a job cut down until the optimum can be computed;
- `decide`, `trees`: the next step, and all of them;
- `comparison`: how good that is, beside the least possible and beside simple rules.
"""

from gaugesim.planning.bound import lower_bound
from gaugesim.planning.comparison import Comparison, compare
from gaugesim.planning.decide import Action, Alternative, Planner, next_action
from gaugesim.planning.following import Policy, expected_minutes
from gaugesim.planning.problem import (
    CHECK,
    NO_PLACE,
    REPAIR,
    Belief,
    Problem,
    Step,
    after_check,
    after_repair,
    start,
    step_minutes,
)
from gaugesim.planning.trees import MENDED, NOT_MENDED, Node, tree
from gaugesim.planning.yardstick import optimum

__all__ = [
    "CHECK",
    "MENDED",
    "NOT_MENDED",
    "NO_PLACE",
    "REPAIR",
    "Action",
    "Alternative",
    "Belief",
    "Comparison",
    "Node",
    "Planner",
    "Policy",
    "Problem",
    "Step",
    "after_check",
    "after_repair",
    "compare",
    "expected_minutes",
    "lower_bound",
    "next_action",
    "optimum",
    "start",
    "step_minutes",
    "tree",
]
