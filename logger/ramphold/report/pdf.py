"""A report as a PDF file, by reportlab (the extra `pdf`); figures stay lines, text stays text."""

from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Literal
from xml.sax.saxutils import escape

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Paragraph,
    Spacer,
)
from reportlab.platypus import Table as Grid

from ramphold.report import _document as model
from ramphold.report._document import Document, Emphasis, TableRow
from ramphold.report._pdf_page import BELOW, MARGIN, DrawnFigure, FootedCanvas, printable
from ramphold.report._pdf_styles import (
    ACCREDITATION,
    ADDRESS,
    BAD,
    CAPTION,
    CELLS,
    DEEP,
    H2,
    H3,
    INK,
    ITEM,
    LABEL,
    LINE,
    NOTE,
    NUMBER,
    RESULT,
    SAND,
    SOFT,
    TEXT,
    TINT,
    TITLE,
    VALUE,
    style,
)

__all__ = ["pdf"]

_PAPERS = {"letter": LETTER, "a4": A4}
_SEAL = 16
_ABOVE = 44.0
# A table of so many rows is not torn over two pages.
_WHOLE_ROWS = 12


def pdf(document: Document, paper: Literal["letter", "a4"] = "letter") -> bytes:
    """The whole file; the same document always gives the same bytes."""
    file = BytesIO()
    title = f"{document.title}, {document.number}, {document.revision}"
    template = BaseDocTemplate(
        file,
        pagesize=_PAPERS[paper],
        title=printable(title),
        author=printable(document.letterhead.name),
        invariant=1,
        lang="en",
    )
    wide, high = _PAPERS[paper]
    width = wide - 2 * MARGIN
    frame = Frame(
        MARGIN, BELOW, width, high - BELOW - _ABOVE,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
    template.addPageTemplates([PageTemplate(frames=[frame])])
    template.build(list(_story(document, width)), canvasmaker=_footed(document))
    return file.getvalue()


def _footed(document: Document) -> type[FootedCanvas]:
    seal = document.seal[:_SEAL]
    text = f"{document.number} · {document.revision} · record {seal}…"

    class Footed(FootedCanvas):
        foot = printable(text)

    return Footed


def _story(document: Document, width: float) -> Iterator[Flowable]:
    yield from _cover(document, width)
    for at, section in enumerate(document.sections, start=1):
        yield CondPageBreak(110)
        head = _ruled(f'<font color="{SAND.hexval()}">{at}</font>  {_safe(section.title)}', width)
        first, *others = section.blocks
        yield from _kept(first, [head, Spacer(1, 3), *_flow(first, width)])
        for block in others:
            yield from _kept(block, _flow(block, width))


def _kept(block: model.Block, flow: list[Flowable]) -> list[Flowable]:
    """What a block comes to, on one page where that can be."""
    torn = isinstance(block, model.Table) and len(block.rows) > _WHOLE_ROWS
    return flow if torn else [KeepTogether(flow)]


def _safe(text: str) -> str:
    return escape(printable(text))


def _para(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(_safe(text), style)


def _ruled(markup: str, width: float) -> Flowable:
    head = Grid([[Paragraph(markup, H2)]], colWidths=[width])
    head.setStyle([
        ("LINEBELOW", (0, 0), (-1, -1), 0.6, DEEP),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
        ("TOPPADDING", (0, 0), (-1, -1), 14),
    ])  # fmt: skip
    head.keepWithNext = 1
    return head


def _cover(document: Document, width: float) -> Iterator[Flowable]:
    yield _letterhead(document.letterhead, width)
    yield Spacer(1, 5)
    number = (
        f'<font size="13" name="Helvetica-Bold" color="{INK.hexval()}">{_safe(document.number)}'
        f"</font><br/>{_safe(document.revision)}, {_safe(document.issued)}"
    )
    head = Grid(
        [[_para(document.title, TITLE), Paragraph(number, NUMBER)]],
        colWidths=[width * 0.6, width * 0.4],
    )
    head.setStyle([
        ("LINEABOVE", (0, 0), (-1, 0), 2.4, DEEP),
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, DEEP),
        ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
        ("LEFTPADDING", (0, 0), (0, 0), 0),
        ("RIGHTPADDING", (1, 0), (1, 0), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 9),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 9),
    ])  # fmt: skip
    yield head
    for notice in document.notices:
        yield from _notice(notice, width)
    yield Spacer(1, 10)
    yield _result(document, width)
    yield Spacer(1, 4)
    yield _para(document.caution, NOTE)


def _letterhead(one: model.Letterhead, width: float) -> Flowable:
    name = _para(one.name, style("laboratory", 10.5, fontName="Helvetica-Bold"))
    address = [_para(line, ADDRESS) for line in one.address]
    grid = Grid(
        [[[name, *address], _para(one.accreditation, ACCREDITATION)]],
        colWidths=[width * 0.55, width * 0.45],
    )
    grid.setStyle([
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (0, 0), 0),
        ("RIGHTPADDING", (1, 0), (1, 0), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ])  # fmt: skip
    return grid


