"""Parts moved or looked at: no voltage says anything of what that shows."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator, Sequence

from gaugesim.circuit import Circuit
from gaugesim.scenario.kinds.request import Arrangement, Request
from gaugesim.scenario.kinds.targets import CheckKind, is_inside, own
from gaugesim.sheet import GAUGE_KINDS, Gauge, Part


class Handled(CheckKind):
    """A part is moved, or uncovered and looked at."""

    targets = ":PART"
    by_hand = True

    def where(self, circuit: Circuit, wanted: Sequence[str], gauges: Sequence[Gauge]) -> Iterator[str]:
        """See `CheckKind.where`."""
        for part in own(circuit.sheet.parts.values(), gauges):
            if self._makes_sense(part):
                yield f"{self.id}:{part.id}"

    @abstractmethod
    def _makes_sense(self, part: Part) -> bool: ...

    def _arrange(self, ask: Request) -> Arrangement:
        part = ask.part(ask.arguments[0])
        return Arrangement(target=part.words, places=(part.place,), part=part.id)


class Wiggle(Handled):
    """A part is moved while the needle is watched."""

    def _makes_sense(self, part: Part) -> bool:
        return "intermittent" in part.modes and not is_inside(part)


class LookAt(Handled):
    """A part is uncovered and looked at."""

    inspects = True

    def _makes_sense(self, part: Part) -> bool:
        # nobody uncovers a winding on the job
        return part.kind not in ("process", *GAUGE_KINDS)


LOOK_AT = LookAt("look_at", "look")
