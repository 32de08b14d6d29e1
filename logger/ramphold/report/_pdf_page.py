"""Parts of a page of the PDF report: figures, and the foot of each page."""

from typing import Any

from reportlab.lib.colors import HexColor, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject
from reportlab.platypus import Flowable

from ramphold.plain_text import visible
from ramphold.report._drawing import (
    LOOKS,
    Anchor,
    Dot,
    Drawing,
    Ink,
    Point,
    Polygon,
    Polyline,
    Words,
)
from ramphold.report._pdf_attachment import attach
from ramphold.report._pdf_metadata import describe
from ramphold.report._pdf_styles import CHARACTERS, FONT, SOFT
from ramphold.report._pdf_tags import MarkedPages, Tag, drawing

#: Margins at the sides and below, in points.
MARGIN, BELOW = 48.0, 42.0
_WORDS_SIZE, _FOOT_SIZE = 6.4, 6.8


def printable(text: str) -> str:
    """Text in the characters of the fonts; others are shown by their code points."""
    text = visible(text)
    if CHARACTERS.issuperset(text):
        return text
    return "".join(
        one if one in CHARACTERS else f"‹U+{ord(one):04X}›"  # noqa: RUF001 - brackets
        for one in text
    )


class FootedCanvas(Canvas):
    """Keeps its pages until their number is known, and then writes the foot of each."""

    title, author, foot = "", "", ""
    root = Tag("Document")
    results = ""

    def __init__(self, *args: Any, **options: Any) -> None:  # noqa: ANN401 - the library's own
        super().__init__(*args, **options)
        self._held: list[dict[str, Any]] = []
        self.marks = MarkedPages()
        self.setViewerPreference("DisplayDocTitle", "true")

    def showPage(self) -> None:  # noqa: N802 - the library's name
        """Keep the page."""
        self._held.append(dict(self.__dict__))
        self.marks.next_page()
        self._startPage()  # type: ignore[attr-defined]

    def save(self) -> None:
        """Write the pages."""
        for number, page in enumerate(self._held, start=1):
            self.__dict__.update(page)
            self._write_foot(f"Page {number} of {len(self._held)}")
            super().showPage()
        document = self._doc  # type: ignore[attr-defined]
        self.marks.write(document, self.root, document.Pages.pages)
        describe(document, self.title, self.author)
        attach(document, "results.json", self.results, "The results of this report")
        super().save()

    def _write_foot(self, right: str) -> None:
        width, _ = self._pagesize  # type: ignore[attr-defined]
        with drawing(self, None):
            self.setFont(FONT, _FOOT_SIZE)
            self.setFillColor(SOFT)
            self.drawString(MARGIN, 28, self.foot)
            self.drawRightString(width - MARGIN, 28, right)


class DrawnFigure(Flowable):
    """A drawing as wide as the page allows; `words` describe it to who cannot see it."""

    def __init__(self, drawing: Drawing, words: str) -> None:
        super().__init__()
        self.words = words
        self.tag: Tag | None = None
        self._drawing = drawing
        self._scale = 1.0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Its width and height."""
        del available_height
        self._scale = available_width / self._drawing.width
        return available_width, self._drawing.height * self._scale

    def draw(self) -> None:
        """Draw it from back to front."""
        with drawing(self.canv, self.tag):
            self._draw_shapes()

    def _draw_shapes(self) -> None:
        canvas = self.canv
        canvas.scale(self._scale, self._scale)
        canvas.setLineJoin(1)
        for shape in self._drawing.shapes:
            canvas.saveState()
            match shape:
                case Polyline():
                    self._stroke(shape.ink)
                    canvas.drawPath(self._path(shape.points), stroke=1, fill=0)
                case Polygon():
                    canvas.setFillColor(HexColor(LOOKS[shape.ink].fill))
                    canvas.drawPath(self._path(shape.points), stroke=0, fill=1)
                case Dot():
                    self._stroke(shape.ink)
                    canvas.setFillColor(HexColor(LOOKS[shape.ink].fill))
                    canvas.circle(shape.x, self._up(shape.y), shape.radius, stroke=1, fill=1)
                case Words():
                    self._write(shape)
            canvas.restoreState()

    def _up(self, y: float) -> float:
        return self._drawing.height - y

    def _stroke(self, ink: Ink) -> None:
        look = LOOKS[ink]
        self.canv.setStrokeColor(HexColor(look.stroke))
        self.canv.setLineWidth(look.width)
        self.canv.setDash(list(look.dash))

    def _path(self, points: tuple[Point, ...]) -> PDFPathObject:
        path = self.canv.beginPath()
        for at, (x, y) in enumerate(points):
            (path.lineTo if at else path.moveTo)(round(x, 2), round(self._up(y), 2))
        return path

    def _write(self, words: Words) -> None:
        canvas = self.canv
        canvas.setFont(FONT, _WORDS_SIZE)
        canvas.setFillColor(HexColor(words.colour))
        canvas.translate(words.x, self._up(words.y))
        if words.upright:
            canvas.rotate(90)
        write = {
            Anchor.START: canvas.drawString,
            Anchor.MIDDLE: canvas.drawCentredString,
            Anchor.END: canvas.drawRightString,
        }[words.anchor]
        canvas.setStrokeColor(white)
        canvas.setLineWidth(1.8)
        text = printable(words.text)
        write(0, 0, text, mode=1)  # the outline separates it from what is behind
        write(0, 0, text, mode=0)
