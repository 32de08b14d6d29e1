"""A bar that fills towards a limit, with what is left in words."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.view import Gauge, Tone
from ramphold_tui.widgets.drawn import Drawn

__all__ = ["GaugeBar"]

_LABEL = 8
_NOTHING = Gauge(label="", share=0.0, text="", tone=Tone.FADED)
# Told apart by shape, not by colour alone.
_FLAGS = {Tone.CAUTION: "!", Tone.ALARM: "!!"}


class GaugeBar(Drawn):
    """Label, bar and text in one row, or the text under the bar where there are two."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"gauge-bar--label", "gauge-bar--track"}

    gauge: reactive[Gauge] = reactive(_NOTHING)

    def watch_gauge(self, gauge: Gauge) -> None:
        """Wear the gauge's tone."""
        self.set_tone(gauge.tone)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """The bar, then the text."""
        gauge = self.gauge
        flag = _FLAGS.get(gauge.tone, "")
        if row == 1:
            return [(" " * _LABEL + f"{flag} {gauge.text}".strip(), "")]
        room = width - _LABEL
        filled = round(gauge.share * room)
        return [
            (f"{gauge.label:<{_LABEL}}", "gauge-bar--label"),
            (self.marks.full * filled, ""),
            (self.marks.track * (room - filled), "gauge-bar--track"),
        ]
