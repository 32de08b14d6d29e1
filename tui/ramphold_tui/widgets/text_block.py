"""Lines of words, each with its own tone."""

import re
from textwrap import wrap
from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.view.elements import StyledLine, Tone
from ramphold_tui.widgets.drawn import Drawn


class TextBlock(Drawn):
    """Lines of words; a long one is cut."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"text-block--{tone}" for tone in Tone}

    lines: reactive[tuple[StyledLine, ...]] = reactive(())

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One line."""
        rows = [(part, one.tone) for one in self.lines for part in self.rows_of(one.text, width)]
        return [(text, f"text-block--{tone}") for text, tone in rows[row : row + 1]]

    def rows_of(self, text: str, width: int) -> list[str]:
        """The rows of one line: itself, which is cut if it is too long."""
        del width
        return [text]


class WrappedText(TextBlock):
    """Lines of words; a long one is wrapped between words."""

    def rows_of(self, text: str, width: int) -> list[str]:
        """The rows of one line; a number such as `12 566` stays in one."""
        held = re.sub(r"(?<=\d) (?=\d{3}\b)", "\N{NO-BREAK SPACE}", text)
        return [row.replace("\N{NO-BREAK SPACE}", " ") for row in wrap(held, max(1, width))]
