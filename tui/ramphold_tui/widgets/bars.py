"""Bars one under the other, each of which fills towards what it is named after."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.shown import Gauge, Tone
from ramphold_tui.widgets.drawn import Drawn

__all__ = ["Bars"]

_LEAST_BAR = 6
# Told apart by shape, not by colour alone.
_FLAGS = {Tone.CAUTION: "! ", Tone.ALARM: "!! "}


class Bars(Drawn):
    """A row a gauge: label, bar, text; the bar takes what the words leave."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "bars--quiet",
        "bars--calm",
        "bars--act",
        "bars--caution",
        "bars--alarm",
        "bars--faded",
    }

    gauges: reactive[tuple[Gauge, ...]] = reactive(())

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One bar."""
        if row >= len(self.gauges):
            return []
        hidden = len(self.gauges) - self.size.height
        if hidden > 0 and row == self.size.height - 1:
            return [(f"and {hidden + 1} more", "bars--quiet")]
        gauge = self.gauges[row]
        label = 2 + max(len(one.label) for one in self.gauges)
        texts = [_text(one) for one in self.gauges]
        words = min(2 + max(map(len, texts)), max(0, width - label - _LEAST_BAR))
        room = max(0, width - label - words)
        filled = round(gauge.share * room)
        tone = f"bars--{gauge.tone}"
        return [
            (f"{gauge.label:<{label}}", "bars--quiet"),
            (self.marks.full * filled, tone),
            (self.marks.track * (room - filled), "bars--quiet"),
            (f"  {texts[row]}"[:words].ljust(words), tone),
        ]


def _text(gauge: Gauge) -> str:
    return _FLAGS.get(gauge.tone, "") + gauge.text
