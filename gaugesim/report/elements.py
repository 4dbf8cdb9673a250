"""Elements of a page that needs nothing but itself."""

from __future__ import annotations

import base64
import hashlib
import html
import io
import re
from collections.abc import Callable, Iterable
from importlib.resources import files
from typing import TYPE_CHECKING
from urllib.parse import quote

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def items(texts: Iterable[str]) -> str:
    """Items of a list.

    Examples
    --------
    >>> items(["1 < 2"])
    '<li>1 &lt; 2</li>'
    """
    return "".join(f"<li>{html.escape(text)}</li>" for text in texts)


def image(draw: Callable[[], Axes], words: str) -> str:
    """A picture as SVG inside the page; as an image it needs no style of the page's own.

    Parameters
    ----------
    draw : callable
        Gives the axes of the picture.
    words : str
        What it shows, for whoever cannot see it.
    """
    from matplotlib import rc_context
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    # letters as outlines: a phone has not the fonts that they were laid out with; words are no formulas
    with rc_context({"svg.fonttype": "path", "svg.hashsalt": "gaugesim", "text.parse_math": False}):
        figure = draw().figure
        assert isinstance(figure, Figure)
        FigureCanvasSVG(figure)
        drawn = io.StringIO()
        figure.savefig(drawn, format="svg", metadata={"Date": None}, bbox_inches="tight", pad_inches=0.05)
    coded = quote(re.sub(r">\s+<", "><", drawn.getvalue()), safe=" /:;=,.?!()+-*'")
    return f'<img src="data:image/svg+xml,{html.escape(coded)}" alt="{html.escape(words)}">'


def part(name: str) -> str:
    """A file that is shipped beside this one."""
    return files("gaugesim.report").joinpath(name).read_text(encoding="utf-8")


def content_policy(style: str, script: str) -> str:
    """Nothing may be loaded or run but this style, this script and pictures in the page itself.

    Parameters
    ----------
    style, script : str
        As they stand in the page.
    """

    def digest(text: str) -> str:
        return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"

    return (
        "default-src 'none'; base-uri 'none'; form-action 'none'; img-src data:; "
        f"script-src {digest(script)}; style-src {digest(style)}"
    )
