"""The job page: one HTML file with everything in it."""

from __future__ import annotations

from markupsafe import Markup

from gaugesim.advice.jobs import Job
from gaugesim.consultation import Consultation
from gaugesim.draw import dials, draw_dials, scene
from gaugesim.report.elements import image, page, part, script_json
from gaugesim.report.tables import PageData, page_data
from gaugesim.report.wiring import Pictures
from gaugesim.vocabulary import spoken


def job_page(consultation: Consultation, case_text: str) -> str:
    """Write the page of a job. HTML that loads nothing; every value of the case is data or escaped text.

    Parameters
    ----------
    case_text : str
        The case file as the person wrote it.
    """
    pictures = Pictures(consultation.job)
    return page_text(consultation, page_data(consultation, case_text, pictures), pictures)


def page_text(consultation: Consultation, data: PageData, pictures: Pictures) -> str:
    """Write the page from its tables.

    Parameters
    ----------
    pictures : Pictures
        In which the tables show their checks.
    """
    return page(
        "page.html",
        part("page.css"),
        part("page_rule.js") + part("page.js"),
        title=data.title,
        data=data,
        dial=_dial(consultation.job),
        wiring=pictures.svg(),
        needles=[(reading.gauge, reading.state, reading.needle) for reading in data.sound],
        readings=[(check.words, check.state, check.sound) for check in data.checks],
        json=script_json(data),
    )


def _dial(work: Job) -> Markup:
    shown = dials(scene(work.circuit, gauge=work.diagnosis.gauge))
    words = "; ".join(f"{dial.gauge.replace('_', ' ')} needle {spoken(dial.word)}" for dial in shown)
    return image(lambda: draw_dials(shown), f"Dial when all is sound: {words}")
