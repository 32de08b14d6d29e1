"""The PDF: the same tables as the HTML, on numbered pages."""

import json
import re
import shutil
import subprocess
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from ramphold.report import document, reported_results
from ramphold.report.pdf import pdf
from ramphold.sample import CUT, DENSITY, Load, Reviewed, RunDecided, ValueEntered
from support.pdf_text import attached, bare, objects, page_contents, shown
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
    for number in range(9):
        lab.crush(6000.0, 1.5, charge_g=39.0 + 0.01 * number)
    printed = shown(pdf(document(lab.sheet(), lab.trace, issue, ())))
    assert on_page("Given by the customer. The laboratory is not responsible", printed) == 2
    assert on_page("more, in the annex under Sample and method", printed) == 2


def test_all_that_is_known_of_a_sample_still_stands_on_two_pages(laboratory, issue):
    lab = laboratory()
    lab.certify()
    lab.receive(
        customer="the pit's own laboratory, telephone 555 0100",
        condition="dry, in a sealed bag of 5 kg",
        sampling="by the customer, from the belt, on 2026-03-01, by plan 4",
    )
    lab.before_the_press()
    for item, mass_g in (("sieved", 1000.0), ("kept", 910.2), ("discarded", 88.1)):
        lab.weigh(CUT, item, mass_g)
    for number, gross_g in ((2, 410.21), (3, 409.55)):
        lab.weigh(DENSITY, f"fill {number}", gross_g, Load.GROSS)
    for what, values in (("apparent density", (2.64, 2.66)), ("sphericity", (0.7, 0.8))):
        lab.write(ValueEntered, what=what, values=values)
    lab.blank(0.06)
    for stress_psi, pan_g in ((6000, 1.5), (8000, 2.9), (9000, 3.6), (10_000, 4.7), (11_000, 5.9)):
        failed = lab.crush(float(stress_psi), pan_g, charge_g=39.9, most_s=330.0)
        lab.write(RunDecided, specimen=failed, run=lab.runs, counts=True, reason="held long enough")
    lab.write(Reviewed, operator="MB")
    printed = shown(pdf(document(lab.sheet(), lab.trace, issue, ())))
    assert on_page("Given by the customer. The laboratory is not responsible", printed) == 2
    assert on_page("0.15 % of specimen 1 passed", printed) == 2
    assert on_page("Apparent density", printed) <= 2
    assert on_page("Evidence for the class", printed) == 3


# --- for readers who cannot see it, and for programs ---------------------------------------------

_PAINTS = re.compile(rb"(?:^|\s)(Tj|TJ|f\*?|B\*?|b\*?|S|s|Do|sh)$")


def structure(file):
    """Role, text of `/Alt`, scope, kids and marks of each element by its number, and the root's."""
    held = objects(file)
    pages = dict(enumerate(re.findall(rb"(\d+) 0 R", kids_of_pages(held))))
    number_of = {int(name): at for at, name in pages.items()}
    found = {}
    for number, body in held.items():
        if b"/Type /StructElem" not in body:
            continue
        inner = re.search(rb"/K \[(.*?)\](?! \d)", body, re.DOTALL)[1]
        marks = re.findall(rb"/MCID (\d+) /Pg (\d+) 0 R", inner)
        kids = re.sub(rb"<<.*?>>", b"", inner, flags=re.DOTALL)
        found[number] = {
            "role": re.search(rb"/S /(\w+)", body)[1].decode(),
            "alt": b"/Alt" in body,
            "scope": scope[1].decode() if (scope := re.search(rb"/Scope /(\w+)", body)) else "",
            "kids": [int(kid) for kid in re.findall(rb"(\d+) 0 R", kids)],
            "marks": [(number_of[int(page)], int(mark)) for mark, page in marks],
            "parent": int(re.search(rb"/P (\d+) 0 R", body)[1]),
        }
    (tree,) = (body for body in held.values() if b"/Type /StructTreeRoot" in body)
    return found, int(re.search(rb"/K (\d+) 0 R", tree)[1])


def kids_of_pages(held):
    (pages,) = (body for body in held.values() if re.search(rb"/Type /Pages\b", body))
    return re.search(rb"/Kids \[([^\]]*)\]", pages)[1]


def marks_of(page):
    """The numbers of a page's marks; what paints outside of one fails."""
    marks, within = [], None
    for line in page.split(b"\n"):
        if line.endswith((b"BDC", b"BMC")):
            assert within is None
            within = line
            marks += [int(n) for n in re.findall(rb"/MCID (\d+)", line)]
        elif line == b"EMC":
            assert within is not None
            within = None
        elif _PAINTS.search(line):
            assert within is not None, line
    assert within is None
    return marks


def test_whatever_is_on_a_page_is_decoration_or_stands_once_in_the_tree_of_tags(file):
    found, _ = structure(file)
    marked = [(at, n) for at, page in enumerate(page_contents(file)) for n in marks_of(page)]
    assert len(marked) > 1000
    assert sorted(mark for one in found.values() for mark in one["marks"]) == marked


def test_the_tree_of_tags_is_one_and_reads_in_the_order_of_the_report(file, found):
    tags, root = structure(file)

    def in_order(number, parent):
        assert tags[number]["parent"] == parent
        yield number
        for kid in tags[number]["kids"]:
            yield from in_order(kid, number)

    order = list(in_order(root, tags[root]["parent"]))
    assert sorted(order) == sorted(tags)
    assert tags[root]["role"] == "Document"
    # What comes later in the tree never stands on an earlier page.
    pages = [page for number in order for page, _ in tags[number]["marks"]]
    assert pages == sorted(pages)
    heads = [tags[number]["role"] for number in order if tags[number]["role"] in {"H1", "H2"}]
    assert heads == ["H1", *["H2"] * len(found.sections)]


