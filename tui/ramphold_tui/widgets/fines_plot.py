"""Fines by stress against their limit."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.view.fines_chart import FinesChart, draw_fines
from ramphold_tui.widgets.drawn import Drawn


class FinesPlot(Drawn):
    """Stresses one under the other, fines to the right."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        f"fines-plot--{part}" for part in ("word", "over", "scale", "limit", "spread", "specimen")
    }

    figure: reactive[FinesChart | None] = reactive(None)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """A row of the figure."""
        if self.figure is None:
            return []
        rows = draw_fines(self.figure, width, self.size.height, self.marks)
        if row >= len(rows):
            return []
        return [(text, f"fines-plot--{part}" if part else "") for text, part in rows[row]]
