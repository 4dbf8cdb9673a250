"""What gauges are made of, and how common each kind is: ``netlists/kinds/gauges.toml`` as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from gaugesim.errors import SheetError
from gaugesim.movement import MOVEMENTS
from gaugesim.paths import shipped_netlists
from gaugesim.table import Table, load


@dataclass(frozen=True)
class MovementPart:
    """A winding or resistor of a movement.

    Attributes
    ----------
    id : str
        Of the part, without the gauge's name.
    parameter : str
        What the movement's subcircuit calls its ohms; its element is ``r`` and that.
    kind : str
        Of the part.
    degrees : float or None
        Direction of its axis; None if it steers no needle.
    """

    id: str
    parameter: str
    kind: str
    words: str
    degrees: float | None


@dataclass(frozen=True)
class Design:
    """Windings that go with a sender range.

    Attributes
    ----------
    range : (float, float)
        Most and fewest ohms of the sender [ohm].
    ohms : tuple of float
        Of the parts, in their order [ohm].
    turns : tuple of float
        Ampere-turn constants likewise [1]; empty for a movement without directions.
    divider : float
        Of each half of the divider beside a bridge, 0 for none [ohm].
    """

    range: tuple[float, float]
    ohms: tuple[float, ...]
    turns: tuple[float, ...]
    divider: float


@dataclass(frozen=True)
class PublishedMovement:
    """A kind of movement; attributes are the keys of ``[movements]``."""

    id: str
    words: str
    family: str
    studs: tuple[str, ...]
    parts: tuple[MovementPart, ...]
    designs: tuple[Design, ...]
    source: str


@dataclass(frozen=True)
class FamilyGauge:
    """What a kind of vehicle has of one gauge: movement, sender's ohms at the marks, true values there."""

    movement: str
    ohms: tuple[float, float]
    scale: tuple[float, float]


@dataclass(frozen=True)
class Family:
    """A kind of vehicle: which gauges go together.

    Attributes
    ----------
    regulator : float
        What its instrument regulator holds, 0 for none [V].
    share : mapping
        From system volts to how common it is there [1].
    gauges : mapping
        From quantity to `FamilyGauge`.
    """

    id: str
    words: str
    regulator: float
    share: Mapping[float, float]
    gauges: Mapping[str, FamilyGauge]
    source: str


@dataclass(frozen=True)
class Driver:
    """What moves a needle; ``still`` says what can be checked all the same, empty for a sender's ohms."""

    words: str
    still: str


@dataclass(frozen=True)
class DriverQuestion:
    """A question that tells what drives a gauge.

    Attributes
    ----------
    yes, no : str
        What drives the gauge then; empty if that leaves it open.
    """

    id: str
    words: str
    yes: str
    no: str


@dataclass(frozen=True)
class Kinds:
    """The whole file."""

    movements: Mapping[str, PublishedMovement]
    families: Mapping[str, Family]
    ranges: tuple[tuple[float, ...], ...]
    sound: Mapping[str, Any]
    driven_by: Mapping[str, Driver]
    questions: tuple[DriverQuestion, ...]


@lru_cache(maxsize=1)
def load_kinds() -> Kinds:
    """Read the file once.

    Raises
    ------
    SheetError
        By key, if somebody has broken it.
    """
    path = shipped_netlists() / "kinds" / "gauges.toml"
    top = Table(load(path, SheetError), path.name, SheetError)
    return Kinds(
        movements={name: _movement(name, entry) for name, entry in top.tables("movements")},
        families={name: _family(name, entry) for name, entry in top.tables("families")},
        ranges=tuple(tuple(map(float, entry)) for entry in top.table("ranges").data["published"]),
        sound=top.table("sound").data,
        driven_by={
            name: Driver(entry.text("words"), entry.text("still", ""))
            for name, entry in top.tables("driven_by")
        },
        questions=tuple(
            DriverQuestion(entry.text("id"), entry.text("words"), *(entry.data[key] for key in ("yes", "no")))
            for entry in top.list_of_tables("questions")
        ),
    )


def _movement(name: str, table: Table) -> PublishedMovement:
    return PublishedMovement(
        id=name,
        words=table.text("words"),
        family=table.choice("family", MOVEMENTS),
        studs=table.texts("studs"),
        parts=tuple(
            MovementPart(
                entry.text("id"),
                entry.text("parameter"),
                entry.text("kind"),
                entry.text("words"),
                entry.number("degrees", None),
            )
            for entry in table.list_of_tables("parts")
        ),
        designs=tuple(
            Design(
                tuple(entry.data["range"]),
                tuple(entry.data["ohms"]),
                tuple(entry.data.get("turns", ())),
                entry.number("divider", 0.0),
            )
            for entry in table.list_of_tables("designs")
        ),
        source=table.text("source"),
    )


def _family(name: str, table: Table) -> Family:
    regulator = table.data.get("regulator", "none")
    return Family(
        id=name,
        words=table.text("words"),
        regulator=0.0 if regulator == "none" else float(regulator),
        share={float(volts): share for volts, share in table.numbers("share").items()},
        gauges={
            quantity: _family_gauge(quantity, table.table(quantity))
            for quantity in ("temperature", "fuel", "oil_pressure")
            if table.has(quantity)
        },
        source=table.text("source"),
    )


def _family_gauge(quantity: str, table: Table) -> FamilyGauge:
    if quantity == "temperature":
        scale = table.pair("celsius")
    else:
        scale = (0.0, table.number("bar") if quantity == "oil_pressure" else 1.0)
    low, top = table.data["ohms"]
    return FamilyGauge(table.text("movement"), (float(low), float(top)), scale)
