"""A report as one self-contained HTML file: no script runs, the results are in it as JSON."""

from collections.abc import Iterable
from html import escape

from ramphold.plain_text import visible
from ramphold.report import _document as model
from ramphold.report._document import Document
from ramphold.report._html_style import style
from ramphold.report._svg import svg

# A table of this many rows or fewer stays on one page. A longer one that did would leave a gap.
_WHOLE_ROWS = 5


def html(document: Document) -> str:
    """The text of the file."""
    title = f"{document.title}, {document.number}, {document.revision}"
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{_text(title)}</title>
<style>
{style(document)}
</style>
</head>
<body>
<main>
{html_sheet(document)}
</main>
<script type="application/json" id="results">
{_json(document.results)}
</script>
</body>
</html>
"""


def html_sheet(document: Document) -> str:
    """What the file shows, to stand within another page; `sheet_style` has its look."""
    sections = "\n".join(_section(number, section) for number, section in document.numbered())
    return f"{_cover(document)}\n{sections}"


def _json(text: str) -> str:
    """JSON within a page: data, which no reader runs and no text in it can end."""
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _text(text: str) -> str:
    return escape(visible(text))


def _cover(document: Document) -> str:
    head = document.headline
    lines = "\n".join(f"<li>{_text(line)}</li>" for line in head.lines)
    notices = "\n".join(map(_notice, document.notices))
    return f"""<header>
{_letterhead(document.letterhead)}
<div class="title">
<h1>{_text(document.title)}</h1>
<p class="number">{_text(document.number)}<br><span>{_text(document.revision)}, \
{_text(document.issued)}</span></p>
</div>
</header>
{notices}
<section class="cover">
<div class="result">
<p class="label">{_text(head.label)}</p>
<p class="value">{_text(head.value)}</p>
<ul>{lines}</ul>
</div>
{_facts(document.facts)}
</section>
<p class="note">{_text(document.caution)}</p>"""


def _letterhead(one: model.Letterhead) -> str:
    address = "<br>".join(map(_text, one.address))
    return f"""<div class="letterhead">
<p><strong>{_text(one.name)}</strong><br>{address}</p>
<p>{_text(one.accreditation)}</p>
</div>"""


def _section(number: str, section: model.ReportSection) -> str:
    blocks = "\n".join(map(_block, section.blocks))
    first = ' class="annex"' if number == "A1" else ""
    head = f"<h2><span>{number}</span> {_text(section.title)}</h2>"
    return f"<section{first}>\n{head}\n{blocks}\n</section>"


def _block(block: model.Block) -> str:  # noqa: PLR0911 - one for each kind
    match block:
        case model.Paragraph():
            return f"<p>{_text(block.text)}</p>"
        case model.Bullets():
            return "<ul>" + "".join(f"<li>{_text(item)}</li>" for item in block.items) + "</ul>"
        case model.Facts():
            return _facts(block)
        case model.Notice():
            return _notice(block)
        case model.Table():
            return _table(block)
        case model.Figure():
            caption = f"<figcaption>{_text(block.caption)}</figcaption>" if block.caption else ""
            return f"<figure>\n{svg(block.drawing, visible(block.name))}\n{caption}\n</figure>"
        case model.Group():
            blocks = "\n".join(map(_block, block.blocks))
            return f'<div class="group">\n<h3>{_text(block.title)}</h3>\n{blocks}\n</div>'


def _facts(facts: model.Facts) -> str:
    pairs = "\n".join(
        f"<div><dt>{_text(label)}</dt><dd>{_text(value)}</dd></div>" for label, value in facts.pairs
    )
    return f"<dl>\n{pairs}\n</dl>"


def _notice(notice: model.Notice) -> str:
    return (
        f'<aside class="notice {notice.tone}"><strong>{_text(notice.title)}</strong> '
        f"{_text(notice.text)}</aside>"
    )


def _table(table: model.Table) -> str:
    caption = f"<caption>{_text(table.caption)}</caption>" if table.caption else ""
    total = sum(column.weight for column in table.columns)
    widths = "".join(
        f'<col class="w{max(round(100 * column.weight / total), 1)}">' for column in table.columns
    )
    heads = "".join(f'<th scope="col"{_kind(one)}>{_text(one.head)}</th>' for one in table.columns)
    rows = "\n".join(_row(row, table.columns) for row in table.rows)
    note = f'<p class="note">{_text(table.note)}</p>' if table.note else ""
    whole = ' class="whole"' if len(table.rows) <= _WHOLE_ROWS else ""
    return (
        f"<table{whole}>\n{caption}\n<colgroup>{widths}</colgroup>\n<thead><tr>{heads}</tr></thead>\n"
        f"<tbody>\n{rows}\n</tbody>\n</table>\n{note}"
    )


def _row(row: model.TableRow, columns: Iterable[model.Column]) -> str:
    cells = "".join(
        f"<td{_kind(column, bad=at in row.bad)}>{_text(cell)}</td>"
        if at
        else f'<th scope="row"{_kind(column, bad=at in row.bad)}>{_text(cell)}</th>'
        for at, (column, cell) in enumerate(zip(columns, row.cells, strict=True))
    )
    return f'<tr class="{row.tone}">{cells}</tr>'


def _kind(column: model.Column, *, bad: bool = False) -> str:
    names = " ".join(name for name, is_so in (("num", column.numeric), ("bad", bad)) if is_so)
    return f' class="{names}"' if names else ""
