"""The press in one line, on top of every screen but its own."""

from ramphold_tui.view import formats
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.press_pane import strip_view
from ramphold_tui.widgets.word_line import WordLine


class PressStrip(WordLine):
    """The state of the press, whole, and as much of its load or warning as there is room for."""

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Show the press."""
        self.left, self.right, tone = strip_view(bench, now_ns)
        self.set_tone(tone)

    def _lines(self, width: int) -> list[str]:
        room = width - len(self.left) - 2
        right = self.right
        if len(right) > room > 1:
            right = f"{formats.wrapped(right, room - 1)[0].rstrip(':,;')}…"
        return [f"{self.left}  {right.rjust(room)}"[:width].ljust(width)]
