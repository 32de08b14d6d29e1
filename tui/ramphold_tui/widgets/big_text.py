"""Digits and words that are read from two metres."""

from textual.reactive import reactive

from ramphold_tui.view.glyphs import ROWS, big
from ramphold_tui.widgets.drawn import Drawn


class BigText(Drawn):
    """Text in letters five rows high, or ten if they fit."""

    text: reactive[str] = reactive("")

    def rows(self) -> tuple[str, ...]:
        """What is drawn, in the largest letters that fit."""
        for scale in (2, 1):
            rows = big(self.text, self.marks.full, scale)
            if len(rows) <= self.size.height and len(rows[0]) <= self.size.width:
                return rows
        # Too long for the width: plain letters rather than cut ones.
        return ("", "", self.text, "", "")[:ROWS]

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """A row of the letters, centred vertically; the style sheet aligns them."""
        rows = self.rows()
        place = row - (self.size.height - len(rows)) // 2
        text = rows[place] if 0 <= place < len(rows) else ""
        align = self.styles.text_align
        return [(text.center(width) if align == "center" else text, "")]
