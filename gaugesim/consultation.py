"""One job from the complaint to the proven repair: all that follows from a case, worked out when asked for.

Commands, conversation, page, practice and notebooks are views of a `Consultation`: they tell what it holds,
and add no rule, no arithmetic and no caution of their own.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import chain
from operator import is_
from pathlib import Path
from typing import Any

import numpy as np

from gaugesim import case as cases
from gaugesim.advice.ambiguity_groups import AmbiguityGroup, FromOutside, from_outside, never_apart
from gaugesim.advice.check_advice import Advice, Expected, advice_on, by_information, expected_readings
from gaugesim.advice.danger import ADVISES, Danger, dangers, engine_runs, overcharging, really_hot, scopes
from gaugesim.advice.hazard import Refused
from gaugesim.advice.jobs import Job, Option, job, option_of
from gaugesim.advice.neighbours import Neighbour, while_you_are_there
from gaugesim.advice.next_step import NextStep, swapping_minutes, way
from gaugesim.advice.progress import cured, done, is_past, may_be_taken_again, proven, stage, until_cured
from gaugesim.advice.proofs import MustSee, Proof, proof
from gaugesim.advice.remedy import Repair, repair_cautions
from gaugesim.advice.resistor import BestResistor, best_resistor
from gaugesim.case import WHOLES, Case
from gaugesim.circuit import Circuit
from gaugesim.compose import declined
from gaugesim.diagnosis import Conflict, Diagnosis, candidates, caution_texts, diagnose, gauges_wrong
from gaugesim.errors import CaseError
from gaugesim.evidence.history import Effect
from gaugesim.planning.bound import lower_bound
from gaugesim.planning.decide import Action
from gaugesim.planning.problem import CHECK, REPAIR, Step
from gaugesim.planning.trees import Node, tree
from gaugesim.planning.yardstick import optimum
from gaugesim.records import learned
from gaugesim.scenario.caution import check_cautions, in_order
from gaugesim.scenario.check import find_check
from gaugesim.scenario.tools import tools_for
from gaugesim.vocabulary import enumerated

# candidate circuits that the next check is planned for; more of them hardly change it
PLANNED = 3
# branches of the tree that are reached less often are cut off
DRAWN = 0.03
# suspects whose reading is told
LISTED = 0.01


@dataclass(frozen=True, eq=False)
class Consultation:
    """A case and all that follows from it.

    Attributes
    ----------
    circuits : tuple of Circuit
        The candidates, past repairs in their priors.
    effects : tuple of Effect
        What past repairs changed on each; empty if there are none.
    rate_per_hour : float or None
        What an hour of work costs, by which prices of parts count as minutes; None for the sheet's own.
    before : Diagnosis or None
        What fewer answers came to, which spares most of the work.

    Examples
    --------
    >>> seen = [{"state": state, "needle": "half"} for state in ("key_on_cold", "running_warm")]
    >>> job = consult(cases.parse({"circuit": "temp_opposed_coil", "seen": seen}))
    >>> job.diagnosis.ranking[0].fault
    'stud_bias=open'
    >>> then = job.with_answer("measured", check="sender_lead_volts", state="key_on_cold", volts="none")
    >>> then.diagnosis.ranking[0].probability > job.diagnosis.ranking[0].probability
    True
    """

    case: Case
    circuits: tuple[Circuit, ...]
    effects: tuple[Effect, ...] = ()
    rate_per_hour: float | None = None
    before: Diagnosis | None = field(default=None, repr=False)

    def with_answer(self, table: str, **fields: Any) -> Consultation:
        """The next one, with one entry more.

        Parameters
        ----------
        table : str
            ``seen``, ``measured``, ``inspected`` or ``replaced``.

        Raises
        ------
        CaseError
            If the entry is none.
        """
        now = stage(self.case)
        fields |= {"stage": now} if now > 1 and "stage" not in fields else {}
        return self.with_case(cases.with_one_more(self.case, table, fields))

    def with_case(self, case: Case, circuits: tuple[Circuit, ...] = ()) -> Consultation:
        """The same with another case; what is known of the candidates is used again."""
        earlier = self.__dict__.get("diagnosis", self.before)
        return replace(self, case=case, circuits=circuits or self.circuits, before=earlier)

    @cached_property
    def diagnosis(self) -> Diagnosis:
        """The faults, ranked."""
        return diagnose(self.case, self.circuits, self.before)

    @property
    def circuit(self) -> Circuit:
        """The likeliest circuit."""
        return self.diagnosis.posteriors[0].cells.circuit

    @property
    def gauge(self) -> str:
        """The gauge complained of."""
        return self.diagnosis.gauge

    @property
    def title(self) -> str:
        """What the job is about, in words."""
        # no circuit's name stands for all of them while the movement is open
        return f"{self.gauge_words} ({self.circuit.id})" if len(self.circuits) == 1 else self.gauge_words

    @property
    def gauge_words(self) -> str:
        """The gauges that are wrong, in words."""
        wrong = gauges_wrong(self.case, self.circuit)
        return enumerated([self.circuit.sheet.gauges[gauge].words for gauge in wrong]).capitalize()

    @cached_property
    def cured(self) -> str:
        """The part whose repair has ended the complaint; empty while none has."""
        return cured(self.case)

    @property
    def cured_words(self) -> str:
        """The same in words."""
        if self.cured in WHOLES:
            return f"the whole {self.cured}"
        return self.circuit.part(self.cured, self.gauge).words if self.cured else ""

    @property
    def conflicts(self) -> tuple[Conflict, ...]:
        """Entries that the others speak against, of those that may be taken again."""
        again = may_be_taken_again(self.case, self.gauge)
        conflicts = () if self.cured else self.diagnosis.conflicts
        return tuple(conflict for conflict in conflicts if conflict.where in again)

    @cached_property
    def first(self) -> tuple[Danger, ...]:
        """What has to be done before anything else is read."""
        return () if self.cured else dangers(self.case, self.circuits)

    @cached_property
    def past(self) -> frozenset[str]:
        """Checks that need not be made again, as `done` names them."""
        return done(self.case, self.circuit, self.gauge)

    @cached_property
    def job(self) -> Job:
        """The checks that may be made now, and what each would show."""
        leading = replace(self.diagnosis, posteriors=self.diagnosis.posteriors[:PLANNED])
        return job(leading, self.rate_per_hour, self._left_out)

    def _left_out(self, check: str, state: str) -> bool:
        """Whether a check was made already, or asks for an engine to run that must not."""
        past = is_past(check, state, self.past)
        return past or not self.may_be_had(state, check) or not self._has_tools(check)

    def _has_tools(self, check: str) -> bool:
        tools = self.case.at_hand
        return tools is None or tools_for(find_check(self.circuit, check, self.gauge)) <= {*tools}

    def may_be_had(self, state: str, check: str = "") -> bool:
        """Whether a state may be asked for: not if the engine runs in it, or is turned, and must not."""
        return not (self.first and engine_runs(self.circuit, state, check))

    @cached_property
    def way(self) -> NextStep:
        """What to do next: a check, or a repair at once."""
        return way(self.job)

    @property
    def action(self) -> Action:
        """What the planner says of every step."""
        return self.way.action

    @cached_property
    def next_option(self) -> Option | None:
        """The check to make if one is to be made; None if none tells anything more, or the job is done."""
        return None if self.cured or self.way.check is None else self.job.options[self.way.check]

    @cached_property
    def next_check(self) -> Advice | None:
        """The same, told."""
        return None if self.next_option is None else advice_on(self.job, self.next_option)

    def next_check_but(self, passed: frozenset[str]) -> Advice | None:
        """The next check if some are passed over.

        Parameters
        ----------
        passed : frozenset of str
            ``check@state`` of each.
        """
        option = self.next_option
        if option is None or option.id not in passed:
            return self.next_check
        checks = (choice.step.number for choice in self.action.alternatives if choice.step.kind == CHECK)
        planned = (self.job.options[number] for number in checks)
        for option in (*planned, *by_information(self.job)):
            if option.id not in passed:
                return advice_on(self.job, option)
        return None

    def check(self, name: str, state: str) -> Advice:
        """Any check, told; an error if there is no such check."""
        return advice_on(self.job, option_of(self.job, find_check(self.circuit, name, self.gauge), state))

    @cached_property
    def expected_readings(self) -> tuple[Expected, ...]:
        """What each suspect would show at the next check."""
        return () if self.next_option is None else expected_readings(self.job, self.next_option, LISTED)

    @cached_property
    def minutes_saved(self) -> float | None:
        """What the next check saves beside mending at once; below zero if it is made to be sure [min]."""
        mending = [each.expected_minutes for each in self.action.alternatives if each.step.kind == REPAIR]
        if self.way.step.kind != CHECK or not mending:
            return None
        return min(mending) - self.tree.expected_minutes

    @cached_property
    def mend(self) -> Repair | None:
        """The repair that is quicker than any check; None if a check comes first."""
        return None if self.cured else self.way.mend

    @property
    def likeliest_repair(self) -> Repair:
        """The repair that is likeliest to help, of those that nothing would make burn."""
        work = self.job
        safe = [not work.would_burn(entry.repair) for entry in work.hypotheses]
        weight = np.where(safe, work.weight, 0.0) if any(safe) else work.weight
        return work.remedies[work.hypotheses[int(np.argmax(weight))].repair]

    @property
    def mend_opens(self) -> tuple[str, ...]:
        """The places that it opens, in words."""
        places = self.mend.places if self.mend else ()
        return tuple(self.circuit.sheet.places[name].words for name in places if name not in self.job.opened)

    def cautions_of(self, step: Step | Repair) -> tuple[str, ...]:
        """Cautions of a step of the plan, or of a repair, the worst first."""
        if isinstance(step, Repair):
            cautions = repair_cautions(self.circuit, step)
        elif step.kind == CHECK:
            option = self.job.options[step.number]
            cautions = check_cautions(self.circuit, option.check, option.state)
        else:
            cautions = repair_cautions(self.circuit, self.job.remedies[self.job.repairs[step.number]])
        return tuple(caution.words for caution in cautions)

    def cautions_of_checks(self, names: Collection[str]) -> tuple[str, ...]:
        """Cautions of the job's options of these ids, each once and the worst first."""
        options = [option for option in self.job.options if option.id in names]
        cautions = [check_cautions(self.circuit, option.check, option.state) for option in options]
        return tuple(each.words for each in in_order(self.circuit, (each.id for each in chain(*cautions))))

    @cached_property
    def tree(self) -> Node:
        """The way to the end; what is unlikely is cut off."""
        if self.cured:
            return Node(1.0, 0.0, 0.0)
        return tree(self.job.problem, least_probability=DRAWN, first=self.way.step)

    @cached_property
    def lower_bound_minutes(self) -> float:
        """What no plan takes less than [min]."""
        return 0.0 if self.cured else lower_bound(self.job.problem)

    @cached_property
    def optimum_minutes(self) -> float | None:
        """What the best of all plans takes, where that can be worked out [min]."""
        return 0.0 if self.cured else optimum(self.job.problem)

    @cached_property
    def swapping_minutes(self) -> float:
        """What swapping parts in order of likelihood takes on average [min]."""
        return 0.0 if self.cured else swapping_minutes(self.job)

    @cached_property
    def neighbours(self) -> tuple[Neighbour, ...]:
        """What to look at while the place of the next step is open, or else that of the leading suspect."""
        if self.cured:
            return ()
        places = self.next_option.check.places if self.next_option and not self.mend else ()
        near = while_you_are_there(self.diagnosis, places[-1] if places else self.diagnosis.ranking[0].place)
        names = [self.circuit.short_name(entry.part, self.gauge) for entry in near]
        return tuple(entry for entry, name in zip(near, names, strict=True) if not self.job.would_burn(name))

    @property
    def refused(self) -> tuple[Refused, ...]:
        """Steps that are not proposed, because a fault that is believed would make them burn."""
        return () if self.cured else self.job.refused

    @cached_property
    def best_resistor(self) -> BestResistor | None:
        """The resistor in place of the sender that splits the suspects best."""
        return None if self.cured else best_resistor(self.job)

    @cached_property
    def proof(self) -> Proof:
        """What must be seen before the job is closed; the same from the cure to the end."""
        case, repaired = until_cured(self.case), None if self.cured in ("", *WHOLES) else self.cured
        diagnosis = self.diagnosis if case == self.case else diagnose(case, self.circuits, self.diagnosis)
        return proof(diagnosis, repaired, self.may_be_had)

    @property
    def proof_cautions(self) -> tuple[str, ...]:
        """Cautions of the states in which it is looked for."""
        names = [name for need in self.proof_left for name in self.circuit.sheet.states[need.state].cautions]
        return caution_texts(self.circuit, names)

    @property
    def scope(self) -> tuple[str, ...]:
        """What has to be known before the first check, in one line; empty once one was made."""
        short = "; ".join(scope.short for scope in scopes(self.case, (self.circuit, *self.circuits)))
        name = self.case.path if self.case.vehicle else self.circuit.id
        return (f"Before the first check: {short}. In full: gaugesim circuits {name}.",) if short else ()

    @cached_property
    def told_first(self) -> tuple[str, ...]:
        """That the battery may be overcharged or, if nothing worse is said of it, the engine really hot."""
        charging = () if self.cured else overcharging(self.diagnosis, self.circuits)
        return charging + (() if self.first else really_hot(self.diagnosis, self.circuits))

    @cached_property
    def cautions(self) -> tuple[str, ...]:
        """Cautions that hold whatever is done next."""
        always = [name for name in ("not_a_gauge",) if name in self.circuit.sheet.cautions]
        return (*self.told_first, *self.scope, *caution_texts(self.circuit, always), ADVISES)

    @property
    def proof_left(self) -> tuple[MustSee, ...]:
        """What of that has not been seen since the cure; empty once the job is done."""
        seen = proven(self.case)
        return tuple(need for need in self.proof.must_see if need.state not in seen)

    @cached_property
    def never_apart(self) -> tuple[AmbiguityGroup, ...]:
        """Suspects that no check from outside tells apart."""
        return never_apart(self.job)

    @cached_property
    def from_outside(self) -> FromOutside:
        """What no check from outside tells apart on this circuit at all."""
        return from_outside(self.circuit, self.gauge)


