"""A report as a PDF file, by reportlab (extra `pdf`), with vector figures and real text."""

from collections.abc import Iterator, Sequence
from io import BytesIO
from itertools import pairwise, zip_longest
from typing import Any, Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageBreak,
    PageTemplate,
    Spacer,
)

from ramphold.report import _document as model
from ramphold.report import _pdf_styles as styles
from ramphold.report._document import Document, Emphasis
from ramphold.report._pdf_page import BELOW, MARGIN, DrawnFigure, FootedCanvas, printable
from ramphold.report._pdf_tags import Tag, tag_story
from ramphold.report._pdf_tags import TaggedParagraph as Paragraph
from ramphold.report._pdf_tags import TaggedTable as Grid

_Command = tuple[Any, ...]
_Cells = tuple[tuple[int, int], tuple[int, int]]

_PAPERS = {"letter": LETTER, "a4": A4}
_SEAL = 16
_ABOVE = 36.0
_ALL: _Cells = ((0, 0), (-1, -1))
_FIRST: _Cells = ((0, 0), (0, 0))
_SECOND: _Cells = ((1, 0), (1, 0))
# A table of this many rows or fewer stays on one page.
_WHOLE_ROWS = 12


def pdf(document: Document, paper: Literal["letter", "a4"] = "letter") -> bytes:
    """The bytes of the file; the same document gives the same bytes."""
    file = BytesIO()
    title = printable(f"{document.title}, {document.number}, {document.revision}")
    author = printable(document.letterhead.name)
    template = BaseDocTemplate(
        file,
        pagesize=_PAPERS[paper],
        title=title,
        author=author,
        invariant=1,
        lang="en",
        initialFontName=styles.FONT,
    )
    wide, high = _PAPERS[paper]
    width = wide - 2 * MARGIN
    frame = Frame(
        MARGIN, BELOW, width, high - BELOW - _ABOVE,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
    template.addPageTemplates([PageTemplate(frames=[frame])])
    story = list(_story(document, width))
    template.build(story, canvasmaker=_footed(document, title, author, tag_story(story)))
    return file.getvalue()


def _footed(document: Document, name: str, by: str, tags: Tag) -> type[FootedCanvas]:
    seal = document.seal[:_SEAL]
    text = f"{document.number} · {document.revision} · record {seal}…"

    class Footed(FootedCanvas):
        title, author = name, by
        foot = printable(text)
        root = tags
        results = document.results

    return Footed


def _story(document: Document, width: float) -> Iterator[Flowable]:
    yield from _cover(document, width)
    for number, section in document.numbered():
        yield PageBreak() if number == "A1" else CondPageBreak(110)
        head = _ruled(f"{_coloured(number, styles.SAND)}  {_safe(section.title)}", width)
        first, *others = section.blocks
        yield from _together(first, [head, Spacer(1, 3), *_flow(first, width)])
        for block in others:
            yield from _together(block, _flow(block, width))


def _together(block: model.Block, flow: list[Flowable]) -> list[Flowable]:
    """The flowables of a block, on one page unless it is a long table."""
    long = isinstance(block, model.Table) and len(block.rows) > _WHOLE_ROWS
    return flow if long else [KeepTogether(flow)]


def _safe(text: str) -> str:
    return escape(printable(text))


def _para(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(_safe(text), style)


def _coloured(markup: str, colour: Color) -> str:
    return f'<font color="{colour.hexval()}">{markup}</font>'


def _grid(
    rows: list[list[Any]],
    widths: Sequence[float],
    *commands: _Command,
    repeat_rows: int = 0,
    split: bool = False,
) -> Grid:
    grid = Grid(rows, colWidths=widths, repeatRows=repeat_rows, splitInRow=int(split))
    grid.setStyle([("FONTNAME", *_ALL, styles.FONT), *commands])
    return grid


def _pad(cells: _Cells = _ALL, **sides: float) -> Iterator[_Command]:
    """Padding in points by side: `left`, `right`, `top`, `bottom`."""
    return ((f"{side.upper()}PADDING", *cells, points) for side, points in sides.items())


def _ruled(markup: str, width: float) -> Flowable:
    line = ("LINEBELOW", *_ALL, 0.6, styles.DEEP)
    head = _grid([[Paragraph(markup, styles.H2)]], [width], line, *_pad(left=0, bottom=4, top=14))
    head.keepWithNext = 1
    return head


def _cover(document: Document, width: float) -> Iterator[Flowable]:
    yield _letterhead(document.letterhead, width)
    yield Spacer(1, 5)
    number = (
        f'<font size="12" color="{styles.INK.hexval()}"><b>{_safe(document.number)}</b></font>'
        f"<br/>{_safe(document.revision)}, {_safe(document.issued)}"
    )
    yield _grid(
        [[_para(document.title, styles.TITLE), Paragraph(number, styles.NUMBER)]],
        [width * 0.6, width * 0.4],
        ("LINEABOVE", (0, 0), (-1, 0), 2.4, styles.DEEP),
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, styles.DEEP),
        ("VALIGN", *_ALL, "BOTTOM"),
        *_pad(_FIRST, left=0),
        *_pad(_SECOND, right=0),
        *_pad(top=9, bottom=9),
    )
    for notice in document.notices:
        yield from _notice(notice, width)
    yield Spacer(1, 10)
    yield _result(document, width)
    yield Spacer(1, 4)
    yield _para(document.caution, styles.NOTE)


def _letterhead(one: model.Letterhead, width: float) -> Flowable:
    name = _para(one.name, styles.style("laboratory", 9.4, fontName=styles.BOLD))
    address = [_para(line, styles.ADDRESS) for line in one.address]
    return _grid(
        [[[name, *address], _para(one.accreditation, styles.ACCREDITATION)]],
        [width * 0.55, width * 0.45],
        ("VALIGN", *_ALL, "TOP"),
        *_pad(_FIRST, left=0),
        *_pad(_SECOND, right=0),
        *_pad(top=0, bottom=2),
    )


def _result(document: Document, width: float) -> Flowable:
    left = width * 0.38
    head = document.headline
    result = [
        _para(head.label, styles.style("result-label", 8.8, textColor=styles.SOFT)),
        _para(head.value, styles.RESULT),
        *(_para(line, styles.style("line", 7.6, spaceAfter=2)) for line in head.lines),
    ]
    facts = _facts(document.facts, width - left - 18, pairs_a_row=1)
    return _grid(
        [[result, facts]],
        [left, width - left],
        ("BACKGROUND", *_FIRST, styles.TINT),
        ("LINEBEFORE", *_FIRST, 2.4, styles.SAND),
        ("VALIGN", *_ALL, "MIDDLE"),
        *_pad(_FIRST, left=12, top=10, bottom=10),
        *_pad(_SECOND, left=18, right=0),
    )


def _flow(block: model.Block, width: float) -> list[Flowable]:  # noqa: PLR0911 - one for each kind
    match block:
        case model.Paragraph():
            return [_para(block.text, styles.TEXT)]
        case model.Bullets():
            return [Paragraph(_safe(item), styles.ITEM, bulletText="•") for item in block.items]
        case model.Facts():
            return [_facts(block, width, pairs_a_row=2), Spacer(1, 4)]
        case model.Notice():
            return list(_notice(block, width))
        case model.Table():
            return _table(block, width)
        case model.Figure():
            caption = [_para(block.caption, styles.NOTE)] if block.caption else []
            return [Spacer(1, 6), DrawnFigure(block.drawing, printable(block.name)), *caption]
        case model.Group():
            inner = [one for part in block.blocks for one in _flow(part, width)]
            return [_para(block.title, styles.H3), *inner]


def _notice(notice: model.Notice, width: float) -> Iterator[Flowable]:
    failed = notice.tone is Emphasis.FAIL
    colour = styles.BAD if failed else styles.SAND
    title = f"<b>{_safe(notice.title)}</b>"
    if failed:
        title = _coloured(title, styles.BAD)
    yield Spacer(1, 8)
    yield _grid(
        [[Paragraph(f"{title}  {_safe(notice.text)}", styles.VALUE)]],
        [width],
        ("BOX", *_ALL, 0.6, colour),
        ("LINEBEFORE", (0, 0), (0, -1), 2.4, colour),
        *_pad(left=12, top=5, bottom=6),
        split=True,
    )


def _facts(facts: model.Facts, width: float, *, pairs_a_row: int) -> Flowable:
    """Pairs in columns that read downwards."""
    cells = [(_para(name, styles.LABEL), _para(value, styles.VALUE)) for name, value in facts.pairs]
    deep = -(-len(cells) // pairs_a_row)
    columns = [cells[at * deep : (at + 1) * deep] for at in range(pairs_a_row)]
    one = width / pairs_a_row
    grid = _grid(
        [
            [part for pair in row for part in pair]
            for row in zip_longest(*columns, fillvalue=([], []))
        ],
        [one * 0.36, one * 0.64] * pairs_a_row,
        ("LINEBELOW", *_ALL, 0.4, styles.LINE),
        ("VALIGN", *_ALL, "TOP"),
        *_pad(left=0, top=2, bottom=3.5),
        split=True,
    )
    grid.kind, grid.pairs = "L", cells
    return grid


def _table(table: model.Table, width: float) -> list[Flowable]:
    total = sum(column.weight for column in table.columns)
    heads = model.TableRow(tuple(column.head for column in table.columns), Emphasis.FAINT)
    # Words that follow a number get more room.
    wide = [
        at for at, (one, two) in enumerate(pairwise(table.columns), 1)
        if one.numeric and not two.numeric
    ]  # fmt: skip
    grid = _grid(
        [_cells(row, table.columns) for row in (heads, *table.rows)],
        [width * column.weight / total for column in table.columns],
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, styles.DEEP),
        ("LINEBELOW", (0, 1), (-1, -1), 0.4, styles.LINE),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("VALIGN", (0, 1), (-1, -1), "TOP"),
        *_pad(left=3, right=3, top=1, bottom=2),
        *(("LEFTPADDING", (at, 0), (at, -1), 10) for at in wide),
        repeat_rows=1,
        split=True,
    )
    grid.kind = "Table"
    caption = _para(table.caption, styles.CAPTION) if table.caption else Spacer(1, 3)
    caption.keepWithNext = 1
    return [caption, grid, _para(table.note, styles.NOTE) if table.note else Spacer(1, 4)]


def _cells(row: model.TableRow, columns: Sequence[model.Column]) -> list[Paragraph]:
    return [
        _para(cell, styles.CELLS[Emphasis.FAIL if at in row.bad else row.tone, column.numeric])
        for at, (cell, column) in enumerate(zip(row.cells, columns, strict=True))
    ]
