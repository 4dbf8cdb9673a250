"""A hidden fault to find, step by step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from gaugesim.errors import CaseError
from gaugesim.front.arguments import looked_at
from gaugesim.front.catalogue import AnyCircuit, find_circuit
from gaugesim.front.practice_data import course_data
from gaugesim.lessons.commands import command
from gaugesim.lessons.course import Course, perform, possible_checks
from gaugesim.lessons.debriefing import Debrief, debrief
from gaugesim.lessons.step_cautions import COMPUTED, cautions
from gaugesim.lessons.task import set_task
from gaugesim.notebook import Result


@dataclass(frozen=True, repr=False)
class Practice(Result):
    """A task, and what has been done about it so far.

    Attributes
    ----------
    course : Course
        The hidden vehicle with all that is known of it.
    """

    course: Course

    @property
    def complaint(self) -> tuple[str, ...]:
        """What the owner tells."""
        return self.course.task.told

    @property
    def checks(self) -> tuple[str, ...]:
        """What can be checked now, each as `do` takes it."""
        return tuple(f"{option.check.id} {option.state}" for _, option in possible_checks(self.course))

    @property
    def minutes(self) -> float:
        """What all of it took [min]."""
        return self.course.minutes

    @property
    def over(self) -> bool:
        """Whether a verdict was given, or the task given up."""
        return self.course.over

    @cached_property
    def debrief(self) -> Debrief:
        """What was lost where, beside a good plan.

        Raises
        ------
        CaseError
            While the task is not over.
        """
        if not self.over:
            raise CaseError("the task is not over", "", "give a verdict, or give up")
        return debrief(self.course)

    @property
    def caption(self) -> str:
        """Circuit, gauge, task and complaint in a line."""
        task = self.course.task
        name = f"{task.circuit.id}, {task.circuit.gauge(task.gauge).called} gauge"
        return f"{name}, task {task.seed} of level {task.level}: {'; '.join(self.complaint)}"

    @cached_property
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """What was done, in which state, what came of it, and the minutes that it took."""
        steps = self.course.steps
        return {
            "do": [step.action.kind for step in steps],
            "what": [step.action.what for step in steps],
            "state": [step.action.state for step in steps],
            "shown": [step.shown.words if step.shown else step.result for step in steps],
            "minutes": [step.minutes for step in steps],
        }

    @property
    def first(self) -> tuple[str, ...]:
        """What has to be done before anything else is read."""
        return tuple(danger.words for danger in self.course.task.consultation.first)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What cannot wait, those of the last step, then those that hold whatever is done."""
        last = cautions(self.course, self.course.steps[-1]) if self.course.steps else ()
        job = self.course.task.consultation
        return tuple(dict.fromkeys((*self.first, *last, *job.cautions, COMPUTED)))

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim practice --json`` says."""
        return course_data(self.course, self.debrief if self.over else None)

    @looked_at
    def do(self, said: str) -> Practice:
        """Do something, in the words of the command's prompt.

        Parameters
        ----------
        said : str
            ``CHECK STATE``, ``look PART``, ``replace PART``, ``hint``, ``verdict PART=MODE`` or ``give up``.

        Returns
        -------
        Practice
            The task after it.

        Raises
        ------
        GaugesimError
            If it cannot be done: what is wrong and what would be right.
        """
        understood = command(self.course, said)
        if understood.action is None:
            raise CaseError(
                f"{understood.kind} is nothing to do", "", "make a check, replace, or give a verdict"
            )
        return Practice(perform(self.course, understood.action))


@looked_at
def practice(circuit: AnyCircuit, seed: int = 1, level: int = 1, gauge: str | None = None) -> Practice:
    """Hide a fault, the same for everybody who gives the same seed.

    Parameters
    ----------
    circuit : str or Circuit
        An id, the path of a ``.cir`` file, or a circuit.
    level : int, optional
        1 to 5: how hard it is to work out.
    gauge : str, optional
        The gauge complained of; the first if left out.

    Returns
    -------
    Practice
        ``task.do("...")`` gives the task after a step.

    Raises
    ------
    CaseError, UnknownNameError, UnsolvableError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> task = gs.practice("temp_two_coil", seed=7)
    >>> task = task.do("unplug_sender").do("give up")
    >>> task["do"], task.over
    (['check', 'give up'], True)
    """
    chosen = find_circuit(circuit)
    return Practice(Course(set_task(chosen, chosen.gauge(gauge).id, seed, level)))
