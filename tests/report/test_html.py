"""The HTML file: whole, safe, and in need of nothing."""

import json
import re
from html import unescape
from html.parser import HTMLParser

import pytest

from ramphold.report import document, html

HOSTILE = "</style><script>alert(1)</script>\"'&\\ \u202egpj.exe"
VOID = {"meta", "col", "br", "polyline", "polygon", "circle"}


class Reader(HTMLParser):
    """Sees that tags are closed in turn, and keeps them and the text."""

    def __init__(self, page):
        super().__init__()
        self.open, self.tags, self.text = [], [], []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


@pytest.fixture(scope="module")
def page(found):
    return html(found)


@pytest.fixture(scope="module")
def hostile(laboratory, issue):
    """A page of a sample whose every free text is meant to break it."""
    new = laboratory()
    new.receive(laboratory_number=HOSTILE, client_reference=HOSTILE, remarks=HOSTILE)
    return html(document(new.sheet(), new.trace, issue, [HOSTILE]))


def test_the_page_is_well_formed(page):
    reader = Reader(page)
    assert reader.open == []
    assert len([tag for tag, _ in reader.tags if tag == "svg"]) == 2 + 2  # runs by fifteen


def test_nothing_in_the_page_runs_or_is_fetched(page, hostile):
    for one in (page, hostile):
        tags = Reader(one).tags
        assert {tag for tag, _ in tags}.isdisjoint(
            {"iframe", "img", "link", "object", "embed", "a", "base", "form", "image"}
        )
        scripts = [attributes for tag, attributes in tags if tag == "script"]
        assert scripts == [
            {"type": "application/json", "id": "results"}
        ]  # data, which nothing runs
        names = {name for _, attributes in tags for name in attributes}
        assert not [name for name in names if name.startswith("on")]
        assert names.isdisjoint({"src", "href", "xlink:href", "action", "data", "srcset"})
        assert "url(" not in one
        assert "@import" not in one
        assert "default-src 'none'" in one


def test_hostile_text_is_shown_and_never_obeyed(hostile):
    reader = Reader(hostile)
    assert reader.open == []
    shown = "".join(reader.text)
    assert shown.count("<script>alert(1)</script>") >= 3
    assert "\u202e" not in unescape(hostile)
    assert "‹U+202E›gpj.exe" in shown  # noqa: RUF001


def results_in(page):
    (text,) = re.findall(
        r'<script type="application/json" id="results">\n(.*?)</script>', page, re.DOTALL
    )
    return json.loads(text)


def test_the_results_are_in_the_page_as_json_whatever_a_text_holds(page, hostile, found):
    assert results_in(page) == json.loads(found.results)
    stresses = [one["stress_psi"] for one in results_in(page)["results"] if one["stress_psi"]]
    assert stresses == [6000, 8000, 9000, 10_000, 11_000]
    assert results_in(hostile)["client_reference"] == HOSTILE


def test_every_row_of_a_table_has_a_head(page):
    rows = re.findall(r"<tr class=[^>]*>(.*?)</tr>", page)
    assert len(rows) > 100
    assert all(re.match(r'<th scope="row"[ >]', row) for row in rows)
    assert all(row.count("<th") == 1 for row in rows)


def test_text_in_the_style_sheet_is_escaped_for_it(hostile):
    sheet = hostile.partition("<style>")[2].partition("</style>")[0]
    foot = re.search(r'@bottom-left \{ content: "([^"]*)"', sheet)[1]
    read = re.sub(r"\\([0-9a-f]{6})", lambda found: chr(int(found[1], 16)), foot)
    assert set(re.sub(r"\\[0-9a-f]{6}", "", foot)) <= set(
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
    )
    assert read.startswith("</style><script>alert(1)</script>")


def test_pages_are_numbered_and_carry_sample_revision_and_seal(page):
    assert '"Page " counter(page) " of " counter(pages)' in page
    sheet = re.sub(r"\\([0-9a-f]{6})", lambda found: chr(int(found[1], 16)), page)
    assert f"26-0417 · Revision 2 · record {'5e' * 8}…" in sheet


def test_every_figure_is_named_and_every_table_has_heads(page):
    tags = Reader(page).tags
    svgs = [attributes for tag, attributes in tags if tag == "svg"]
    assert all(one["aria-label"] and one["role"] == "img" for one in svgs)
    assert page.count("<table") == page.count("<thead>")


def test_the_same_document_gives_the_same_page(lab, issue, page):
    assert html(document(lab.sheet(), lab.trace, issue, ())) == page
