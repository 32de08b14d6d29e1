"""The detail of the cue, between two bars that shrink until it is due."""

from textual.geometry import Size
from textual.reactive import reactive

from ramphold_tui.view import formats
from ramphold_tui.view.elements import Banner
from ramphold_tui.widgets.drawn import Drawn

_BLOCKS_PER_S = 4


class CueLine(Drawn):
    """The detail in the middle, wrapped; beside a single row bars shrink as time runs out."""

    banner: reactive[Banner | None] = reactive(None, repaint=False)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One row."""
        rows = self._rows(self.banner, width)
        if row >= len(rows) or self.banner is None:
            return []
        text = rows[row]
        room = max(0, (width - len(text)) // 2 - 2)
        blocks = min(room, round((self.banner.due_s or 0.0) * _BLOCKS_PER_S))
        bar = self.marks.lower * blocks if len(rows) == 1 else ""
        return [(f"{bar} {text} {bar}".center(width) if bar else text.center(width), "")]

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows as the detail needs."""
        del container, viewport
        return max(1, len(self._rows(self.banner, width)))

    def watch_banner(self, before: Banner | None, now: Banner | None) -> None:
        """Ask for another height if the words need one."""
        width = self.size.width
        if len(self._rows(before, width)) != len(self._rows(now, width)):
            self.request_height()
        self.refresh_rows()

    @staticmethod
    def _rows(banner: Banner | None, width: int) -> list[str]:
        return [] if banner is None else formats.wrapped(banner.detail, width)
