"""What a course is worth: a vehicle that works again first, then how it was found."""

from __future__ import annotations

from dataclasses import dataclass

# so many of 100 marks are for a vehicle that works again: who leaves it broken gets no more [assumed]
REPAIRED_MARKS = 25.0
# share of the other marks that a part costs which was no likelier needed than not [assumed]
PART_SHARE = 0.6
# share of what is left then that a verdict costs which nothing spoke for [assumed]
VERDICT_SHARE = 0.3
# half of what is left then is lost by decisions that lose so many times the minutes of a good search: whoever
# works through a routine is slow, and better still than whoever buys parts [assumed]
HALVED_BY = 2.0
# what marks are lost for, as a row of results has it and as a person reads it
LOST_FOR = {
    "broken": "vehicle left broken",
    "parts": "parts replaced for nothing",
    "verdict": "verdict not warranted",
    "minutes": "minutes",
    "burnt": "something burnt",
}


@dataclass(frozen=True)
class Marks:
    """Where 100 marks went.

    Attributes
    ----------
    broken, parts, verdict, minutes : float
        Lost because the vehicle was left broken, by parts that the evidence did not warrant, by a verdict or
        a cure that it did not warrant, and by minutes that decisions are expected to lose.
    burnt : float
        Lost by something that burns the circuit: all of them.
    """

    score: float
    broken: float
    parts: float
    verdict: float
    minutes: float
    burnt: float = 0.0

    @property
    def lost(self) -> dict[str, float]:
        """Marks lost, by what they were lost for."""
        return {words: getattr(self, name) for name, words in LOST_FOR.items()}


# who burns the circuit gets none
BURNT_MARKS = Marks(0.0, 0.0, 0.0, 0.0, 0.0, burnt=100.0)


def marks(
    works: bool, progress: float, search_minutes: float, regret_minutes: float, wasted: float, doubt: float
) -> Marks:
    """Mark a course.

    A vehicle that works is worth 25 marks, and up to 75 more for the way to it; one that does not, up to 25
    for how much of the search is done. Of those, each part that was bought on a guess takes 60 %, a verdict
    or a cure by guess up to 30 %, and decisions that lost twice the minutes that a good search needs half.

    Parameters
    ----------
    progress : float
        Share of the search that is done, 0 to 1; of a vehicle that works it does not count [1].
    search_minutes : float
        What a good search needs [min].
    regret_minutes : float
        What decisions are expected to have lost [min].
    wasted : float
        Parts that were bought on a guess, see `judge.Decision` [1].
    doubt : float
        Of the verdict, 0 to 1 [1].

    Examples
    --------
    >>> marks(True, 1.0, 20.0, 0.0, 0.0, 0.0).score
    100.0
    >>> marks(True, 1.0, 20.0, 40.0, 0.0, 0.0).score
    62.5
    >>> marks(False, 0.0, 20.0, 0.0, 0.0, 0.0).score
    0.0
    """
    sure, room = (REPAIRED_MARKS, 100.0 - REPAIRED_MARKS) if works else (0.0, REPAIRED_MARKS * progress)
    after_parts = room * (1.0 - PART_SHARE) ** wasted
    after_verdict = after_parts * (1.0 - VERDICT_SHARE * doubt)
    after_minutes = after_verdict * search_minutes / (search_minutes + regret_minutes / HALVED_BY)
    return Marks(
        score=sure + after_minutes,
        broken=100.0 - sure - room,
        parts=room - after_parts,
        verdict=after_parts - after_verdict,
        minutes=after_verdict - after_minutes,
    )
