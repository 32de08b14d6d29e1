"""The style of the HTML report, on a screen and on Letter or A4 paper."""

from ramphold.plain_text import visible
from ramphold.report._document import Document
from ramphold.report._svg import STYLE

_SEAL = 16

_COLOURS = """--ink: #1d2930; --soft: #5c6a71; --deep: #174a5c; --sand: #b9812c; --mark: #80570f;
  --bad: #9d2f24; --line: #cfd3d1; --tint: #f4f2ec;"""
_TYPE = """color: var(--ink); background: #fff; font: 10pt/1.42 "Helvetica Neue", Helvetica, Arial,
  "Liberation Sans", "DejaVu Sans", sans-serif; -webkit-print-color-adjust: exact;
  print-color-adjust: exact;"""
# A page's policy may refuse a style that stands at an element, so widths have names.
_WIDTHS = "\n".join(f".w{percent} {{ width: {percent}%; }}" for percent in range(1, 101))
_SHEET = """
h1, h2, h3 { color: var(--deep); line-height: 1.2; break-after: avoid; }
h1, .value { font-family: Georgia, "Times New Roman", "Liberation Serif", "DejaVu Serif", serif; }
h1 { font-size: 21pt; font-weight: 400; margin: 0; }
h2 { font-size: 12.5pt; margin: 9mm 0 2.5mm; padding-bottom: 1.2mm;
  border-bottom: .6pt solid var(--deep); }
h2 span { display: inline-block; min-width: 6mm; color: var(--mark); }
h3 { font-size: 10pt; margin: 5mm 0 1.2mm; }
p { margin: 1.5mm 0; break-inside: avoid; }
section > p, li { font-size: 9pt; }
ul { margin: 1.5mm 0; padding-left: 4.5mm; }
li { margin: .6mm 0; }
.letterhead { display: flex; justify-content: space-between; gap: 8mm; margin: 0 0 3mm;
  color: var(--soft); font-size: 8.5pt; line-height: 1.35; }
.letterhead p { margin: 0; }
.letterhead p + p { max-width: 72mm; text-align: right; }
.letterhead strong { color: var(--ink); font-size: 10.5pt; letter-spacing: .02em; }
.title { display: flex; justify-content: space-between; align-items: flex-end; gap: 8mm;
  border-top: 2.4pt solid var(--deep); border-bottom: .6pt solid var(--deep);
  padding: 4mm 0 3mm; }
.number { margin: 0; text-align: right; font-size: 13pt; font-weight: 700; line-height: 1.25; }
.number span { font-size: 9pt; font-weight: 400; color: var(--soft); }
.cover { display: grid; grid-template-columns: 72mm 1fr; gap: 8mm; margin-top: 6mm; }
.result { background: var(--tint); border-left: 2.4pt solid var(--sand); padding: 4mm 5mm; }
.result p { margin: 0; }
.label { color: var(--soft); }
.value { font-size: 38pt; line-height: 1.15; color: var(--deep); }
.result ul { list-style: none; padding: 0; margin: 2mm 0 0; font-size: 9pt; }
.cover dl { columns: 1; align-self: center; }
dl { margin: 2mm 0; columns: 2; column-gap: 8mm; font-size: 9pt; }
dl div { display: grid; grid-template-columns: 33mm 1fr; gap: 3mm; padding: .9mm 0;
  border-bottom: .4pt solid var(--line); break-inside: avoid; }
dt { color: var(--soft); }
dd { margin: 0; }
.notice { border: .6pt solid var(--sand); border-left-width: 2.4pt; padding: 2mm 4mm;
  margin: 3mm 0; break-inside: avoid; }
.notice.fail { border-color: var(--bad); background: #fbeeec; }
.notice.fail strong { color: var(--bad); }
table { width: 100%; border-collapse: collapse; table-layout: fixed; margin: 4mm 0 1.2mm;
  font-size: 8pt; line-height: 1.3; font-variant-numeric: tabular-nums; }
caption { text-align: left; font-weight: 700; font-size: 9pt; padding-bottom: 1.2mm;
  break-after: avoid; }
thead { display: table-header-group; }
th { text-align: left; vertical-align: bottom; font-weight: 400; color: var(--soft);
  border-bottom: .6pt solid var(--deep); padding: .8mm 1mm; }
td { vertical-align: top; border-bottom: .4pt solid var(--line); padding: .8mm 1mm; }
th.num, td.num { text-align: right; }
.num + :not(.num) { padding-left: 3.5mm; }
.whole { break-inside: avoid; }
tr { break-inside: avoid; }
tbody th { color: inherit; vertical-align: top; border-bottom: .4pt solid var(--line); }
tr.fail td, tr.fail th, td.bad, tbody th.bad { color: var(--bad); }
tr.faint td, tr.faint th { color: var(--soft); }
tr.strong td, tr.strong th { font-weight: 700; }
.note, figcaption { color: var(--soft); font-size: 8pt; margin: 1mm 0 2mm; }
figure { margin: 4mm 0 2mm; break-inside: avoid; }
figcaption { break-before: avoid; }
svg { display: block; width: 100%; height: auto; font: 7.2px "Helvetica Neue", Helvetica, Arial,
  "Liberation Sans", "DejaVu Sans", sans-serif; }
svg polyline, svg polygon { stroke-linejoin: round; }
.group { break-inside: avoid; }
.group p { font-size: 8.5pt; }
.group figure { margin: 1.5mm 0; }
.group table { margin: 1mm 0; font-size: 7pt; }
@media screen and (max-width: 170mm) { .cover { grid-template-columns: 1fr; } dl { columns: 1; } }
"""
# On paper as small as in the PDF, so that two pages stand alone. A table breaks between its rows;
# its head stands again on the next page.
_PAPER = """
@media print {
html { font-size: 8pt; line-height: 1.32; }
h1 { font-size: 17pt; }
h2 { font-size: 11.5pt; margin: 5mm 0 1.6mm; padding-bottom: .8mm; }
h3 { font-size: 9pt; margin: 3mm 0 1mm; }
p, ul { margin: 1mm 0; }
section > p, li { font-size: 8pt; }
li { margin: .4mm 0; }
.letterhead { margin-bottom: 2mm; font-size: 7.5pt; }
.letterhead strong { font-size: 9.5pt; }
.title { padding: 2.5mm 0 2mm; }
.number { font-size: 12pt; }
.number span { font-size: 8pt; }
.cover { margin-top: 3mm; }
.result { padding: 3mm 5mm; }
.value { font-size: 34pt; }
.result ul { font-size: 7.6pt; }
dl { margin: 1.2mm 0; font-size: 7.5pt; }
dl div { padding: .5mm 0; }
.notice { padding: 1.4mm 4mm; margin: 2mm 0; }
table { margin: 2mm 0 1mm; font-size: 7pt; line-height: 1.25; }
caption { font-size: 8pt; padding-bottom: .8mm; }
th, td { padding: .45mm 1mm; }
.note, figcaption { font-size: 7pt; margin: .6mm 0 1.4mm; }
figure { margin: 2mm 0 1mm; }
.annex { break-before: page; }
thead, tbody tr:first-child { break-after: avoid; }
tbody tr:last-child, table + .note { break-before: avoid; }
thead { break-inside: avoid; }
}
"""
_PAGE = f"""
:root {{ {_COLOURS} }}
* {{ box-sizing: border-box; }}
html {{ {_TYPE} }}
body {{ margin: 0; }}
main {{ max-width: 186mm; margin: 0 auto; padding: 12mm 0; overflow-wrap: anywhere; }}
@media screen {{ html {{ background: #eceae4; }} main {{ background: #fff; max-width: 210mm;
  padding: 14mm 14mm 18mm; margin: 6mm auto; box-shadow: 0 0 3mm #0002; }} }}
@media screen and (max-width: 170mm) {{ main {{ padding: 6mm 4mm; margin: 0; }} }}
@media print {{ main {{ max-width: none; padding: 0; }} }}
"""


def sheet_style(around: str) -> str:
    """Style rules for a report within another page, below an element that a selector names."""
    own = f"{_COLOURS} {_TYPE} color-scheme: light; overflow-wrap: anywhere;"
    return f"{around} {{ {own}\n{_rules()} }}\n"


def _rules() -> str:
    return f"{_SHEET}{_PAPER}{_WIDTHS}\n{STYLE}"


def style(document: Document) -> str:
    """The style sheet, with number, revision and seal at the foot of each page."""
    foot = f"{document.number} · {document.revision} · record {document.seal[:_SEAL]}…"
    return f"""{_PAGE}{_rules()}
@page {{ margin: 15mm 15mm 17mm;
  @bottom-left {{ content: "{_css(foot)}"; font: 7.5pt Helvetica, Arial, "Liberation Sans",
    sans-serif; color: #5c6a71; white-space: nowrap; }}
  @bottom-right {{ content: "Page " counter(page) " of " counter(pages); font: 7.5pt Helvetica,
    Arial, "Liberation Sans", sans-serif; color: #5c6a71; white-space: nowrap; }} }}"""


def _css(text: str) -> str:
    """Text for a CSS string: all but ASCII letters and digits are escaped."""
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in visible(text))
