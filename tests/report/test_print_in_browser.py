"""The HTML report as a browser prints it on Letter: no more pages than the PDF has, no gap."""

import re
import shutil
import subprocess
from dataclasses import dataclass
from html import unescape
from itertools import pairwise
from operator import itemgetter

import pytest

from ramphold.report import document, html
from ramphold.report.pdf import pdf
from support.pdf_text import bare
from support.tables import tables

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium here: apt-get install chromium"),
    pytest.mark.skipif(
        shutil.which("pdftotext") is None, reason="needs pdftotext: apt-get install poppler-utils"
    ),
]
#: Where the foot of a page begins, as a share of its height: Letter with 17 mm below.
FOOT = 1 - 17 / 279.4
#: Words whose bottoms are no farther apart stand in one line.
SAME_LINE_PT = 2.0


@dataclass(frozen=True)
class Page:
    """A printed page: its lines without its foot, and where the last one ends, as a share of it."""

    lines: tuple[str, ...]
    reaches: float

    @property
    def text(self):
        return bare("".join(self.lines))


def printed(found, folder):
    """The pages that a browser prints of a report."""
    source, target = folder / "report.html", folder / "report.pdf"
    source.write_text(html(found), encoding="utf-8")
    command = [
        CHROMIUM, "--headless", "--no-sandbox", "--disable-dev-shm-usage", "--no-pdf-header-footer",
        f"--user-data-dir={folder / 'browser'}", f"--print-to-pdf={target}", source.as_uri(),
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True)
    read = subprocess.run(
        ["pdftotext", "-bbox-layout", target, "-"], capture_output=True, text=True, check=True
    )
    return [page(one) for one in re.findall(r"<page .*?</page>", read.stdout, re.DOTALL)]


def page(box):
    height = float(re.search(r'<page [^>]*height="([\d.]+)"', box)[1])
    words = [
        (float(bottom), float(left), unescape(text))
        for left, bottom, text in re.findall(
            r'<word xMin="([\d.]+)"[^>]*yMax="([\d.]+)">(.*?)</word>', box
        )
        if float(bottom) < FOOT * height
    ]
    lines: list[list[tuple[float, float, str]]] = []
    for word in sorted(words):
        if not lines or word[0] - lines[-1][0][0] > SAME_LINE_PT:
            lines.append([])
        lines[-1].append(word)
    texts = (" ".join(text for _, _, text in sorted(line, key=itemgetter(1))) for line in lines)
    return Page(tuple(texts), lines[-1][-1][0] / height)


@pytest.fixture(scope="module")
def documents(fifteen, found, issue, laboratory):
    """Reports of fifteen runs, of seventeen with all that can happen, and of nineteen."""
    nineteen = laboratory()
    nineteen.certify()
    nineteen.receive()
    nineteen.before_the_press()
    for number in range(19):
        nineteen.crush(5000.0 + 1000 * (number // 3), 1.2 + 0.3 * number)
    return {
        15: document(fifteen.sheet(), fifteen.trace, issue, ()),
        17: found,
        19: document(nineteen.sheet(), nineteen.trace, issue, ()),
    }


@pytest.fixture(scope="module")
def prints(documents, tmp_path_factory):
    return {runs: printed(one, tmp_path_factory.mktemp("print")) for runs, one in documents.items()}


RUNS = pytest.mark.parametrize("runs", [15, 17, 19])


@RUNS
def test_a_browser_prints_no_more_pages_than_the_pdf_has(documents, prints, runs):
    own = len(re.findall(rb"/Type /Page\b(?!s)", pdf(documents[runs])))
    assert 8 < len(prints[runs]) <= own


@RUNS
def test_two_printed_pages_stand_alone_and_the_annex_follows(prints, runs):
    first, second, third, *_ = (one.text for one in prints[runs])
    assert bare("Crush resistance of a proppant") in first
    assert bare("Decision on each limit") in first
    assert bare("The cautions in the annex are part of this report") in second
    assert third.startswith(bare("A1 Evidence for the class"))


@RUNS
def test_only_the_runs_side_by_side_and_an_end_leave_a_gap_on_a_printed_page(prints, runs):
    for one, after in pairwise(prints[runs]):
        # Fifteen runs side by side are a figure as high as a page.
        expected = after.text.startswith((bare("A1 Evidence"), bare("A12 Runs")))
        assert one.reaches > 0.75 or expected


@RUNS
def test_no_heading_ends_a_printed_page(documents, prints, runs):
    heads = {bare(f"{number}{one.title}") for number, one in documents[runs].numbered()}
    heads |= {bare(one.caption) for one in tables(documents[runs].sections) if one.caption}
    assert len(heads) > 20
    for one in prints[runs]:
        assert bare(one.lines[-1]) not in heads


def test_a_table_that_goes_on_has_its_heads_on_each_printed_page(documents, prints):
    broken = 0
    for runs, report in documents.items():
        for one in tables(report.sections):
            rows = [text for row in one.rows if len(text := bare("".join(row.cells))) > 12]
            heads = bare("".join(column.head for column in one.columns))
            on = [page for page in prints[runs] if any(row in page.text for row in rows)]
            if len(on) > 1:
                broken += 1
                assert all(heads in page.text for page in on)
    assert broken
