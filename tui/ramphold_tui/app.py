"""The application: what it knows, when it paints, and which place is shown."""

import os
import sys
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import App
from textual.binding import BindingType

from ramphold.clock import NS_PER_S, Clock, SystemClock
from ramphold_tui.bench import Bench
from ramphold_tui.glyphs import marks_for
from ramphold_tui.keys import bindings
from ramphold_tui.link import Link
from ramphold_tui.messages import News
from ramphold_tui.screens import PressScreen
from ramphold_tui.theme import THEME
from ramphold_tui.widgets.drawn import Drawn

__all__ = ["RampholdApp", "make_app"]

# Faster than the eye follows digits; readings in between are passed over.
_PAINT_EVERY_S = 0.08
# Ages and countdowns go on without readings.
_IDLE_PAINT_S = 0.5
# Narrow and low is 80x24; the rest is for a screen of its own.
_WIDTHS = [(0, "-narrow"), (110, "-wide")]
_HEIGHTS = [(0, "-low"), (34, "-high")]


class RampholdApp(App[None]):
    """The screen beside the press. It may be closed, killed or cut off at any moment."""

    CSS_PATH = "app.tcss"
    TITLE = "Ramphold"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [*bindings()]

    def __init__(self, socket_path: Path, clock: Clock) -> None:
        super().__init__()
        self.HORIZONTAL_BREAKPOINTS, self.VERTICAL_BREAKPOINTS = _WIDTHS, _HEIGHTS
        self.bench = Bench()
        self.link = Link(socket_path, self.post_message)
        self._clock = clock
        self._painted_ns: int | None = None
        self._paint_waits = False

    def on_mount(self) -> None:
        """Link up, and paint."""
        self.register_theme(THEME)
        self.theme = THEME.name
        self.push_screen(PressScreen())
        self.run_worker(self.link.run(), name="link", exit_on_error=True)
        self.set_interval(_IDLE_PAINT_S, self._paint_soon)

    @on(News)
    def hear(self, news: News) -> None:
        """Learn what the daemon told, whatever it is."""
        self.bench = news.learn(self.bench, self._clock.now_ns())
        self._paint_soon()

    def _paint_soon(self) -> None:
        if self._paint_waits:
            return
        now_ns = self._clock.now_ns()
        since_s = (now_ns - self._painted_ns) / NS_PER_S if self._painted_ns is not None else 1.0
        if since_s >= _PAINT_EVERY_S:
            self._paint()
        else:
            self._paint_waits = True
            self.set_timer(_PAINT_EVERY_S - since_s, self._paint)

    def _paint(self) -> None:
        self._paint_waits = False
        self._painted_ns = self._clock.now_ns()
        if isinstance(self.screen, PressScreen) and self.screen.is_mounted:
            self.screen.show(self.bench, self._painted_ns)


def make_app(socket_path: Path, clock: Clock | None = None) -> RampholdApp:
    """The screen on the daemon that listens at `socket_path`; `run` or `run_async` shows it."""
    # Textual draws on stderr, so it is that stream's encoding that counts.
    stream = sys.__stderr__
    Drawn.marks = marks_for(os.environ.get("TERM", ""), stream.encoding if stream else "ascii")
    return RampholdApp(socket_path, clock or SystemClock())
