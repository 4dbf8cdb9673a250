"""How a composed circuit is laid out: the shared pieces that it takes, and the names of its nodes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from gaugesim.compose.choose import ChosenGauge, ChosenVehicle

SECOND = "temperature_second"


@dataclass(frozen=True)
class Mounted:
    """A gauge where it is mounted.

    Attributes
    ----------
    prefix : str
        In front of its parts, nodes and parameters.
    sender_prefix : str
        In front of those of its sender's branch.
    """

    id: str
    choice: ChosenGauge
    prefix: str
    sender_prefix: str


@dataclass(frozen=True)
class VehicleLayout:
    """A whole vehicle as nodes and shared pieces."""

    whole: ChosenVehicle

    @property
    def boat(self) -> bool:
        """Whether the panel is wired through an engine harness plug, and not by a printed foil."""
        return self.whole.vehicle.wiring == "boat"

    @property
    def two_stations(self) -> bool:
        """Whether a second gauge hangs on the same sender."""
        return self.whole.vehicle.stations == 2

    @property
    def single(self) -> bool:
        """Whether it is one gauge of three studs or more on a foil: its parts need no gauge's name."""
        choices = self.whole.choices
        return (
            len(choices) == 1
            and not self.boat
            and choices[0].quantity in ("temperature", "fuel")
            and "ground" in choices[0].movement.studs
            and not self.regulated
        )

    @property
    def regulated(self) -> bool:
        """Whether there is an instrument regulator."""
        return self.whole.regulator > 0

    @property
    def electronic(self) -> bool:
        """Whether that regulator has no points and does not pulse."""
        return self.regulated and self.whole.vehicle.regulator_kind == "electronic"

    @property
    def gauges(self) -> tuple[Mounted, ...]:
        """The gauges, the second station's last."""
        return tuple(self._mounted())

    def _mounted(self) -> Iterator[Mounted]:
        for choice in self.whole.choices:
            prefix = "" if self.single else f"{choice.quantity}_"
            yield Mounted(choice.quantity, choice, prefix, "" if self.two_stations else prefix)
        if self.two_stations:
            yield Mounted(SECOND, self.whole.choices[0], f"{SECOND}_", "")

    def has_own(self, what: str, gauge: Mounted) -> bool:
        """Whether a gauge has its own wire for feed or ground: all but the first, where they share none."""
        first = self.whole.choices[0].quantity
        return what not in self.whole.vehicle.shares and gauge.id not in (first, SECOND)

    def feed(self, gauge: Mounted) -> str:
        """Node that feeds a gauge's stud I."""
        if gauge.id == SECOND:
            return "second_feed"
        if gauge.choice.regulated:
            return "foil_feed_far"
        if self.has_own("feed", gauge):
            return f"{gauge.id}_feed_near"
        if self.boat:
            return "panel_feed"
        # behind a regulator the foil carries its pulses
        return "foil_feed_near" if self.regulated else "foil_feed_far"

    def ground(self, gauge: Mounted) -> str:
        """Node on which a gauge's stud G is grounded."""
        if gauge.id == SECOND:
            return "second_ground"
        if self.has_own("ground", gauge):
            return f"{gauge.id}_ground_near"
        return "panel_ground" if self.boat else "foil_ground_far"

    def has_foil(self, what: str) -> bool:
        """Whether the netlist itself has the foil that feeds, or grounds, all gauges."""
        if self.boat or self.single:
            return False
        if what == "feed":
            return not self.regulated
        return any("ground" in g.choice.movement.studs and not self.has_own("ground", g) for g in self.gauges)

    @property
    def branches(self) -> tuple[str, ...]:
        """Files of ``netlists/shared`` for the senders' branches, without their ends."""
        if self.single:
            return ("single_gauge",)
        if self.two_stations:
            return ("two_stations",)
        head = "boat_" if self.boat else ""
        return tuple(f"{head}{p.quantity}_branch" for p in self.whole.choices if p.quantity != "voltmeter")

    @property
    def sheet_pieces(self) -> tuple[str, ...]:
        """Files that the sheet includes."""
        quantities = [choice.quantity for choice in self.whole.choices]
        pieces = ["kinds/parts", "kinds/checks", f"shared/{'boat_' if self.boat else ''}supply"]
        kind = "electronic" if self.electronic else "points"
        pieces += ["shared/regulator", f"shared/{kind}_regulator"] if self.regulated else []
        pieces += ["shared/tank"] if "fuel" in quantities else []
        pieces += [f"shared/{quantities[0]}_gauge"] if self.single else [f"shared/{b}" for b in self.branches]
        return tuple(f"{piece}.toml" for piece in pieces)
