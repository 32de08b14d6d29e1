"""Load and mark as a bar to keep short, with the next and the last seconds and the pace."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.view.pursuit_strip import PursuitStrip, pace_row, strip_row
from ramphold_tui.widgets.drawn import Drawn

_LEFT, _RIGHT = "behind ", " ahead"


class PursuitBar(Drawn):
    """A bar from the mark in the middle to the load: left is behind, right is ahead.

    A second row is the dial of pace. With more rows, those above the bar show what the mark does
    in the next seconds, and those below where the load was.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {"pursuit-bar--track", "pursuit-bar--line"}

    strip: reactive[PursuitStrip | None] = reactive(None, repaint=False)

    def watch_strip(self) -> None:
        """Paint the rows that changed."""
        self.refresh_rows()

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The dial in the last row, the bar in the middle of the others."""
        height = self.room.height
        if self.strip is not None and height > 1 and row == height - 1:
            return [(pace_row(self.strip, self.marks), "pursuit-bar--track")]
        away = row - (height - 1) // 2
        if away:
            text = strip_row(self.strip, away, self.marks) if self.strip is not None else ""
            return [(text, "pursuit-bar--line" if away < 0 else "pursuit-bar--track")]
        half = (width - 1) // 2
        left, right = self._sides(half)
        off = 0 if self.strip is None else self.strip.load - self.strip.mark
        # A load farther off leaves the word at the end to be read.
        length = min(abs(off), half - len(_LEFT if off < 0 else _RIGHT))
        block = self.marks.full
        if height == 1:
            # Right over the letters of the word, or in a small terminal right under the digits.
            under = self.screen.has_class("-small")
            block = self.marks.lower if under else self.marks.upper
        bar = (block * length, "")
        line = (self.marks.line, "pursuit-bar--line")
        if off < 0:
            pieces = [(left[: half - length], "pursuit-bar--track"), bar, line]
            return [*pieces, (right, "pursuit-bar--track")]
        return [(left, "pursuit-bar--track"), line, bar, (right[length:], "pursuit-bar--track")]

    def _sides(self, half: int) -> tuple[str, str]:
        """Left and right of the mark, with a scale mark half-way."""
        mark, dash = self.marks.line, self.marks.track
        left = _LEFT + dash * (half - half // 2 - 1 - len(_LEFT)) + mark + dash * (half // 2)
        right = dash * (half // 2) + mark + dash * (half - half // 2 - 1 - len(_RIGHT)) + _RIGHT
        return left, right
