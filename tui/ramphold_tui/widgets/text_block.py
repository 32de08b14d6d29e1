"""Lines of words, each with its own tone."""

from typing import ClassVar

from textual.geometry import Size
from textual.reactive import reactive

from ramphold_tui.view import formats
from ramphold_tui.view.elements import StyledLine, Tone
from ramphold_tui.widgets.drawn import Drawn


class TextBlock(Drawn):
    """Lines of words, of which a long one is wrapped in its last column."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"text-block--{tone}" for tone in Tone}

    lines: reactive[tuple[StyledLine, ...]] = reactive((), repaint=False)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One line."""
        rows = [(part, one.tone) for one in self.lines for part in self.rows_of(one.text, width)]
        return [(text, f"text-block--{tone}") for text, tone in rows[row : row + 1]]

    def rows_of(self, text: str, width: int) -> list[str]:
        """The rows of one line."""
        return formats.wrapped_row(text, width)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows as the words need, where the style sheet leaves the height to them."""
        del container, viewport
        return sum(len(self.rows_of(one.text, width)) for one in self.lines)

    def watch_lines(self, before: tuple[StyledLine, ...], now: tuple[StyledLine, ...]) -> None:
        """Paint the rows that changed, and ask for another height if the words need one."""
        width = self.size.width
        rows = [sum(len(self.rows_of(one.text, width)) for one in lines) for lines in (before, now)]
        if self.styles.is_auto_height and rows[0] != rows[1]:
            self.request_height()
        self.refresh_rows()


class WrappedText(TextBlock):
    """Lines of words without columns; a long one is wrapped between words."""

    def rows_of(self, text: str, width: int) -> list[str]:
        """The rows of one line; a number such as `12 566` stays in one."""
        return formats.wrapped(text, width)
