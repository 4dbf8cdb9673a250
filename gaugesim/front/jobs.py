"""A case, its ranking and its plan: two views of one job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from pathlib import Path
from typing import Any, Self

from gaugesim import case as cases
from gaugesim.advice.answer_entries import entry_of
from gaugesim.advice.check_advice import Advice
from gaugesim.advice.proofs import Proof
from gaugesim.advice.resistor import BestResistor
from gaugesim.case import Case
from gaugesim.consultation import Consultation, consult
from gaugesim.diagnosis import Suspect
from gaugesim.errors import CaseError
from gaugesim.front.arguments import looked_at
from gaugesim.front.job_data import children, diagnosis_data, plan_data
from gaugesim.notebook import Result
from gaugesim.planning.problem import CHECK
from gaugesim.planning.trees import Node
from gaugesim.vocabulary import RESULT

Answer = str | float | tuple[float, float]
# what a plan calls every result of a repair but a cure
NOT_CURED = "not_cured"


@dataclass(frozen=True, repr=False)
class View(Result):
    """A job from the complaint to the proven repair.

    Attributes
    ----------
    consultation : Consultation
        The case and all that follows from it.
    """

    consultation: Consultation

    def __post_init__(self) -> None:
        _ = self.consultation.diagnosis  # what is wrong with the case is said at once

    @property
    def case(self) -> Case:
        """What is known."""
        return self.consultation.case

    @property
    def next_check(self) -> Advice | None:
        """What to check next, with what each outcome would mean; None if no check tells more."""
        return self.consultation.next_check

    @property
    def mend(self) -> str | None:
        """The repair that is quicker than any check; None if a check comes first."""
        return self.consultation.mend.words if self.consultation.mend else None

    @property
    def proof(self) -> Proof:
        """What must be seen before the job is closed."""
        return self.consultation.proof

    @property
    def step(self) -> str:
        """What to do next, in words."""
        if self.consultation.cured:
            return "prove the repair"
        if self.mend:
            return f"mend at once: {self.mend}"
        check = self.next_check
        return f"{check.words} ({check.state_words})" if check else "mend the likeliest and prove it"

    @property
    def caption(self) -> str:
        """The gauge, and what to do next."""
        return f"{self.consultation.title}. Next: {self.step}"

    @property
    def first(self) -> tuple[str, ...]:
        """What has to be done before anything else is read."""
        return tuple(danger.words for danger in self.consultation.first)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What has to be done first of all, what the next step asks for, and what holds whatever is done."""
        job = self.consultation
        check = job.next_check.cautions if job.next_check else ()
        mend = job.cautions_of(job.mend) if job.mend else ()
        return tuple(dict.fromkeys((*self.first, *mend, *check, *job.cautions)))

    @looked_at
    def after(self, answer: Answer | None = None, **entry: Any) -> Self:
        """The same job with one thing more that is known.

        Parameters
        ----------
        answer : str, float or (float, float), optional
            What the next check showed: the word of an outcome, a number or a range; or what the repair did:
            ``cured``, ``cured_for_a_while``, ``changed``, ``no_change``.
        **entry
            Instead of it, any entry of a case file: ``check=``, ``state=`` and what was read; ``part=`` and
            ``found=`` or ``result=``; or what was seen.

        Returns
        -------
        Ranking or Plan

        Raises
        ------
        CaseError
            If the answer is none.
        """
        if (answer is None) == (not entry):
            remedy = 'write after("half") or after(part="fuse", found="broken")'
            raise CaseError("after() takes an answer or an entry", "", remedy)
        job = self.consultation
        if answer is None:
            return type(self)(job.with_answer(_table(entry), **entry))
        result = "no_change" if answer == NOT_CURED else answer
        if result in RESULT.written and job.mend:
            for part in job.mend.name.split("+"):
                job = job.with_answer("replaced", part=part, result=result)
            return type(self)(job)
        table, fields = self._entry(answer)
        return type(self)(job.with_answer(table, **fields))

    def _entry(self, answer: Answer) -> tuple[str, dict[str, Any]]:
        """The table and the entry of a case file that an answer to the next check makes."""
        job, option = self.consultation, self.consultation.next_option
        if option is None:
            raise CaseError("no check is next", "", f"say what the repair did: {', '.join(RESULT.written)}")
        if answer == "":
            raise CaseError("answer is empty", "after()", "give the word of an outcome, a number or a range")
        if not isinstance(answer, str | int | float):
            answer = (answer[0], answer[-1])
        return entry_of(job.circuit, option.check, option.state, answer)


