"""Several bars, one under the other."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.view.elements import Meter, Tone
from ramphold_tui.widgets.drawn import Drawn

_LEAST_BAR = 6


class MeterList(Drawn):
    """A row for each meter: label, bar, text; the bar takes the room that the words leave."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"meter-list--{name}" for name in ("quiet", *Tone)}

    meters: reactive[tuple[Meter, ...]] = reactive(())

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One bar."""
        if row >= len(self.meters):
            return []
        hidden = len(self.meters) - self.size.height
        if hidden > 0 and row == self.size.height - 1:
            return [(f"and {hidden + 1} more", "meter-list--quiet")]
        meter = self.meters[row]
        label = 2 + max(len(one.label) for one in self.meters)
        texts = [one.flag + one.text for one in self.meters]
        words = min(2 + max(map(len, texts)), max(0, width - label - _LEAST_BAR))
        room = max(0, width - label - words)
        filled = round(meter.share * room)
        tone = f"meter-list--{meter.tone}"
        return [
            (f"{meter.label:<{label}}", "meter-list--quiet"),
            (self.marks.full * filled, tone),
            (self.marks.track * (room - filled), "meter-list--quiet"),
            (f"  {texts[row]}"[:words].ljust(words), tone),
        ]
