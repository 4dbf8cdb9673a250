"""Every text that goes into a page is escaped there, whoever wrote it."""

import json
from html.parser import HTMLParser

import pytest
from jinja2 import UndefinedError

from gaugesim.report import results_page
from gaugesim.report.elements import filled, script_json

HOSTILE = "</p><script>hit()</script> & \"more\" 'yet'"


def texts_and_tags(page: str) -> tuple[str, set[str]]:
    """What a browser makes of a page: all its text, and its elements."""
    texts, tags = [], set()
    parser = HTMLParser(convert_charrefs=True)
    parser.handle_data = texts.append
    parser.handle_starttag = lambda tag, _: tags.add(tag)
    parser.feed(page)
    return "".join(texts), tags


def test_a_text_stays_a_text() -> None:
    said, tags = texts_and_tags(results_page([["name", HOSTILE], [HOSTILE, ""]], [HOSTILE]))
    assert said.count(HOSTILE) == 3
    assert "script" not in tags


def test_json_cannot_end_its_element() -> None:
    text = script_json({"words": HOSTILE, "volts": float("nan")})
    assert not {*"<>&"} & {*text}
    assert json.loads(text) == {"words": HOSTILE, "volts": None}


def test_what_a_template_needs_has_to_be_given() -> None:
    with pytest.raises(UndefinedError, match="summary"):
        filled("results.html", policy="", style="", title="", heads=(), rows=())