@dataclass(frozen=True, repr=False)
class Ranking(View):
    """Which fault it is, and how sure that is."""

    @property
    def ranking(self) -> tuple[Suspect, ...]:
        """The suspects, likeliest first."""
        return self.consultation.diagnosis.ranking

    @cached_property
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """The suspects with their probabilities; last what is none of them."""
        diagnosis = self.consultation.diagnosis
        return {
            "probability": [*(suspect.probability for suspect in diagnosis.ranking), diagnosis.none_of_these],
            "fault": [*(suspect.fault for suspect in diagnosis.ranking), "none_of_these"],
            "words": [*(suspect.words for suspect in diagnosis.ranking), "none of these"],
            "place": [*(suspect.place_words for suspect in diagnosis.ranking), ""],
        }

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim diagnose --json`` says."""
        return diagnosis_data(self.consultation)


@dataclass(frozen=True, repr=False)
class Plan(View):
    """What to do next, and the way to the proven repair."""

    @property
    def minutes(self) -> float:
        """What the way to the proven repair is expected to take [min]."""
        return self.consultation.tree.expected_minutes

    @property
    def best_resistor(self) -> BestResistor | None:
        """The resistor in place of the sender that splits the suspects best."""
        return self.consultation.best_resistor

    @property
    def cautions(self) -> tuple[str, ...]:
        """What has to be done first, what holds for the next step, and for those that may come then."""
        job, node = self.consultation, self.consultation.tree
        after = children(job.job, node.action.step, node) if node.action else ()
        then = [job.cautions_of(child.action.step) for _, _, child in after if child.action]
        return tuple(dict.fromkeys((*super().cautions, *chain(*then))))

    @property
    def caption(self) -> str:
        """The gauge, what to do next, and the minutes to expect."""
        least = self.consultation.lower_bound_minutes
        return f"{super().caption}. {self.minutes:.0f} minutes to expect, no plan below {least:.0f}"

    @cached_property
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """What the next step may show, as `after` takes it; how likely, the minutes left, what comes then."""
        job, node = self.consultation, self.consultation.tree
        step = node.action.step if node.action else None
        after = list(children(job.job, step, node)) if step else []
        return {
            "outcome": [name for name, _, _ in after],
            "words": [words for _, words, _ in after],
            "probability": [child.probability for _, _, child in after],
            "minutes": [child.expected_minutes for _, _, child in after],
            "then": [_then(job, child) for _, _, child in after],
        }

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim plan --json`` says."""
        return plan_data(self.consultation)


def _then(job: Consultation, node: Node) -> str:
    if node.action is None:
        return "" if node.cut else "done"
    number = node.action.step.number
    if node.action.step.kind == CHECK:
        return job.job.options[number].id
    return f"mend: {job.job.remedies[job.job.repairs[number]].words}"


def _table(entry: Mapping[str, Any]) -> str:
    """The table of a case file that an entry belongs into."""
    if "check" in entry:
        return "measured"
    if "part" in entry:
        return "inspected" if "found" in entry else "replaced"
    return "seen"


@looked_at
def read_case(source: Path | str | Mapping[str, Any] | Case | None = None, **tables: Any) -> Case:
    """A case from a file, or written in Python as a case file is.

    Parameters
    ----------
    source : path, mapping or Case, optional
        A ``.toml`` file, or its tables.
    **tables
        Instead of it: ``circuit``, ``gauge``, ``seen``, ``measured``, ``inspected``, ``replaced``.

    Raises
    ------
    CaseError
        By file and key: what is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> case = gs.read_case(circuit="temp_bridge", seen=[{"state": "key_on_cold", "needle": "half"}])
    >>> case.entries[0].needle
    'half'
    """
    if (source is None) == (not tables):
        raise CaseError("read_case() takes a file or tables", "", 'write read_case("case.toml")')
    if isinstance(source, Case):
        return source
    if isinstance(source, Path | str):
        return cases.read(source)
    return cases.parse(dict(tables if source is None else source))


@looked_at
def diagnose(
    case: Path | str | Mapping[str, Any] | Case,
    history: Path | str | None = None,
    netlists: Path | str | None = None,
) -> Ranking:
    """Rank the faults behind a complaint.

    Parameters
    ----------
    case : path, mapping or Case
        As `read_case` takes it.
    history : path, optional
        Past repairs that the priors learn from: a file, or a folder of finished cases.
    netlists : path, optional
        A folder searched first for circuits.

    Returns
    -------
    Ranking
        ``ranking.after("half")`` is the ranking once the next check has shown that.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> seen = [{"state": state, "needle": "half"} for state in ("key_on_cold", "running_warm")]
    >>> found = gs.diagnose({"circuit": "temp_opposed_coil", "seen": seen})
    >>> found["fault"][0]
    'stud_bias=open'
    >>> found.after(check="unplug_sender", state="key_on_cold", needle="half")["fault"][0]
    'stud_bias=open'
    """
    return Ranking(consult(read_case(case), _folder(netlists), _folder(history)))


@looked_at
def plan(
    case: Path | str | Mapping[str, Any] | Case,
    rate: float | None = None,
    history: Path | str | None = None,
    netlists: Path | str | None = None,
) -> Plan:
    """Plan the way from a complaint to the proven repair.

    Parameters
    ----------
    case : path, mapping or Case
        As `read_case` takes it; or the id of a circuit of which nothing is known.
    rate : float, optional
        What an hour of work costs; prices of parts then count as minutes.
    history : path, optional
        Past repairs that the priors learn from: a file, or a folder of finished cases.
    netlists : path, optional
        A folder searched first for circuits.

    Returns
    -------
    Plan
        ``plan.after("half")`` is the plan once the next check has shown that.

    Raises
    ------
    CaseError, UnknownNameError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> seen = [{"state": "running_warm", "needle": "pegged_low"}]
    >>> way = gs.plan({"circuit": "temp_two_coil", "seen": seen})
    >>> then = way.after(way["outcome"][0])
    >>> len(way.consultation.case.entries), len(then.consultation.case.entries)
    (1, 2)
    """
    if isinstance(case, str) and not case.endswith(".toml"):
        case = {"circuit": case}
    return Plan(consult(read_case(case), _folder(netlists), _folder(history), rate))


def _folder(path: Path | str | None) -> Path | None:
    return None if path is None else Path(path)
