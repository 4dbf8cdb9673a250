"""Small HTML tables, with which results show themselves in a notebook."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def html_table(caption: str, head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table in HTML; every text is escaped.

    Parameters
    ----------
    caption : str
    head : sequence of str
        Of the columns.
    rows : iterable of sequence
        Numbers with two places, None and NaN as a dash, all else as it prints.

    Returns
    -------
    str

    Examples
    --------
    >>> html_table("Needles", ["gauge", "position"], [["<fuel>", 0.5]])
    '<table><caption>Needles</caption><tr><th>gauge</th><th>position</th></tr><tr><td>&lt;fuel&gt;</td><td>0.50</td></tr></table>'
    """
    from html import escape  # only a notebook needs it

    top = "".join(f"<th>{escape(text)}</th>" for text in head)
    body = "".join(f"<tr>{''.join(f'<td>{escape(_text(cell))}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><caption>{escape(caption)}</caption><tr>{top}</tr>{body}</table>"


def _text(cell: object) -> str:
    if cell is None or cell != cell:
        return "–"
    # the z leaves no minus before a zero
    return f"{cell:z.2f}" if isinstance(cell, float) else str(cell)
