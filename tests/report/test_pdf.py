"""The PDF: the same tables as the HTML, on numbered pages."""

import re

import pytest

from ramphold.report import document
from ramphold.report.pdf import pdf
from support.pdf_text import bare, shown
from support.tables import tables


@pytest.fixture(scope="module")
def file(found):
    return pdf(found)


@pytest.fixture(scope="module")
def printed(file):
    return shown(file)


def test_every_cell_of_every_table_is_in_the_pdf_too(found, printed):
    held = list(tables(found.sections))
    assert len(held) > 30
    for one in held:
        for cells in (tuple(column.head for column in one.columns), *(r.cells for r in one.rows)):
            for cell in cells:
                assert bare(cell) in printed


def test_a_row_of_a_table_stands_in_one_piece(found, printed):
    for one in tables(found.sections):
        for row in one.rows:
            assert "".join(map(bare, row.cells)) in printed


def test_notices_headline_and_facts_are_in_the_pdf_too(found, printed):
    for notice in found.notices:
        assert bare(notice.text) in printed
    assert bare(found.headline.value) in printed
    for label, value in found.facts.pairs:
        assert bare(label + value) in printed


def test_every_page_carries_its_number_and_how_many_there_are(file, printed):
    pages = len(re.findall(rb"/Type /Page\b(?!s)", file))
    assert pages > 10
    assert [int(n) for n in re.findall(rf"Page(\d+)of{pages}", printed)] == [*range(1, pages + 1)]
    assert printed.count(f"26-0417·Revision2·record{'5e' * 8}…") == pages


@pytest.mark.parametrize(
    ("paper", "box"),
    [("letter", b"/MediaBox [ 0 0 612 792 ]"), ("a4", b"/MediaBox [ 0 0 595.2756 841.8898 ]")],
)
def test_it_is_made_for_the_paper_that_is_asked_for(found, paper, box):
    # ISO 216: A4 is 210 mm by 297 mm; ANSI/ASME Y14.1: Letter is 8.5 in by 11 in.
    assert set(re.findall(rb"/MediaBox \[[^\]]*\]", pdf(found, paper))) == {box}


def test_the_same_document_gives_the_same_bytes(found, file):
    assert pdf(found) == file


def test_text_is_no_markup_and_what_the_fonts_lack_is_shown_by_its_number(laboratory, issue):
    new = laboratory()
    new.receive(client_reference="<b>&amp;</b> карьер <img src='x'/>", remarks="\u202eabc")
    printed = shown(pdf(document(new.sheet(), new.trace, issue, ())))
    assert "<b>&amp;</b>‹U+043A›‹U+0430›" in printed  # noqa: RUF001
    assert "<imgsrc='x'/>" in printed
    assert "‹U+202E›abc" in printed  # noqa: RUF001


def test_a_sample_that_only_came_in_has_a_pdf(laboratory, issue):
    new = laboratory()
    new.receive()
    assert "Nospecimenwascrushedyet." in shown(pdf(document(new.sheet(), new.trace, issue)))


def test_long_texts_are_printed_whole(laboratory, issue):
    new = laboratory()
    new.receive(remarks="word " * 1200, client_reference="x" * 1000)
    found = document(new.sheet(), new.trace, issue, [f"record {n} was changed" for n in range(500)])
    printed = shown(pdf(found))
    assert printed.count("word") >= 1200
    assert printed.count("record499waschanged") == 2
    assert printed.count("x" * 1000) == 2
