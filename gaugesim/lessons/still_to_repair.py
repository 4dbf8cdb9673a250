"""What may still have to be repaired, after some of it has been."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaugesim.advice.jobs import Job
from gaugesim.advice.remedy import Repair, repair_costs, repair_named
from gaugesim.planning.problem import CHECK, REPAIR, Problem, Step


@dataclass(frozen=True, eq=False)
class Rest:
    """What may still have to be repaired."""

    work: Job
    replaced: frozenset[str] = frozenset()

    @cached_property
    def left(self) -> tuple[frozenset[str], ...]:
        """What each hypothesis still needs repaired."""
        return tuple(frozenset(entry.repair.split("+")) - self.replaced for entry in self.work.hypotheses)

    @cached_property
    def replaced_parts(self) -> frozenset[str]:
        """The parts that are new."""
        return frozenset(part for name in self.replaced for part in self.repair(name).parts)

    @cached_property
    def repairs(self) -> tuple[str, ...]:
        """Names of the repairs of `problem`, several joined by ``+``."""
        return tuple(dict.fromkeys("+".join(sorted(names)) for names in self.left if names))

    @cached_property
    def problem(self) -> Problem:
        """What is left to do, as a planning problem."""
        base, work = self.work.problem, self.work
        setup = dict(zip(work.places, base.setup_minutes.tolist(), strict=True))
        minutes, where = repair_costs([self.repair(name) for name in self.repairs], setup, work.opened)
        number = {frozenset(joined.split("+")): r for r, joined in enumerate(self.repairs)}
        steps = {Step(REPAIR, r): name for r, name in enumerate(self.repairs) if name in work.burns}
        harm = {step: chance for step, chance in base.harm.items() if step.kind == CHECK}
        repair_of = np.array([number.get(names, 0) for names in self.left], dtype=np.intp)
        return replace(
            base,
            repair_minutes=minutes,
            repair_places=where,
            repair_of=repair_of,
            price=np.zeros(len(minutes)),
            harm=harm | {step: work.burns[name] for step, name in steps.items()},
        )

    def repair(self, name: str) -> Repair:
        """A repair of this circuit by its name.

        Parameters
        ----------
        name : str
            Several joined by ``+``.
        """
        return repair_named(self.work.circuit, name, self.work.diagnosis.gauge)
