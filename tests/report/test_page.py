"""The page as a file: whole, small, and closed to everything outside it."""

import base64
import hashlib
import html
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from urllib.parse import unquote
from xml.etree import ElementTree

import pytest
from report_cases import CASES

VOID = {"meta", "img", "br", "input", "link"}


class Elements(HTMLParser):
    """Every element with its attributes and text, and whether all are closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.text: dict[str, list[str]] = {}
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open:
            self.text.setdefault(self.open[-1], []).append(data)

    def named(self, tag: str) -> Iterator[dict[str, str | None]]:
        return (attributes for name, attributes in self.found if name == tag)


def digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


@pytest.mark.parametrize("case", CASES)
def test_it_is_one_closed_file(make, case: str) -> None:
    text = make(case).html
    page = Elements(text)
    assert page.open == []
    assert len(text.encode()) < 1_000_000
    assert {"link", "iframe", "object", "embed", "form", "base", "a"}.isdisjoint(
        name for name, _ in page.found
    )
    for name, attributes in page.found:
        assert not [
            key for key in attributes if key.startswith("on") or key in ("style", "srcset", "href")
        ], name
        assert (attributes.get("src") or "data:").startswith("data:")
    identifiers = [attributes["id"] for _, attributes in page.found if "id" in attributes]
    assert len(identifiers) == len(set(identifiers))
    for _, attributes in page.found:
        for key in ("aria-labelledby", "aria-describedby", "for"):
            assert attributes.get(key) in (None, *identifiers)


def test_its_policy_allows_its_own_script_and_style_only(make) -> None:
    text = make("stuck_at_half").html
    [policy] = re.findall(r'Content-Security-Policy" content="([^"]*)"', text)
    rules = dict(rule.strip().split(" ", 1) for rule in html.unescape(policy).split(";"))
    [style] = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    script = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)[-1]
    assert rules == {
        "default-src": "'none'",
        "base-uri": "'none'",
        "form-action": "'none'",
        "img-src": "data:",
        "script-src": digest(script),
        "style-src": digest(style),
    }
    assert "innerHTML" not in script
    assert "eval" not in script


def test_it_reads_without_a_script(make) -> None:
    made = make("all_read_high")
    page = Elements(made.html)
    items = page.text["li"]
    assert set(made.data.complaint) <= set(items)
    # cautions stand before all else
    assert tuple(items[: len(made.data.cautions)]) == made.data.cautions
    assert "advises and does not certify" in made.data.cautions[-1]
    cells = page.text["td"]
    assert len(cells) == 2 * (len(made.data.sound) + len(made.data.checks))
    scopes = [attributes.get("scope") for attributes in page.named("th")]
    assert scopes.count("col") == 6
    assert scopes.count("row") == len(made.data.sound) + len(made.data.checks)


def test_pictures_are_drawings_with_words(make) -> None:
    text = make("all_read_high").html
    [dial] = list(Elements(text).named("img"))
    assert "temperature needle" in (dial["alt"] or "")
    head, _, drawn = (dial["src"] or "").partition(",")
    assert head == "data:image/svg+xml"
    wiring = re.findall(r"<svg .*?</svg>", text)
    assert wiring
    for picture in (unquote(drawn), *wiring):
        root = ElementTree.fromstring(picture)
        assert root.tag.endswith("svg")
        assert sum(1 for _ in root.iter()) > 100
    assert "temperature gauge" in wiring[0]


def test_the_same_case_gives_the_same_page(make) -> None:
    from gaugesim.report import job_page

    made = make("stuck_at_half")
    assert job_page(made.consultation, made.data.case) == made.html
