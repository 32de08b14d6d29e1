"""One bar that fills towards a limit, with words."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.view.elements import Meter, Tone
from ramphold_tui.widgets.drawn import Drawn

_LABEL = 8
_BRIEF = 19
#: Where there is nothing to measure.
NO_METER = Meter(label="", share=0.0, text="", brief="", tone=Tone.FADED)


class MeterBar(Drawn):
    """Label, bar and brief text in one row; with two rows the full text stands under the bar."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"meter-bar--quiet"}

    meter: reactive[Meter] = reactive(NO_METER, repaint=False)

    def watch_meter(self, meter: Meter) -> None:
        """Take on the meter's tone, and paint the rows that changed."""
        self.set_tone(meter.tone)
        self.refresh_rows()

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The bar, then the text."""
        meter = self.meter
        if not meter.label:
            return []
        if row:
            return [(f"{'':<{_LABEL}}{meter.flag}{meter.text}", "")]
        low = self.room.height == 1
        words = f" {meter.flag}{meter.brief}"[:_BRIEF].ljust(_BRIEF) if low else ""
        room = width - _LABEL - len(words)
        filled = round(meter.share * room)
        return [
            (f"{meter.label:<{_LABEL}}", "meter-bar--quiet"),
            (self.marks.lower * filled, ""),
            (self.marks.track * (room - filled), "meter-bar--quiet"),
            (words, ""),
        ]
