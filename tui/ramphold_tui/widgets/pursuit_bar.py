"""The difference between load and line, as a bar that the operator keeps short."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.widgets.drawn import Drawn

_LEFT, _RIGHT = "behind ", " ahead"


class PursuitBar(Drawn):
    """A bar from the line in the middle to the load: left is behind, right is ahead."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"pursuit-bar--track", "pursuit-bar--line"}

    share: reactive[float | None] = reactive(None)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The track in the middle row, line and bar in every row."""
        half = (width - 1) // 2
        left, right = self._sides(half, track=row == self.size.height // 2)
        length = round(abs(self.share or 0.0) * half)
        bar = (self.marks.full * length, "")
        line = (self.marks.line, "pursuit-bar--line")
        if self.share is not None and self.share < 0:
            pieces = [(left[: half - length], "pursuit-bar--track"), bar, line]
            return [*pieces, (right, "pursuit-bar--track")]
        return [(left, "pursuit-bar--track"), line, bar, (right[length:], "pursuit-bar--track")]

    def _sides(self, half: int, *, track: bool) -> tuple[str, str]:
        """Left and right of the line; the marks half-way are the edges of the band."""
        mark = self.marks.line
        if not track:
            left = " " * (half - half // 2 - 1) + mark + " " * (half // 2)
            return left, left[::-1]
        dash = self.marks.track
        left = _LEFT + dash * (half - half // 2 - 1 - len(_LEFT)) + mark + dash * (half // 2)
        right = dash * (half // 2) + mark + dash * (half - half // 2 - 1 - len(_RIGHT)) + _RIGHT
        return left, right
