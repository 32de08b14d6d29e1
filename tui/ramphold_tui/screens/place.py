"""What all places have in common: they are shown what is known, and say what was done."""

from textual.screen import Screen
from textual.timer import Timer

from ramphold_tui.bench import Bench
from ramphold_tui.messages import ScreenShown
from ramphold_tui.shown import Tone
from ramphold_tui.widgets import WordLine

__all__ = ["CAUTION", "Place"]

CAUTION = "Observes only: no guard, no load limiter. Your local rules come first."
_SAID_S = 12.0


class Place(Screen[None]):
    """A screen that the operator works at; it has a line `#said`."""

    _quiet_again: Timer | None = None

    def show(self, bench: Bench, now_ns: int) -> None:
        """Say what is known now."""
        raise NotImplementedError

    def on_screen_resume(self) -> None:
        """Ask what is known now."""
        self.post_message(ScreenShown())

    def say(self, text: str, tone: Tone = Tone.ACT) -> None:
        """Say what was done, or why not, for a while."""
        self._put(text, tone)
        if self._quiet_again is not None:
            self._quiet_again.stop()
        self._quiet_again = self.set_timer(_SAID_S, lambda: self._put(CAUTION, Tone.FADED))

    def _put(self, text: str, tone: Tone) -> None:
        line = self.query_one("#said", WordLine)
        line.left = text
        line.set_tone(tone)
