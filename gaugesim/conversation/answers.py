"""The answers that questions offer: the words of the vocabulary, how they are said, what else people type."""

from __future__ import annotations

from gaugesim import vocabulary
from gaugesim.conversation.question import Choice
from gaugesim.vocabulary.topic import Topic


def choices(topic: Topic) -> tuple[Choice, ...]:
    """The words of a topic as answers."""
    return tuple(
        Choice(
            word.id,
            word.answer,
            (*word.also, *word.same),
            *(word.entry if word.entry and word.entry[1] else ()),
        )
        for word in topic.offered
    )


NOTHING = "nothing"
WHOLES = (Choice("gauge", "the whole gauge"), Choice("panel", "the whole panel"))
YES_NO = (Choice("yes", "yes", ("y",)), Choice("no", "no", ("n",)))
NEEDLE = tuple(choice for choice in choices(vocabulary.NEEDLE) if not choice.written)
HEAT = choices(vocabulary.HEAT)
RESULTS = choices(vocabulary.RESULT)
LOOKED = choices(vocabulary.FOUND)
*JUDGED, DEAD = choices(vocabulary.JUDGED)
