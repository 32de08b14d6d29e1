"""Colours and type of the PDF report, as in the style sheet of the HTML.

The type is the free one that comes with the library. It is embedded in the file, so what a reader
sees depends on no other computer's fonts.
"""

from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import registerFont, registerFontFamily
from reportlab.pdfbase.ttfonts import TTFont

from ramphold.report._document import Emphasis

#: The type, and its bold.
FONT, BOLD = "Vera", "VeraBd"
registerFont(TTFont(FONT, "Vera.ttf"))
registerFont(TTFont(BOLD, "VeraBd.ttf"))
registerFontFamily(FONT, normal=FONT, bold=BOLD, italic=FONT, boldItalic=BOLD)
#: Every character that both have.
CHARACTERS = frozenset(
    chr(code)
    for code in TTFont(FONT, "Vera.ttf").face.charToGlyph
    if code in TTFont(BOLD, "VeraBd.ttf").face.charToGlyph
)

SOFT = HexColor("#5c6a71")
INK, DEEP, SAND = HexColor("#1d2930"), HexColor("#174a5c"), HexColor("#b9812c")
BAD, LINE, TINT = HexColor("#9d2f24"), HexColor("#cfd3d1"), HexColor("#f4f2ec")


def style(
    name: str,
    size: float,
    role: str = "P",
    **more: Any,  # noqa: ANN401 - the library's own
) -> ParagraphStyle:
    """A style of a size in points; `role` is its tag, `more` as the library takes it."""
    options: dict[str, Any] = {
        "role": role,
        "fontName": FONT,
        "bulletFontName": FONT,
        "textColor": INK,
        "leading": size * 1.32,
    } | more
    return ParagraphStyle(name, fontSize=size, **options)


TEXT = style("text", 7.8, spaceAfter=4)
ITEM = style("item", 7.8, "LI", leftIndent=12, bulletIndent=2, spaceAfter=2)
H2 = style("h2", 11.2, "H2", fontName=BOLD, textColor=DEEP, spaceBefore=16, spaceAfter=2)
H3 = style("h3", 8.6, "H3", fontName=BOLD, textColor=DEEP, spaceBefore=9, spaceAfter=3)
CAPTION = style("caption", 7.8, fontName=BOLD, spaceBefore=8, spaceAfter=2)
NOTE = style("note", 7, textColor=SOFT, spaceBefore=2, spaceAfter=5)
LABEL = style("label", 7.4, textColor=SOFT)
VALUE = style("value", 7.4)
ADDRESS = style("address", 7.4, textColor=SOFT)
ACCREDITATION = style("accreditation", 7.4, textColor=SOFT, alignment=TA_RIGHT)
TITLE = style("title", 17, "H1", textColor=DEEP)
RESULT = style("result", 34, textColor=DEEP, leading=42)
NUMBER = style("number", 8, textColor=SOFT, alignment=TA_RIGHT, leading=14)
CELLS = {
    (tone, numeric): style(
        f"cell-{tone}-{numeric}",
        6.8,
        leading=9.2,
        alignment=TA_RIGHT if numeric else 0,
        textColor={Emphasis.FAIL: BAD, Emphasis.FAINT: SOFT}.get(tone, INK),
        fontName=BOLD if tone is Emphasis.STRONG else FONT,
    )
    for tone in Emphasis
    for numeric in (False, True)
}
