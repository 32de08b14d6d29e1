"""Colours and type of the PDF report, as in the style sheet of the HTML."""

from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle

from ramphold.report._document import Emphasis

SOFT = HexColor("#5c6a71")
INK, DEEP, SAND = HexColor("#1d2930"), HexColor("#174a5c"), HexColor("#b9812c")
BAD, LINE, TINT = HexColor("#9d2f24"), HexColor("#cfd3d1"), HexColor("#f4f2ec")


def style(name: str, size: float, **more: Any) -> ParagraphStyle:  # noqa: ANN401 - the library's own
    """A style of a size in points; `more` as the library takes it."""
    options: dict[str, Any] = {
        "fontName": "Helvetica",
        "textColor": INK,
        "leading": size * 1.32,
    } | more
    return ParagraphStyle(name, fontSize=size, **options)


TEXT = style("text", 8.8, spaceAfter=4)
ITEM = style("item", 8.8, leftIndent=10, bulletIndent=2, spaceAfter=2)
H2 = style("h2", 12.5, fontName="Helvetica-Bold", textColor=DEEP, spaceBefore=16, spaceAfter=2)
H3 = style("h3", 9.6, fontName="Helvetica-Bold", textColor=DEEP, spaceBefore=9, spaceAfter=3)
CAPTION = style("caption", 8.8, fontName="Helvetica-Bold", spaceBefore=8, spaceAfter=2)
NOTE = style("note", 7.8, textColor=SOFT, spaceBefore=2, spaceAfter=5)
LABEL = style("label", 8.4, textColor=SOFT)
VALUE = style("value", 8.4)
ADDRESS = style("address", 8.2, textColor=SOFT)
ACCREDITATION = style("accreditation", 8.2, textColor=SOFT, alignment=TA_RIGHT)
TITLE = style("title", 21, fontName="Times-Roman", textColor=DEEP)
RESULT = style("result", 38, fontName="Times-Roman", textColor=DEEP, leading=44)
NUMBER = style("number", 9, textColor=SOFT, alignment=TA_RIGHT, leading=14)
CELLS = {
    (tone, numeric): style(
        f"cell-{tone}-{numeric}",
        7.6,
        leading=9.6,
        alignment=TA_RIGHT if numeric else 0,
        textColor={Emphasis.FAIL: BAD, Emphasis.FAINT: SOFT}.get(tone, INK),
        fontName="Helvetica-Bold" if tone is Emphasis.STRONG else "Helvetica",
    )
    for tone in Emphasis
    for numeric in (False, True)
}
