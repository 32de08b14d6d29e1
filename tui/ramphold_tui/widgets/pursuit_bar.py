"""The difference between load and line, as a bar to keep short."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.widgets.drawn import Drawn

__all__ = ["PursuitBar"]

_LEFT, _RIGHT = " behind ", " ahead "


class PursuitBar(Drawn):
    """From the line in the middle to where the load is: left is behind, right is ahead."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"pursuit-bar--track", "pursuit-bar--line"}

    share: reactive[float | None] = reactive(None)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The track with its half marks, the line, and the bar over it."""
        marks, half = self.marks, (width - 1) // 2
        track = marks.track * half
        # The mark half-way is the edge of the hold's band.
        left = list(track[: half // 2] + marks.line + track[half // 2 + 1 :])
        right = left[::-1]
        if row == 0:
            left[: len(_LEFT)], right[-len(_RIGHT) :] = _LEFT, _RIGHT
        if self.share is None:
            return [("".join(left), "pursuit-bar--track"), (marks.line, "pursuit-bar--track"),
                    ("".join(right), "pursuit-bar--track")]  # fmt: skip
        length = round(abs(self.share) * half)
        middle = (marks.line, "pursuit-bar--line")
        if self.share < 0:
            kept = "".join(left[: half - length])
            return [(kept, "pursuit-bar--track"), (marks.full * length, ""), middle,
                    ("".join(right), "pursuit-bar--track")]  # fmt: skip
        kept = "".join(right[length:])
        return [("".join(left), "pursuit-bar--track"), middle, (marks.full * length, ""),
                (kept, "pursuit-bar--track")]  # fmt: skip
