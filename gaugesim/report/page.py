"""The job page: one HTML file with everything in it."""

from __future__ import annotations

import base64
import hashlib
import html
import io
import re
from collections.abc import Callable, Iterable
from importlib.resources import files
from string import Template
from typing import TYPE_CHECKING
from urllib.parse import quote

from gaugesim.draw import dials, draw_dials, draw_schematic, scene, schematic
from gaugesim.plan.job import Job
from gaugesim.reading.words import spoken
from gaugesim.report.tables import page_data

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def job_page(work: Job, case_text: str, cautions: tuple[str, ...]) -> str:
    """Write the page of a job.

    Parameters
    ----------
    work : Job
    case_text : str
        The case file as the person wrote it.
    cautions : tuple of str
        What holds whatever is done.

    Returns
    -------
    str
        HTML that loads nothing: its one script and its one style are named by their hashes in its own content
        policy, and every value of the case is data or escaped text.
    """
    data = page_data(work, case_text, cautions)
    style, script = _part("page.css"), _part("page.js")
    return Template(_part("page.html")).substitute(
        policy=_policy(style, script),
        title=html.escape(data.title),
        style=style,
        complaint=_list(data.complaint),
        cautions=_list(data.cautions),
        dial=_dial(work),
        circuit=_circuit(work),
        needles=_rows((reading.gauge, reading.state, reading.needle) for reading in data.sound),
        readings=_rows((check.name, check.state, check.sound) for check in data.checks),
        data=data.as_json(),
        script=script,
    )


def _list(texts: Iterable[str]) -> str:
    return "".join(f"<li>{html.escape(text)}</li>" for text in texts)


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
    return _image(lambda: draw_dials(shown), f"Dial when all is sound: {words}")


def _circuit(work: Job) -> str:
    picture = schematic(scene(work.circuit, gauge=work.diagnosis.gauge), work.diagnosis.gauge)
    words = f"Schematic of {work.circuit.id}, with the voltage at each point when all is sound"
    return _image(lambda: draw_schematic(picture), words)


def _image(draw: Callable[[], Axes], words: str) -> str:
    """A picture as SVG inside the page; as an image it needs no style of the page's own."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    # letters as outlines: a phone has not the fonts that they were laid out with
    with rc_context({"svg.fonttype": "path", "svg.hashsalt": "gaugesim"}):
        figure = draw().figure
        assert isinstance(figure, Figure)
        FigureCanvasSVG(figure)
        drawn = io.StringIO()
        figure.savefig(drawn, format="svg", metadata={"Date": None}, bbox_inches="tight", pad_inches=0.05)
    coded = quote(re.sub(r">\s+<", "><", drawn.getvalue()), safe=" /:;=,.?!()+-*'")
    return f'<img src="data:image/svg+xml,{html.escape(coded)}" alt="{html.escape(words)}">'


def _part(name: str) -> str:
    return files("gaugesim.report").joinpath(name).read_text(encoding="utf-8")


def _policy(style: str, script: str) -> str:
    """Nothing may be loaded or run but this style, this script and pictures in the page itself."""

    def digest(text: str) -> str:
        return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"

    return (
        "default-src 'none'; base-uri 'none'; form-action 'none'; img-src data:; "
        f"script-src {digest(script)}; style-src {digest(style)}"
    )
