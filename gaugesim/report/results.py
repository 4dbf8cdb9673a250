"""What a class has done, as one page."""

from __future__ import annotations

import html
from collections.abc import Sequence

from gaugesim.report.worksheet import paper_page, rows_table


def results_page(rows: Sequence[Sequence[str]], summary: Sequence[str]) -> str:
    """A class's results.

    Parameters
    ----------
    rows : sequence of sequence of str
        Heads first.
    summary : sequence of str
        Sentences on the whole class.

    Returns
    -------
    str
        HTML that loads nothing.
    """
    said = "".join(f"<p>{html.escape(text)}</p>" for text in summary)
    table = rows_table(rows[0], [[cell or "\N{NO-BREAK SPACE}" for cell in row] for row in rows[1:]])
    return paper_page("Results of a class", f"<h1>Results of a class</h1>{said}{table}")
