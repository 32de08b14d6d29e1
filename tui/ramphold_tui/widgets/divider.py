"""A line between two numbers."""

from ramphold_tui.widgets.drawn import Drawn


class Divider(Drawn):
    """A vertical line as high as there is room."""

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The line in the middle of each row."""
        del row
        return [(self.marks.line.center(width), "")]
