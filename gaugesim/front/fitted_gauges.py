"""A gauge and its sender from a few measured points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from gaugesim.fitting import Fit, WrittenCircuit, as_data, parse_points, read_points, write
from gaugesim.fitting import fit as find
from gaugesim.front.arguments import looked_at
from gaugesim.notebook import Result


@dataclass(frozen=True, repr=False)
class Fitted(Result):
    """What measured points come to.

    Attributes
    ----------
    fit : Fit
        Movement, parameters and sender with all their uncertainty.
    """

    fit: Fit

    @property
    def movement(self) -> str | None:
        """The likeliest movement; None if nothing of the gauge itself was measured."""
        return self.fit.movement

    @property
    def caption(self) -> str:
        """The movements that remain, with their probabilities."""
        remaining = ", ".join(f"{name} {share:.0%}" for name, share in self.fit.remaining.items())
        return f"{self.fit.points.gauge} gauge: {remaining or 'the sender alone'}"

    @cached_property
    def columns(self) -> Mapping[str, Sequence[Any]]:
        """The parameters of movement and sender, with 5 and 95 % of each."""
        parameters = dict(self.fit.parameters)
        if self.fit.sender is not None:
            parameters |= self.fit.sender.parameters
        return {
            "parameter": [*parameters],
            "value": [entry.value for entry in parameters.values()],
            "low": [entry.low for entry in parameters.values()],
            "high": [entry.high for entry in parameters.values()],
            "unit": [entry.unit for entry in parameters.values()],
        }

    @property
    def cautions(self) -> Sequence[str]:
        """Of the measurement that would tell most next."""
        following = self.to_dict()["next_point"]
        return following["cautions"] if following else ()

    def to_dict(self) -> dict[str, Any]:
        """What ``gaugesim fit --json`` says."""
        return as_data(self.fit)

    @looked_at
    def write(self, name: str, folder: Path | str = ".") -> WrittenCircuit:
        """Make a circuit of it that every command accepts.

        Parameters
        ----------
        name : str
            Of the circuit: ``NAME.cir`` and ``NAME.toml``.
        folder : path, optional
            Where to write it.

        Returns
        -------
        WrittenCircuit
            Its files, and notes on what was taken from where.
        """
        return write(self.fit, name, Path(folder))


@looked_at
def fit(points: Mapping[str, Any] | Path | str) -> Fitted:
    """Find the movement and the sender behind measured points.

    Parameters
    ----------
    points : mapping or path
        A ``.toml`` file of points, or its tables; see ``help(gaugesim.fit)`` of the module of that name, or
        ``gaugesim fit --help``.

    Raises
    ------
    CaseError
        What is wrong and what would be right.

    Examples
    --------
    >>> import gaugesim as gs
    >>> needle = [{"ohms": 10, "position": 1}, {"ohms": 33, "position": 0.24}, {"ohms": 73, "position": 0}]
    >>> coil = [{"between": ["stud_feed", "stud_sender"], "ohms": 20}]
    >>> found = gs.fit({"gauge": "fuel", "studs": 2, "needle": needle, "coil": coil})
    >>> found.movement
    'bimetal'
    """
    measured = parse_points(dict(points)) if isinstance(points, Mapping) else read_points(Path(points))
    return Fitted(find(measured))
