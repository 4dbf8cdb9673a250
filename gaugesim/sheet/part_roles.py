"""What the parts and points about a gauge are for: ``netlists/kinds/roles.toml`` as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from gaugesim.errors import SheetError
from gaugesim.paths import shipped_netlists
from gaugesim.table import Table, load


@dataclass(frozen=True)
class Stud:
    """A terminal of a gauge: the id of its joint and of the point there, its letter and use."""

    id: str
    words: str


@dataclass(frozen=True)
class Roles:
    """Ids by what they are for, without the gauge's name that stands in front where there are several.

    Attributes
    ----------
    sender, sender_return, lead_end : str
        Parts: the sender, what grounds it, and where the lead comes off it.
    lead : tuple of str
        Parts of that lead, from the gauge on.
    groundable : tuple of str
        Points that may be grounded whatever the gauge.
    needed_points, needed_parts : tuple of str
        What a gauge with a sender cannot be asked without.
    asked_first : tuple of str
        Parts that a person is offered first.
    studs : mapping
        What is on it, with the terminal.
    exchanged : mapping
        Parts that are leads, with the parts that exchange them.
    """

    sender: str
    sender_return: str
    lead_end: str
    lead: tuple[str, ...]
    groundable: tuple[str, ...]
    needed_points: tuple[str, ...]
    needed_parts: tuple[str, ...]
    asked_first: tuple[str, ...]
    studs: Mapping[str, Stud]
    exchanged: Mapping[str, tuple[str, ...]]

    @property
    def feed_stud(self) -> str:
        """Id of the terminal that is fed."""
        return self.studs["feed"].id

    @property
    def sender_stud(self) -> str:
        """Id of the sender's terminal."""
        return self.studs["sender"].id

    @property
    def stud_ids(self) -> tuple[str, ...]:
        """Ids of the terminals."""
        return tuple(stud.id for stud in self.studs.values())


@lru_cache(maxsize=1)
def roles() -> Roles:
    """What is for what, the same in every circuit.

    Raises
    ------
    SheetError
        If the file cannot be read or lacks something.

    Examples
    --------
    >>> roles().lead_end
    'sender_connector'
    """
    path = shipped_netlists() / "kinds" / "roles.toml"
    table = Table(load(path, SheetError), path.name, SheetError)
    exchanged = table.table("exchanged")
    return table.record(
        Roles,
        studs={name: entry.record(Stud) for name, entry in table.tables("studs")},
        exchanged={name: exchanged.texts(name) for name in exchanged.data},
    )
