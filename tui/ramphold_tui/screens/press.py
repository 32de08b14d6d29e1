"""At the press: load, cue, line, hold and margins, read with both hands on the lever."""

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen

from ramphold_tui.bench import Bench
from ramphold_tui.view import PressView, press_view, status_view
from ramphold_tui.widgets import BigText, GaugeBar, PursuitBar, WordLine

__all__ = ["PressScreen"]

CAUTION = "Observes only: no guard, no load limiter. Your local rules come first."


class PressScreen(Screen[None]):
    """The load against its line."""

    def compose(self) -> ComposeResult:
        """Rows from what is read first to what is read last."""
        yield WordLine(id="status")
        with Horizontal(id="digits"):
            with Vertical(id="load-box"):
                yield WordLine("load lbf", id="load-name")
                yield BigText(id="load")
            with Vertical(id="stress-box"):
                yield WordLine("stress psi", id="stress-name")
                yield BigText(id="stress")
        yield WordLine(id="deviation")
        yield PursuitBar(id="pursuit")
        yield BigText(id="cue")
        yield WordLine(id="cue-detail")
        with Vertical(id="gauges"):
            yield GaugeBar(id="hold")
            yield GaugeBar(id="ceiling")
            yield GaugeBar(id="rating")
        yield WordLine(CAUTION, id="caution")

    def show(self, bench: Bench, now_ns: int) -> None:
        """Say what is known now."""
        view = press_view(bench, now_ns)
        status = self.query_one("#status", WordLine)
        status.left, status.right = status_view(bench)
        self._show_digits(view)
        cue, detail = self.query_one("#cue", BigText), self.query_one("#cue-detail", WordLine)
        cue.text, detail.left = view.headline.word, view.headline.detail
        cue.set_tone(view.headline.tone)
        detail.set_tone(view.headline.tone)
        for gauge in view.gauges:
            self.query_one(f"#{gauge.label}", GaugeBar).gauge = gauge

    def _show_digits(self, view: PressView) -> None:
        for name, text in (("load", view.load), ("stress", view.stress)):
            digits = self.query_one(f"#{name}", BigText)
            digits.text = text
            digits.set_tone(view.tone)
        self.query_one("#load-name", WordLine).right = view.caption
        deviation = self.query_one("#deviation", WordLine)
        deviation.left = "   ".join(part for part in (view.deviation, view.rate) if part)
        deviation.right = view.line
        self.query_one("#pursuit", PursuitBar).share = view.pursuit
