"""The job page: one HTML file with everything in it."""

from __future__ import annotations

import html
from collections.abc import Iterable
from string import Template

from gaugesim.consultation import Consultation
from gaugesim.draw import dials, draw_dials, scene
from gaugesim.plan.job import Job
from gaugesim.reading.words import spoken
from gaugesim.report.elements import content_policy, image, items, part
from gaugesim.report.tables import PageData, page_data
from gaugesim.report.wiring import Pictures


def job_page(consultation: Consultation, case_text: str) -> str:
    """Write the page of a job.

    Parameters
    ----------
    case_text : str
        The case file as the person wrote it.

    Returns
    -------
    str
        HTML that loads nothing: its one script and its one style are named by their hashes in its own content
        policy, and every value of the case is data or escaped text.
    """
    pictures = Pictures(consultation.job)
    return written(consultation, page_data(consultation, case_text, pictures), pictures)


def written(consultation: Consultation, data: PageData, pictures: Pictures) -> str:
    """Write the page from its tables.

    Parameters
    ----------
    pictures : Pictures
        In which the tables show their checks.
    """
    style, script = part("page.css"), part("page_rule.js") + part("page.js")
    return Template(part("page.html")).substitute(
        policy=content_policy(style, script),
        title=html.escape(data.title),
        style=style,
        complaint=items(data.complaint),
        cautions=items(data.cautions),
        dial=_dial(consultation.job),
        wiring=pictures.svg(),
        needles=_rows((reading.gauge, reading.state, reading.needle) for reading in data.sound),
        readings=_rows((check.words, check.state, check.sound) for check in data.checks),
        data=data.as_json(),
        script=script,
    )


def _rows(rows: Iterable[tuple[str, ...]]) -> str:
    """Rows of a table, the first cell of each its header."""
    cells = [[html.escape(text) for text in row] for row in rows]
    return "".join(
        f'<tr><th scope="row">{row[0]}</th>{"".join(f"<td>{cell}</td>" for cell in row[1:])}</tr>'
        for row in cells
    )


def _dial(work: Job) -> str:
    shown = dials(scene(work.circuit, gauge=work.diagnosis.gauge))
    words = "; ".join(f"{dial.gauge.replace('_', ' ')} needle {spoken(dial.word)}" for dial in shown)
    return image(lambda: draw_dials(shown), f"Dial when all is sound: {words}")
