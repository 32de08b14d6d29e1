"""One line of words, with an optional second part at the right."""

from textual.reactive import reactive

from ramphold_tui.widgets.drawn import Drawn


class WordLine(Drawn):
    """Text at the left and at the right; if both do not fit, the left one is cut."""

    left: reactive[str] = reactive("")
    right: reactive[str] = reactive("")

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
        """The line, in the first row."""
        if row:
            return []
        if self.styles.text_align == "center":
            return [(self.left.center(width), "")]
        right = f"  {self.right}" if self.right else ""
        room = max(0, width - len(right))
        return [(self.left[:room].ljust(room) + right, "")]
