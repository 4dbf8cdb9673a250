"""The job page: one HTML file with everything in it."""

from __future__ import annotations

import base64
import hashlib
import html
import io
import re
from collections.abc import Callable
from importlib.resources import files
from string import Template
from typing import TYPE_CHECKING

from gaugesim.draw import dials, draw_dials, draw_schematic, scene, schematic
from gaugesim.plan.job import Job
from gaugesim.report.tables import PageData, page_data

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
        complaint="".join(f"<li>{html.escape(text)}</li>" for text in data.complaint),
        dial=_dial(work),
        circuit=_circuit(work),
        data=data.as_json(),
        script=script,
    )


def _dial(work: Job) -> str:
    shown = dials(scene(work.circuit, gauge=work.diagnosis.gauge))
    words = "; ".join(f"{dial.gauge.replace('_', ' ')} needle: {dial.word}" for dial in shown)
    return _image(
        lambda ax: draw_dials(shown, ax), (3.6 * len(shown), 2.6), f"Dial of a sound gauge. {words}"
    )


def _circuit(work: Job) -> str:
    picture = schematic(scene(work.circuit, gauge=work.diagnosis.gauge), work.diagnosis.gauge)
    words = f"Schematic of {work.circuit.id} with the voltage at each point when all is sound"
    return _image(lambda ax: draw_schematic(picture, ax), (10, 7), words)


def _image(draw: Callable[[Axes], Axes], size: tuple[float, float], words: str) -> str:
    """A picture as SVG inside the page; as an image it needs no style of the page's own."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=size, layout="constrained")
    FigureCanvasSVG(figure)
    draw(figure.add_subplot())
    drawn = io.StringIO()
    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "gaugesim"}):
        figure.savefig(drawn, format="svg", metadata={"Date": None})
    coded = base64.b64encode(re.sub(r">\s+<", "><", drawn.getvalue()).encode()).decode()
    return f'<img src="data:image/svg+xml;base64,{coded}" alt="{html.escape(words, quote=True)}">'


def _part(name: str) -> str:
    return files("gaugesim.report").joinpath(name).read_text(encoding="utf-8")


def _policy(style: str, script: str) -> str:
    def digest(text: str) -> str:
        return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()

    return f"default-src 'none'; img-src data:; script-src 'sha256-{digest(script)}'; style-src 'sha256-{digest(style)}'"


__all__ = ["PageData", "job_page"]
