"""What all places have in common: they are shown what is known, and say what was done."""

from typing import ClassVar

from textual.screen import Screen
from textual.timer import Timer

from ramphold_tui.messages import ScreenShown
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.sieve_timers import sieve_words
from ramphold_tui.widgets import WordLine

__all__ = ["CAUTION", "PlaceScreen"]

CAUTION = "Observes only: no guard, no load limiter. Your local rules come first."
_CAUTION_BRIEF = "Observes only: no guard, no load limiter."
_SAID_S = 12.0


class PlaceScreen(Screen[None]):
    """A screen that the operator works at; it has a line `#said`.

    Widgets of the class `told`, or in one, show what the daemon told, and are greyed while it is
    not heard.
    """

    #: What the table of keys calls it.
    HERE: ClassVar[str] = ""

    _quiet_again: Timer | None = None
    _sieve_words: str = ""

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Say what is known now, besides what is the same in every place."""

    def again(self) -> None:
        """Its own key was pressed in it."""

    def show_always(self, bench: BenchState, now_ns: int) -> None:
        """What is the same in every place: the sieve timers, and that all is old without a link."""
        self._sieve_words = sieve_words(bench.sieves, now_ns)
        self._put_sieves()
        for widget in self.query(".told, .told Drawn"):
            widget.set_class(bench.lost is not None, "-lost")

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
        self._put_sieves()

    def _put_sieves(self) -> None:
        """Beside what is said, unless that needs the room: an answer is never cut for a timer."""
        line = self.query_one("#said", WordLine)
        quiet = line.left in {CAUTION, _CAUTION_BRIEF}
        left = CAUTION if quiet else line.left
        room = line.size.width - len(left) - len(self._sieve_words)
        line.right = self._sieve_words if quiet or room > 1 else ""
        if quiet:
            line.left = CAUTION if room > 1 else _CAUTION_BRIEF