def _result(document: Document, width: float) -> Flowable:
    left = width * 0.38
    head = document.headline
    said = [
        _para(head.label, style("result-label", 10, textColor=SOFT)),
        _para(head.value, RESULT),
        *(_para(line, style("line", 8.6, spaceAfter=2)) for line in head.lines),
    ]
    facts = _facts(document.facts, width - left - 18, pairs_a_row=1)
    grid = Grid([[said, facts]], colWidths=[left, width - left])
    grid.setStyle([
        ("BACKGROUND", (0, 0), (0, 0), TINT),
        ("LINEBEFORE", (0, 0), (0, 0), 2.4, SAND),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LEFTPADDING", (0, 0), (0, 0), 12),
        ("LEFTPADDING", (1, 0), (1, 0), 18),
        ("RIGHTPADDING", (1, 0), (1, 0), 0),
        ("TOPPADDING", (0, 0), (0, 0), 10),
        ("BOTTOMPADDING", (0, 0), (0, 0), 10),
    ])  # fmt: skip
    return grid


def _flow(block: model.Block, width: float) -> list[Flowable]:  # noqa: PLR0911 - one for each kind
    match block:
        case model.Paragraph():
            return [_para(block.text, TEXT)]
        case model.Bullets():
            return [Paragraph(_safe(item), ITEM, bulletText="•") for item in block.items]
        case model.Facts():
            return [_facts(block, width, pairs_a_row=2), Spacer(1, 4)]
        case model.Notice():
            return list(_notice(block, width))
        case model.Table():
            return _table(block, width)
        case model.Figure():
            caption = [_para(block.caption, NOTE)] if block.caption else []
            return [Spacer(1, 6), DrawnFigure(block.drawing), *caption]
        case model.Group():
            inner = [one for part in block.blocks for one in _flow(part, width)]
            return [_para(block.title, H3), *inner]


def _notice(notice: model.Notice, width: float) -> Iterator[Flowable]:
    failed = notice.tone is Emphasis.FAIL
    colour = BAD if failed else SAND
    title = f'<font name="Helvetica-Bold">{_safe(notice.title)}</font>'
    if failed:
        title = f'<font color="{BAD.hexval()}">{title}</font>'
    grid = Grid(
        [[Paragraph(f"{title}  {_safe(notice.text)}", VALUE)]], colWidths=[width], splitInRow=1
    )
    grid.setStyle([
        ("BOX", (0, 0), (-1, -1), 0.6, colour),
        ("LINEBEFORE", (0, 0), (0, -1), 2.4, colour),
        ("LEFTPADDING", (0, 0), (-1, -1), 12),
        ("TOPPADDING", (0, 0), (-1, -1), 5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
    ])  # fmt: skip
    yield Spacer(1, 8)
    yield grid


def _facts(facts: model.Facts, width: float, *, pairs_a_row: int) -> Flowable:
    """Pairs in columns, each read downwards."""
    cells = [(_para(label, LABEL), _para(value, VALUE)) for label, value in facts.pairs]
    deep = -(-len(cells) // pairs_a_row)
    columns = [cells[at * deep : (at + 1) * deep] for at in range(pairs_a_row)]
    rows = [
        [part for column in columns for part in (column[at] if at < len(column) else ("", ""))]
        for at in range(deep)
    ]
    one = width / pairs_a_row
    grid = Grid(rows, colWidths=[one * 0.36, one * 0.64] * pairs_a_row, splitInRow=1)
    grid.setStyle([
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, LINE),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
    ])  # fmt: skip
    return grid


def _table(table: model.Table, width: float) -> list[Flowable]:
    total = sum(column.weight for column in table.columns)
    faint = TableRow(tuple(column.head for column in table.columns), Emphasis.FAINT)
    grid = Grid(
        [_cells(row, table.columns) for row in (faint, *table.rows)],
        colWidths=[width * column.weight / total for column in table.columns],
        repeatRows=1,
        splitInRow=1,
    )
    grid.setStyle([
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, DEEP),
        ("LINEBELOW", (0, 1), (-1, -1), 0.4, LINE),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("VALIGN", (0, 1), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("TOPPADDING", (0, 0), (-1, -1), 1.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        *_set_off(table.columns),
    ])  # fmt: skip
    caption = _para(table.caption, CAPTION) if table.caption else Spacer(1, 3)
    caption.keepWithNext = 1
    note = [_para(table.note, NOTE)] if table.note else [Spacer(1, 4)]
    return [caption, grid, *note]


def _set_off(
    columns: Sequence[model.Column],
) -> Iterator[tuple[str, tuple[int, int], tuple[int, int], float]]:
    """More room where words follow a number."""
    for at, column in enumerate(columns):
        if at and columns[at - 1].numeric and not column.numeric:
            yield ("LEFTPADDING", (at, 0), (at, -1), 10)


def _cells(row: TableRow, columns: Sequence[model.Column]) -> list[Paragraph]:
    return [
        _para(cell, CELLS[Emphasis.FAIL if at in row.bad else row.tone, column.numeric])
        for at, (cell, column) in enumerate(zip(row.cells, columns, strict=True))
    ]
