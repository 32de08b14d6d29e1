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
    assert len(held) > 20
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
    assert pages > 8
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


def on_page(text, printed):
    """The number of the page that a text stands on; the foot of each page follows its text."""
    after = printed[printed.index(bare(text)) :]
    return int(re.search(r"Page(\d+)of\d+", after).group(1))


def test_two_pages_stand_alone_and_the_annex_follows(printed):
    assert on_page("Method, deviations and statements", printed) == 2
    assert on_page("Given by the customer. The laboratory is not responsible", printed) == 2
    assert on_page("Evidence for the class", printed) == 3


def test_fifteen_runs_make_two_pages_and_an_annex_of_eight_at_most(fifteen, issue):
    file = pdf(document(fifteen.sheet(), fifteen.trace, issue, ()))
    printed = shown(file)
    assert on_page("Evidence for the class", printed) == 3
    assert len(re.findall(rb"/Type /Page\b(?!s)", file)) <= 2 + 8
    first, last = "run 1: 6000 psi, passed", "run 15: 11000 psi, passed"
    assert on_page(first, printed) == on_page(last, printed)


def test_many_deviations_do_not_push_the_statements_off_the_second_page(laboratory, issue):
    lab = laboratory()
    lab.receive(edition="API RP 19C:2008")
    lab.before_the_press()
    for _ in range(9):
        lab.crush(6000.0, 1.5, charge_g=39.0)
    printed = shown(pdf(document(lab.sheet(), lab.trace, issue, ())))
    assert on_page("Given by the customer. The laboratory is not responsible", printed) == 2
    assert on_page("more, in the annex under Sample and method", printed) == 2
