"""Words at the left and at the right: one line, or as many as they need."""

from textual.geometry import Size
from textual.reactive import reactive

from ramphold_tui.view import formats
from ramphold_tui.widgets.drawn import Drawn


class WordLine(Drawn):
    """Text at the left and at the right of a line.

    Where the style sheet leaves the height to the words, they are wrapped; otherwise the left
    text is cut if both do not fit.
    """

    left: reactive[str] = reactive("", repaint=False)
    right: reactive[str] = reactive("", repaint=False)

    def __init__(
        self,
        left: str = "",
        right: str = "",
        *,
        id: str | None = None,  # noqa: A002 - Textual's word
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self.set_reactive(WordLine.left, left)
        self.set_reactive(WordLine.right, right)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One line."""
        return [(line, "") for line in self._lines(width)[row : row + 1]]

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the words need."""
        del container, viewport
        return len(self._lines(width))

    def watch_left(self) -> None:
        """Paint the rows that changed, and ask for another height if the words need one."""
        self._fit()

    def watch_right(self) -> None:
        """Paint the rows that changed, and ask for another height if the words need one."""
        self._fit()

    def _fit(self) -> None:
        if self.styles.is_auto_height and len(self._lines(self.size.width)) != self.size.height:
            self.request_height()
        self.refresh_rows()

    def _lines(self, width: int) -> list[str]:
        centred = self.styles.text_align == "center"
        right = f"  {self.right}" if self.right else ""
        if len(self.left) + len(right) <= width or not self.styles.is_auto_height:
            room = max(0, width - len(right))
            return [self.left.center(width) if centred else self.left[:room].ljust(room) + right]
        rows = formats.wrapped(self.left, width)
        if right and rows and len(rows[-1]) + len(right) <= width:
            rows[-1] = rows[-1].ljust(width - len(right)) + right
        else:
            rows += [one.rjust(width) for one in formats.wrapped(self.right, width)]
        return [one.center(width) for one in rows] if centred else rows