def test_every_table_has_heads_of_its_columns_and_of_each_row(file, found):
    tags, _ = structure(file)
    printed = [one for one in tags.values() if one["role"] == "Table"]
    held = list(tables(found.sections))
    assert len(printed) == len(held)
    for one in printed:
        first, *rows = [[tags[cell] for cell in tags[row]["kids"]] for row in one["kids"]]
        assert {(cell["role"], cell["scope"]) for cell in first} == {("TH", "Column")}
        assert rows
        for cells in rows:
            assert (cells[0]["role"], cells[0]["scope"]) == ("TH", "Row")
            assert {cell["role"] for cell in cells[1:]} <= {"TD"}


def test_every_figure_is_described(file):
    figures = [one for one in structure(file)[0].values() if one["role"] == "Figure"]
    assert len(figures) >= 3
    assert all(one["alt"] for one in figures)


def test_title_and_language_are_set_and_shown(file):
    assert b"/Title (Crush resistance of a proppant, 26-0417, Revision 2)" in file
    assert b"/Lang (en)" in file or b"/Lang /en" in file
    assert b"/DisplayDocTitle true" in file
    assert b"/Marked true" in file


def described(file):
    """What the file says of itself in XML."""
    (body,) = (body for body in objects(file).values() if b"/Subtype /XML" in body)
    assert b"/Type /Metadata" in body
    assert b"/Filter" not in body
    packet = body.partition(b"stream")[2].partition(b"endstream")[0].strip()
    return ET.fromstring(packet)  # noqa: S314 - our own


def test_it_says_in_xml_what_it_is_called_and_claims_no_conformity_that_nobody_has_judged(file):
    # ISO 14289-1:2014, clause 7.1, and clause 5 for the claim, from memory.
    said = described(file)
    assert b"pdfuaid" not in file
    title = said.find(".//{http://purl.org/dc/elements/1.1/}title")
    assert "".join(title.itertext()) == "Crush resistance of a proppant, 26-0417, Revision 2"
    (catalog,) = (body for body in objects(file).values() if b"/Type /Catalog" in body)
    assert re.search(rb"/Metadata \d+ 0 R", catalog)


def test_no_text_can_break_its_xml(laboratory, issue):
    new = laboratory()
    new.receive(laboratory_number="</rdf:li>&<a>\u202e]]>")
    said = described(pdf(document(new.sheet(), new.trace, issue, ())))
    assert "</rdf:li>&<a>" in "".join(said.itertext())


def test_its_headings_skip_no_level(file):
    # ISO 14289-1:2014, 7.4.2, from memory.
    tags, root = structure(file)

    def levels(number):
        if heading := re.fullmatch(r"H(\d)", tags[number]["role"]):
            yield int(heading[1])
        for kid in tags[number]["kids"]:
            yield from levels(kid)

    found = list(levels(root))
    assert found[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(found))


def test_every_cell_of_a_row_has_its_place_and_every_table_is_regular(file):
    # ISO 14289-1:2014, 7.5, from memory: heads by `Scope` need columns that meet.
    tags, _ = structure(file)
    for one in (one for one in tags.values() if one["role"] == "Table"):
        assert len({len(tags[row]["kids"]) for row in one["kids"]}) == 1


def test_the_file_in_it_has_its_name_in_both_ways_and_every_page_the_order_of_its_tags(file):
    # ISO 14289-1:2014, 7.11 and 7.18.3, from memory.
    held = objects(file).values()
    (spec,) = (body for body in held if b"/Type /Filespec" in body)
    assert b"/F (results.json)" in spec
    assert b"/UF (results.json)" in spec
    pages = [body for body in held if re.search(rb"/Type /Page\b(?!s)", body)]
    assert all(b"/Tabs /S" in one for one in pages)


def test_no_text_uses_the_sign_for_a_missing_letter(file):
    # ISO 14289-1:2014, 7.21.8, from memory; the fonts have it as number 0.
    for one in page_contents(file):
        for text in re.findall(rb"\(((?:[^()\\]|\\.)*)\) Tj", one, re.DOTALL):
            assert not re.search(rb"(?<!\\)\\000|\x00", text)


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="needs qpdf: apt-get install qpdf")
def test_another_program_finds_no_fault_in_the_file(file, tmp_path):
    (tmp_path / "report.pdf").write_bytes(file)
    subprocess.run(["qpdf", "--check", tmp_path / "report.pdf"], check=True, capture_output=True)


def test_every_font_is_embedded(file):
    held = objects(file)
    fonts = [body for body in held.values() if re.search(rb"/Type /Font\b(?!D)", body)]
    assert len(fonts) == 2
    for one in fonts:
        descriptor = held[int(re.search(rb"/FontDescriptor (\d+) 0 R", one)[1])]
        assert b"/FontFile2" in descriptor
        assert b"/ToUnicode" in one


def test_the_results_are_in_the_pdf_as_json(file, found, lab):
    name, text = attached(file)
    assert (name, text) == ("results.json", found.results)
    results = json.loads(text)
    wanted = reported_results(lab.sheet(), lab.trace)
    assert sum(one.stress_psi is not None for one in wanted) == 5
    for one, stated in zip(wanted, results["results"], strict=True):
        assert stated["value"] == pytest.approx(one.value, rel=1e-8)
        reach = one.expanded_u
        assert stated["expanded_u"] == (reach and pytest.approx(reach, rel=1e-8))
        assert stated["crush_class"] == ("9K" if one.stress_psi else "")
    # as long as a number needs, without what a float adds in its last digits
    assert max(map(len, re.findall(r"\d+\.\d+", text))) <= 12
