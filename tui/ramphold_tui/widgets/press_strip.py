"""The press in one line, on top of every screen but its own."""

from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.press_pane import strip_view
from ramphold_tui.widgets.word_line import WordLine


class PressStrip(WordLine):
    """The state of the press, and its load."""

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Show the press."""
        self.left, self.right, tone = strip_view(bench, now_ns)
        self.set_tone(tone)
