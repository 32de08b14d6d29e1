"""A bar that fills towards a limit, with what is left in words."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.shown import Gauge, Tone
from ramphold_tui.widgets.drawn import Drawn

__all__ = ["GaugeBar"]

_LABEL = 8
_BRIEF = 19
_NOTHING = Gauge(label="", share=0.0, text="", brief="", tone=Tone.FADED)
# Told apart by shape, not by colour alone.
_FLAGS = {Tone.CAUTION: "! ", Tone.ALARM: "!! "}


class GaugeBar(Drawn):
    """Label, bar and a brief text in one row; the full text under the bar where there are two."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"gauge-bar--quiet"}

    gauge: reactive[Gauge] = reactive(_NOTHING)

    def watch_gauge(self, gauge: Gauge) -> None:
        """Wear the gauge's tone."""
        self.set_tone(gauge.tone)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The bar, then the text."""
        gauge = self.gauge
        flag = _FLAGS.get(gauge.tone, "")
        if row:
            return [(f"{'':<{_LABEL}}{flag}{gauge.text}", "")]
        low = self.size.height == 1
        words = f" {flag}{gauge.brief}"[:_BRIEF].ljust(_BRIEF) if low else ""
        room = width - _LABEL - len(words)
        filled = round(gauge.share * room)
        return [
            (f"{gauge.label:<{_LABEL}}", "gauge-bar--quiet"),
            (self.marks.full * filled, ""),
            (self.marks.track * (room - filled), "gauge-bar--quiet"),
            (words, ""),
        ]
