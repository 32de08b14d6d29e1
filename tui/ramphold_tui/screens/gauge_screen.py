"""A gauge and a clock, as a press has them without this program: for an exercise without cues."""

from textual.app import ComposeResult
from textual.containers import Container

from ramphold_tui.screens.press_screen import PressScreen
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.practice_gauge import contact_ns, gauge_view
from ramphold_tui.widgets import BigText, WordLine


class GaugeScreen(PressScreen):
    """The load in lbf and the time since first contact; lever and valve as at the press."""

    _contact_ns: int | None = None

    def content(self) -> ComposeResult:
        """The task, the gauge, the clock."""
        yield WordLine(id="status")
        yield WordLine("load lbf", id="load-name")
        yield BigText(id="load")
        yield WordLine("clock, from first contact", id="clock-name")
        yield BigText(id="clock")
        yield Container()

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Show load and clock."""
        del now_ns  # the clock is the bench's
        self._contact_ns = contact_ns(bench, self._contact_ns)
        view = gauge_view(bench, self._contact_ns)
        self.query_one("#status", WordLine).left = view.task
        self.query_one("#load", BigText).text = view.load
        self.query_one("#clock", BigText).text = view.clock
