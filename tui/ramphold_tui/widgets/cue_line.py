"""The detail of the cue, between two bars that shrink until it is due."""

from textual.reactive import reactive

from ramphold_tui.view.elements import Banner
from ramphold_tui.widgets.drawn import Drawn

_BLOCKS_PER_S = 4


class CueLine(Drawn):
    """The detail in the middle; the bars shrink towards it as time runs out."""

    banner: reactive[Banner | None] = reactive(None)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The one row."""
        if row or self.banner is None:
            return []
        text = self.banner.detail
        room = max(0, (width - len(text)) // 2 - 2)
        blocks = min(room, round((self.banner.due_s or 0.0) * _BLOCKS_PER_S))
        bar = self.marks.full * blocks
        return [(f"{bar} {text} {bar}".center(width) if bar else text.center(width), "")]
