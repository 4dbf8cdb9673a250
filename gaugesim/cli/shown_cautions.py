"""Cautions as a person is told them: in full where one is first met, by its short name after that."""

from __future__ import annotations

from collections.abc import Iterable

from gaugesim.circuit import Circuit
from gaugesim.cli.output import wrapped


class Warned:
    """What one reader has been warned of so far."""

    def __init__(self) -> None:
        self._told: set[str] = set()

    def lines(self, circuit: Circuit, texts: Iterable[str], indent: str = "  ") -> list[str]:
        """Cautions of one step."""
        once = dict.fromkeys(texts)
        again = [text for text in once if text in self._told]
        lines = self.new(once, indent)
        if again:
            short = {caution.words: caution.short for caution in circuit.sheet.cautions.values()}
            named = "; ".join(short.get(text, text) for text in again)
            lines += wrapped(f"As above: {named}.", f"{indent}  ", f"{indent}! ")
        return lines

    def new(self, texts: Iterable[str], indent: str = "  ") -> list[str]:
        """Those cautions that have not been told yet."""
        lines = []
        for text in dict.fromkeys(texts):
            if text not in self._told:
                lines += wrapped(text, f"{indent}  ", f"{indent}! ")
                self._told.add(text)
        return lines

    def named(self, circuit: Circuit, texts: Iterable[str]) -> str:
        """The short names of cautions, for a line that has no room for more. Empty if there are none."""
        short = {caution.words: caution.short for caution in circuit.sheet.cautions.values()}
        names = [short.get(text, text) for text in dict.fromkeys(texts)]
        return f" [mind: {'; '.join(names)}]" if names else ""