def consult(
    case: Case | Path | str,
    netlists_folder: Path | None = None,
    history: Path | None = None,
    rate_per_hour: float | None = None,
) -> Consultation:
    """Take up a case.

    Raises
    ------
    CaseError
        By file and key, if the case cannot be read.
    UnsolvableError
        If something else than its sender moves the needle: what can still be checked.
    """
    case = case if isinstance(case, Case) else cases.read(case)
    if error := declined(case.driven_by, f"{case.path.name}: driven_by"):
        raise error
    if rate_per_hour is not None and not 0 < rate_per_hour < float("inf"):
        raise CaseError(f"{rate_per_hour!r} is no rate", "", "give what an hour of work costs, as 60")
    chosen, effects = learned(candidates(case, netlists_folder), history, netlists_folder)
    job = Consultation(case, chosen, effects, rate_per_hour)
    _LAST[:] = [last for last in _LAST if _alike(last, job)] or [job]
    return _LAST[0]


_LAST: list[Consultation] = []  # who ranks a case and then plans it has all of it worked out once


def _alike(job: Consultation, other: Consultation) -> bool:
    """Whether two jobs are the same, of the same circuits: one whose files have changed is another object."""
    last, now = ((each.case, each.effects, each.rate_per_hour, len(each.circuits)) for each in (job, other))
    return last == now and all(map(is_, job.circuits, other.circuits))
