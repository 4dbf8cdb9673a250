"""Circuits found by their ids, read from files or texts, or composed from a few words."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any

from gaugesim import netlist as netlists
from gaugesim import sheet as sheets
from gaugesim.circuit.agreement import agree
from gaugesim.circuit.model import Circuit
from gaugesim.compose import Composed, compose, read_vehicle
from gaugesim.errors import CaseError, UnknownNameError, nearest, unknown_name
from gaugesim.paths import netlist_folders
from gaugesim.table import Table, load


def read(path: FilePath | str) -> Circuit:
    """Read a netlist and the sheet beside it.

    Parameters
    ----------
    path : path
        The ``.cir`` file; the sheet has the same name and ends in ``.toml``.

    Raises
    ------
    NetlistError, SheetError
        What is wrong in which file, and what would be right.
    """
    path = FilePath(path)
    here = path, path.absolute()
    circuit, stamps = _READ.pop(here, (None, ()))
    if circuit is None or not stamps or stamps != _stamps(circuit):
        circuit = Circuit(netlists.read(path), sheets.read(path.with_suffix(".toml")))
        agree(circuit)
    if len(_READ) >= _MOST_READ:
        del _READ[next(iter(_READ))]
    _READ[here] = circuit, _stamps(circuit)
    return circuit


# circuits read before, the last one last, each with its files as they were: what has been worked out for a
# circuit need not be worked out again while nobody changes them
_READ: dict[tuple[FilePath, FilePath], tuple[Circuit, tuple[tuple[int, int, int], ...]]] = {}
_MOST_READ = 16


def _stamps(circuit: Circuit) -> tuple[tuple[int, int, int], ...]:
    """Of all its files what changes when they do; nothing where one is gone."""
    sheet = circuit.sheet.path
    files = [*circuit.netlist.files, sheet, *(sheet.parent / name for name in circuit.sheet.includes)]
    try:
        stats = [file.stat() for file in files]
    except OSError:
        return ()
    return tuple((stat.st_mtime_ns, stat.st_size, stat.st_ino) for stat in stats)


def of_texts(netlist_text: str, sheet_text: str, path: FilePath) -> Circuit:
    """Read a netlist and its sheet from texts.

    Parameters
    ----------
    path : path
        Where the netlist would stand: the files that both include lie there or below.

    Raises
    ------
    NetlistError, SheetError
        What is wrong, and what would be right.
    """
    data = tomllib.loads(sheet_text)
    circuit = Circuit(
        netlists.read_text(netlist_text, path, path.parent), sheets.of_data(data, path.with_suffix(".toml"))
    )
    agree(circuit)
    return circuit


def of_composed(composed: Composed) -> Circuit:
    """A composed circuit, with its share among the candidates."""
    circuit = of_texts(composed.netlist, composed.sheet, composed.path)
    return replace(circuit, sheet=replace(circuit.sheet, share=composed.share))


def of_words(said: Mapping[str, Any]) -> tuple[Circuit, ...]:
    """Circuits that a vehicle may have, out of what is said of it.

    The likeliest first; ``sheet.share`` is how likely each is before anything is measured [1].

    Parameters
    ----------
    said : mapping
        As the table ``[vehicle]`` of a case has it.

    Raises
    ------
    CaseError
        By key: what is wrong and what would be right.
    UnsolvableError
        If the gauge is driven by more than its sender.

    Examples
    --------
    >>> [circuit.id for circuit in of_words({"volts": 24, "temperature": {"studs": 4}})]
    ['vehicle_temperature_opposed_coil', 'vehicle_temperature_bridge']
    """
    table = Table(said, "vehicle", CaseError)
    return tuple(of_composed(composed) for composed in compose(read_vehicle(table)))


def of_vehicle(path: FilePath) -> tuple[Composed, ...]:
    """Circuits that the vehicle described in a file may have. The likeliest first.

    Parameters
    ----------
    path : path
        A ``.toml`` file with a table ``[vehicle]``: a case, or nothing but that.

    Raises
    ------
    CaseError
        By key: what is wrong and what would be right.
    """
    top = Table(load(path, CaseError), path.name, CaseError)
    if not top.has("vehicle"):
        raise top.fail("vehicle", "is missing", "describe the gauge under [vehicle], or name a .cir file")
    return compose(read_vehicle(top.table("vehicle"), top.text("gauge", None)))


def find(name: str, netlists_folder: FilePath | None = None) -> Circuit:
    """Read a circuit by id or by the path of its netlist.

    Parameters
    ----------
    name : str
        An id, searched in ``netlists_folder``, the folders of ``GAUGESIM_NETLISTS`` and the shipped ones,
        a path that ends in ``.cir``, or one that ends in ``.toml`` with a table ``[vehicle]``: the likeliest
        of what that may mean.

    Raises
    ------
    UnknownNameError
        With the nearest ids.
    """
    if name.endswith(".cir"):
        return read(name)
    # the sheet beside a netlist is not what is asked for
    if name.endswith(".toml") and not FilePath(name).with_suffix(".cir").is_file():
        return of_composed(of_vehicle(FilePath(name))[0])
    for folder in netlist_folders(netlists_folder):
        if (folder / f"{name}.cir").is_file():
            return read(folder / f"{name}.cir")
    raise _unknown_circuit(name, available(netlists_folder))


def _unknown_circuit(name: str, ids: tuple[str, ...]) -> UnknownNameError:
    """What to raise for a circuit that is not there; a netlist where the user stands may have been meant."""
    given = FilePath(name)
    if given.name and given.with_suffix(".cir").is_file():
        near = [str(given.with_suffix(".cir"))]
    else:
        here = {file.stem: str(file) for file in FilePath().glob("*.cir")}
        near = [here.get(each, each) for each in nearest(name, [*here, *ids])]
    if near:
        return UnknownNameError(f"no circuit is called '{name}'", "", f"did you mean {' or '.join(near)}?")
    return unknown_name("circuit", name, ids)


def available(netlists_folder: FilePath | None = None) -> tuple[str, ...]:
    """Ids of all circuits that can be found, see `find`."""
    ids = {
        file.stem: None
        for folder in netlist_folders(netlists_folder)
        for file in sorted(folder.glob("*.cir"))
        if file.with_suffix(".toml").is_file()
    }
    return tuple(ids)
