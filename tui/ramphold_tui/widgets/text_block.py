"""Lines of words, each with its own tone."""

import re
from textwrap import wrap
from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.view.elements import StyledLine
from ramphold_tui.widgets.drawn import Drawn

__all__ = ["TextBlock"]


class TextBlock(Drawn):
    """Lines of words; a long one is cut, or wrapped if `wrapped`.

    Args:
        wrapped: whether a line may take more than one row.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "text-block--faded",
        "text-block--calm",
        "text-block--act",
        "text-block--caution",
        "text-block--alarm",
    }

    lines: reactive[tuple[StyledLine, ...]] = reactive(())

    def __init__(
        self,
        *,
        wrapped: bool = False,
        id: str | None = None,  # noqa: A002 - Textual's word
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._wrapped = wrapped

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One line."""
        if not self._wrapped:
            shown = [(line.text, line.tone) for line in self.lines]
        else:
            shown = [
                (part, line.tone) for line in self.lines for part in _wrapped(line.text, width)
            ]
        if row >= len(shown):
            return []
        text, tone = shown[row]
        return [(text, f"text-block--{tone}")]


def _wrapped(text: str, width: int) -> list[str]:
    """The text wrapped between words, but not inside a number such as `12 566`."""
    held = re.sub(r"(?<=\d) (?=\d{3}\b)", "\N{NO-BREAK SPACE}", text)
    return [part.replace("\N{NO-BREAK SPACE}", " ") for part in wrap(held, max(1, width))]
