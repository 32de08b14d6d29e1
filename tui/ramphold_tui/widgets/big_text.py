"""Digits and words that are read from two metres."""

from textual.reactive import reactive

from ramphold_tui.view.glyphs import LARGE_ROWS, ROWS, big, narrow, tall
from ramphold_tui.widgets.drawn import Drawn


class BigText(Drawn):
    """Text in letters five rows high, or ten if they fit, then tall or narrow ones.

    With the class `-second` the letters are smaller than those of the text beside it.
    """

    text: reactive[str] = reactive("", repaint=False)

    _drawn: tuple[object, tuple[str, ...]] = (None, ())
    _above = 0

    def watch_text(self) -> None:
        """Paint the rows of the letters that changed."""
        self.refresh_rows()

    def rows(self) -> tuple[str, ...]:
        """What is drawn, in the largest letters that fit."""
        key = (self.text, self.room, self.has_class("-second"), self.has_class("-alarm"))
        if self._drawn[0] != key:
            rows = self._largest()
            self._drawn, self._above = (key, rows), (self.room.height - len(rows)) // 2
        return self._drawn[1]

    def _largest(self) -> tuple[str, ...]:
        width, height = self.room
        # Dark letters on a bar of one colour need a column of it at each end.
        width -= 2 * self.has_class("-alarm")
        low, mark = height < LARGE_ROWS, self.marks.full
        second = self.has_class("-second")
        scales = () if low and second else (1,) if low or second else (2, 1)
        drawn = [big(self.text, mark, scale) for scale in scales]
        if scales == (2, 1):
            # A long word is no less urgent than a short one: as high, if not as wide.
            drawn.insert(1, tall(self.text, mark))
        for rows in (*drawn, narrow(self.text, mark)):
            if len(rows) <= height and len(rows[0]) <= width:
                return rows
        # Too long for the width: plain letters rather than cut ones.
        return ("", "", self.text, "", "")[:ROWS]

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """A row of the letters, centred vertically; the style sheet aligns them."""
        rows = self.rows()
        place = row - self._above
        text = rows[place] if 0 <= place < len(rows) else ""
        align = self.styles.text_align
        return [(text.center(width) if align == "center" else text, "")]
