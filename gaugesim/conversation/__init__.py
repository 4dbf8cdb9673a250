"""A conversation with the person at the gauge: what is asked, what is understood, what is kept."""

from gaugesim.conversation.casefile import Kept
from gaugesim.conversation.question import Choice, Question
from gaugesim.conversation.state import Talk, begin, resume
from gaugesim.conversation.talk import step, withdraw

__all__ = ["Choice", "Kept", "Question", "Talk", "begin", "resume", "step", "withdraw"]
