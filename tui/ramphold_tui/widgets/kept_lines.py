"""Widgets that keep the lines they have drawn until they are drawn anew."""

from typing import Self

from textual.containers import Horizontal, Vertical
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget


class KeptLines(Widget):
    """A widget that draws itself only if something of it changed.

    A paint asks every widget that stands between two changed ones for its lines, and Textual finds
    the colours of each widget and filters each of its lines before it looks what changed.
    """

    _kept: tuple[Region, list[Strip]] | None = None

    def refresh(
        self,
        *regions: Region,
        repaint: bool = True,
        layout: bool = False,
        recompose: bool = False,
    ) -> Self:
        """Draw regions anew, or all of it."""
        self._forget(whole=not regions)
        return super().refresh(*regions, repaint=repaint, layout=layout, recompose=recompose)

    def notify_style_update(self) -> None:
        """Take on other styles."""
        self._forget(whole=True)
        super().notify_style_update()

    def _forget(self, *, whole: bool) -> None:
        """Keep no line; nor, where all of it is drawn anew, anything else that was found for it."""
        del whole
        self._kept = None

    def render_lines(self, crop: Region) -> list[Strip]:
        """The lines of a region, as they were if nothing of them changed."""
        if self._kept is None or self._kept[0] != crop:
            self._kept = (crop, self._draw_lines(crop))
        return self._kept[1]

    def _draw_lines(self, crop: Region) -> list[Strip]:
        return super().render_lines(crop)


# The container first: Textual takes the style of the first base alone.
class SideBySide(Horizontal, KeptLines):
    """Widgets beside one another."""


class Stacked(Vertical, KeptLines):
    """Widgets one under the other."""
