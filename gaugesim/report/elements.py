"""Pages that need nothing but themselves, filled in by jinja2, which escapes every text."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from gaugesim.notebook import encoded

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("gaugesim.report", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def part(name: str) -> Markup:
    """A style or a script that is shipped beside this module."""
    environment = _templates()
    assert environment.loader is not None
    return Markup(environment.loader.get_source(environment, name)[0])


def filled(template: str, **values: object) -> Markup:
    """A piece of a page.

    Parameters
    ----------
    **values
        What stands in the template; every text of them is escaped, unless it is `Markup`.
    """
    return Markup(_templates().get_template(template).render(values))


def page(template: str, style: str, script: str = "", **values: object) -> str:
    """A whole page.

    HTML that loads nothing: its one style and its one script are named by their hashes in its own content
    policy, and nothing else may be loaded or run but pictures in the page itself.

    Parameters
    ----------
    style, script : str
        The only ones that it may use; trusted.
    **values
        As for `filled`; ``title`` among them.
    """
    policy = (
        "default-src 'none'; base-uri 'none'; form-action 'none'; img-src data:; "
        f"script-src {_digest(script)}; style-src {_digest(style)}"
    )
    whole = filled(template, policy=Markup(policy), style=Markup(style), script=Markup(script), **values)
    # plain text: a finished page is put into no other, which would escape what is joined to it
    return str(whole)


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def script_json(data: Any) -> Markup:
    """Data as JSON that may stand inside a script element."""
    text = json.dumps(encoded(data), allow_nan=False, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))


def image(draw: Callable[[], Axes], words: str) -> Markup:
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
    return Markup('<img src="data:image/svg+xml,{}" alt="{}">').format(coded, words)
