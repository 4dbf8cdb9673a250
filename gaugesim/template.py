"""A circuit of one's own, begun as a copy of another: its files and what they include, none overwritten."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from gaugesim.circuit import Circuit
from gaugesim.errors import CaseError
from gaugesim.files import read_file, write_files

_NAME = re.compile(r"[a-z][a-z0-9_]*")

START = """\
* Begun as a copy of {original}. What to change:
*   - this line 1, the title, says what it is
*   - a .param of a part is its sound resistance in ohms; the operating state stands first
*   - for another supply, such as 24 V: battery_volts and charging_volts here, and in {name}.toml those of
*     each state, bench_volts of the gauges and rated_volts of the consumers
*   - no node may be called gnd: SPICE takes that for node 0 everywhere
*   - a part that you add is one element with a .param of its own and a comment above it, and has its place,
*     tolerance and ways to fail in {name}.toml
*   - what is shared with other circuits is included; to change it, copy the lines into this file
* Then: gaugesim circuits {name}.cir says what is missing or suspicious.
"""
SHEET_START = """\
# Sheet of {name}.cir, begun as a copy of {original}.toml. What to change:
#   - words, and in [gauges....] the marks of the scale and how the needle answers the currents
#   - [parts....]: words, kind (how it fails, see kinds/parts.toml), place; tolerance and source where
#     they differ
#   - an entry here replaces one of the same name in the files of include
# Every value says where it comes from: measured, a published source, or assumed.
"""


@dataclass(frozen=True)
class Copied:
    """What a copy consists of.

    Attributes
    ----------
    included : tuple of Path
        The files that they include, written now or there before with the same content.
    """

    netlist: Path
    sheet: Path
    included: tuple[Path, ...]


def copy_circuit(
    original: Circuit,
    name: str,
    folder: Path,
    netlist_text: str | None = None,
    sheet_text: str | None = None,
) -> Copied:
    """Copy a circuit under a new name.

    Parameters
    ----------
    name : str
        Of the new one: small letters, digits and _.
    folder : Path
        Where to; it is made if it is not there.
    netlist_text, sheet_text : str, optional
        What the two files shall say; those of the original, with a few words on what to change, if left out.

    Raises
    ------
    CaseError
        If a file is there already and says something else, or the name will not do. Nothing is written then.
    """
    if not _NAME.fullmatch(name):
        raise CaseError(
            f"a circuit cannot be called {name!r}", "", "use small letters, digits and _, a letter first"
        )
    root = original.netlist.path.resolve().parent
    netlist, sheet = folder / f"{name}.cir", folder / f"{name}.toml"
    if netlist.exists():
        raise CaseError("is there already and is not overwritten", str(netlist), "choose another name")
    contents: dict[Path, bytes] = {}
    included = [path.resolve() for path in original.netlist.files[1:]]
    included += [root / target for target in original.sheet.includes]
    targets = []
    for source in dict.fromkeys(included):
        target = folder / source.relative_to(root)
        targets.append(target)
        content = source.read_bytes()
        if not target.exists():
            contents[target] = content
        elif read_file(target) != content:
            raise CaseError(
                f"is there already and differs from that of {original.id}",
                str(target),
                "copy into another folder, or make the two alike",
            )
    text = sheet_text if sheet_text is not None else _sheet_started(original, name)
    # a sheet of the same words was left by a copy that somebody ended before it had its netlist
    if not sheet.exists():
        contents[sheet] = text.encode()
    elif read_file(sheet) != text.encode():
        raise CaseError("is there already and is not overwritten", str(sheet), "choose another name")
    # the netlist comes last: with it the circuit is there
    text = netlist_text if netlist_text is not None else _started(original, name)
    contents[netlist] = text.encode()
    for path in contents:
        path.parent.mkdir(parents=True, exist_ok=True)
    write_files(contents)
    return Copied(netlist, sheet, tuple(targets))


def _started(original: Circuit, name: str) -> str:
    title, _, rest = original.netlist.path.read_text(encoding="utf-8").partition("\n")
    return f"{title} (copy of {original.id})\n{START.format(original=original.id, name=name)}{rest}"


def _sheet_started(original: Circuit, name: str) -> str:
    return SHEET_START.format(original=original.id, name=name) + original.sheet.path.read_text(
        encoding="utf-8"
    )
