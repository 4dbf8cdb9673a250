"""What every kind of check has to say for itself; its words, minutes and cautions stand in a sheet."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar

from gaugesim.scenario.kinds.request import Arrangement, Request


@dataclass(frozen=True)
class Kind(ABC):
    """Anything that a person does and reads; unless it says otherwise, watching the needle.

    Attributes
    ----------
    id : str
        As it stands before the first colon of a check.
    needle_too : bool
        Whether the needle is watched beside the instrument.
    on_any_side : bool
        Whether one probe on a point leaves open on which side of a joint there it is held.
    sparks : bool
        Whether it is not made where vapour may be, even with the key off.
    acting : bool
        Whether it is read while the trouble is there, however long one waits for that.
    turns_engine : bool
        Whether the engine turns meanwhile, whatever the state says.
    targets : str
        What follows the id, as it is told to who writes it otherwise.
    least : int or None
        How many of them may not be left out; None for all.
    takes_gauge : bool
        Whether it speaks of a gauge, which may be named first.
    is_look : bool
        Whether nothing is taken apart and nothing hung on.
    by_hand : bool
        Whether a part is moved or looked at, which no voltage says anything of.
    inspects : bool
        Whether it finds how its part looks.
    frees : mapping
        Kinds of parts of its gauge that it may set free where they stick, each with the chance of that [1].
    """

    id: str
    reads: str = "needle"
    needle_too: bool = False
    on_any_side: bool = False
    sparks: bool = False
    acting: bool = False
    turns_engine: bool = False
    targets: ClassVar[str] = ""
    least: ClassVar[int | None] = None
    takes_gauge: ClassVar[bool] = False
    is_look: ClassVar[bool] = False
    by_hand: ClassVar[bool] = False
    inspects: ClassVar[bool] = False
    frees: ClassVar[Mapping[str, float]] = MappingProxyType({})

    def check(self, *targets: str) -> str:
        """The id of a check of this kind."""
        return ":".join((self.id, *targets))

    def arrange(self, ask: Request) -> Arrangement:
        """What comes apart, what is added and where."""
        most = self.targets.count(":") - self.targets.count(":GAUGE")  # which is taken off before
        if not (most if self.least is None else self.least) <= len(ask.arguments) <= most:
            written = f"{self.id}{self.targets}"
            remedy = f"{self.id} or {written}" if self.least == 0 else written
            raise ask.fail(f"{len(ask.arguments)} targets given", f"write {remedy}")
        return self._arrange(ask)

    @abstractmethod
    def _arrange(self, ask: Request) -> Arrangement: ...
