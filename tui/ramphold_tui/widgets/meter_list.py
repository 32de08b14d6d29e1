"""Several bars, one under the other."""

from typing import ClassVar

from textual.geometry import Size
from textual.reactive import reactive

from ramphold_tui.view import formats
from ramphold_tui.view.elements import Meter, Tone
from ramphold_tui.widgets.drawn import Drawn

_LEAST_BAR = 6


class MeterList(Drawn):
    """A row for each meter: label, bar, text; the words are whole, and the bar takes the rest."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"meter-list--{name}" for name in ("quiet", *Tone)}

    meters: reactive[tuple[Meter, ...]] = reactive(())

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One line."""
        lines = self._lines(width)
        hidden = len(lines) - self.size.height
        if hidden > 0 and row == self.size.height - 1:
            return [(f"and {hidden + 1} more", "meter-list--quiet")]
        return lines[row] if row < len(lines) else []

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the meters need, where the style sheet leaves the height to them."""
        del container, viewport
        return max(1, len(self._lines(width)))

    def watch_meters(self) -> None:
        """Ask for another height if the meters need one."""
        if self.styles.is_auto_height and len(self._lines(self.size.width)) != self.size.height:
            self.request_height()

    def _lines(self, width: int) -> list[list[tuple[str, str]]]:
        label = 2 + max((len(one.label) for one in self.meters), default=0)
        texts = [one.flag + one.text for one in self.meters]
        words = 2 + max(map(len, texts), default=0)
        room = width - label - words
        if room < _LEAST_BAR:
            room = 0
        lines = []
        for meter, text in zip(self.meters, texts, strict=True):
            tone, filled = f"meter-list--{meter.tone}", round(meter.share * room)
            first, *others = formats.wrapped(text, width - label - (room + 2 if room else 0))
            bar = [
                (self.marks.full * filled, tone),
                (self.marks.track * (room - filled), "meter-list--quiet"),
                ("  ", tone),
            ]
            name = [(f"{meter.label:<{label}}", "meter-list--quiet")]
            lines.append([*name, *(bar if room else ()), (first, tone)])
            lines += [[(" " * label, "meter-list--quiet"), (other, tone)] for other in others]
        return lines
