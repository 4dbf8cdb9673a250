"""What a diagnosis says."""

from __future__ import annotations

from dataclasses import dataclass

from gaugesim.case import Case
from gaugesim.evidence.bayes import Posterior
from gaugesim.evidence.observable import WAS, WERE

# an observation that is this many times likelier or less likely speaks for or against a fault
SPEAKS = 1.5
# what a fault leads one to expect where it leads to nothing
UNDECIDED = "anything"


@dataclass(frozen=True)
class Reason:
    """What one observation says of one fault.

    Attributes
    ----------
    subject : str
        What was looked at.
    expected : str
        What this fault leads one to expect.
    times : float
        How many times likelier it is under this fault than under the others together.
    verb : (str, str)
        Between the subject and what was seen, and between it and what would be seen.
    """

    subject: str
    expected: str
    seen: str
    times: float
    verb: tuple[str, str] = WAS

    @property
    def decisive(self) -> bool:
        """Whether the observation speaks for or against the fault at all."""
        return not 1 / SPEAKS < self.times < SPEAKS

    @property
    def sentence(self) -> str:
        """One plain sentence."""
        strength = (
            f"{_times(self.times)} likelier" if self.times >= 1 else f"{_times(1 / self.times)} less likely"
        )
        if self.expected == self.seen and self.times < 1:
            expected = ", though this fault may show that"
        elif self.expected == self.seen:
            expected = ", as this fault would have it"
        elif self.expected == UNDECIDED:
            expected = "; this fault leaves that open"
        elif self.times >= SPEAKS:
            # something else is likelier still, but not so much as it is without this fault
            expected = ", which this fault allows"
        else:
            they = "they" if self.verb == WERE else "it"
            negated = self.expected.startswith("not ")
            what = self.expected.removeprefix("not ")
            expected = f"; with this fault {they} would {'not ' * negated}{self.verb[1]} {what}"
        return f"{self.subject} {self.verb[0]} {self.seen}{expected}: {strength}"


@dataclass(frozen=True)
class Suspect:
    """A fault in the ranking.

    Attributes
    ----------
    fault : str
        ``part=mode``, the name of the gauge complained of left out.
    reasons : tuple of Reason
        Strongest first.
    """

    fault: str
    part: str
    mode: str
    probability: float
    words: str
    place: str
    place_words: str
    repair: str
    repair_minutes: float
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class Conflict:
    """An observation that the others speak against, and that is to be repeated.

    Attributes
    ----------
    subject, seen, where : str
        What was looked at, what was seen, and where the case says so: file and key.
    probability : float
        Of that observation, given all the others; of a number, of one about there.
    sentence : str
        What was seen, in words.
    leader : str
        The fault that leads without it.
    changes_leader : bool
        Whether that is another one than with it.
    """

    subject: str
    seen: str
    where: str
    probability: float
    sentence: str
    leader: str
    leader_words: str
    changes_leader: bool


@dataclass(frozen=True)
class Diagnosis:
    """What a case comes to.

    Attributes
    ----------
    gauge : str
        The gauge complained of.
    ranking : tuple of Suspect
        Likeliest first.
    circuits : dict
        Probability of each candidate circuit.
    groups : tuple of tuple of str
        Faults that nothing seen so far tells apart.
    conflicts : tuple of Conflict
        Most surprising first.
    posteriors : tuple of Posterior
        One for each circuit, likeliest first.
    """

    case: Case
    gauge: str
    ranking: tuple[Suspect, ...]
    circuits: dict[str, float]
    none_of_these: float
    groups: tuple[tuple[str, ...], ...]
    conflicts: tuple[Conflict, ...]
    posteriors: tuple[Posterior, ...]

    @property
    def circuit(self) -> str:
        """The likeliest circuit."""
        return self.posteriors[0].cells.circuit.id


def _times(value: float) -> str:
    if value >= 1000:
        return "over 1000 times"
    return f"{value:.0f} times" if value >= 9.5 else f"{value:.1f} times"
