"""Descriptions that the tests of composed circuits share."""

from collections.abc import Mapping
from typing import Any

from gaugesim.circuit import Circuit, of_words
from gaugesim.compose import Composed, compose, read_vehicle
from gaugesim.errors import CaseError
from gaugesim.table import Table


def composed(said: Mapping[str, Any]) -> tuple[Composed, ...]:
    return compose(read_vehicle(Table(said, "lorry.toml: vehicle", CaseError)))


def circuits(said: Mapping[str, Any]) -> tuple[Circuit, ...]:
    return of_words(said)


def circuit(said: Mapping[str, Any]) -> Circuit:
    """The only one, or the likeliest."""
    return circuits(said)[0]
