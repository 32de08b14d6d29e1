"""When the screen paints: soon after news, seldom enough to be cheap, and for countdowns too."""

from collections.abc import Callable

from textual.app import App

from ramphold.clock import NS_PER_S, Clock

# Faster than the eye follows digits; readings in between are skipped. It is a little shorter than
# the time between ten readings a second, so that an early reading does not delay the next one.
_EVERY_S = 0.09
# Of readings that come faster the newest is shown this often: painting is what a screen costs.
_FAST_EVERY_S = 0.2
_FAST_NEWS = 2
# Ages and countdowns change without readings.
_IDLE_S = 0.5


class PaintTimes:
    """Has the screen painted when it is due.

    Args:
        app: whose timers are used.
        clock: the time.
        paint: paints what is known at a time on that clock.
    """

    def __init__(self, app: App[None], clock: Clock, paint: Callable[[int], None]) -> None:
        self._app, self._clock, self._paint = app, clock, paint
        self._painted_ns: int | None = None
        self._waits = False
        self._news = 0

    def start(self) -> None:
        """Paint from now on, also without news."""
        self._app.set_interval(_IDLE_S, self._idle)

    def add_news(self) -> None:
        """Note that there is something new, and paint it soon."""
        self._news += 1
        self.paint_soon()

    def paint_soon(self) -> None:
        """Paint at once, or as soon as the last paint is long enough ago."""
        if self._waits:
            return
        since_s = self._since_painted_s()
        if since_s >= _EVERY_S:
            self.paint()
        else:
            self._waits = True
            self._app.set_timer(_EVERY_S - since_s, self._due)

    def paint(self) -> None:
        """Paint now."""
        self._waits = False
        self._news = 0
        self._painted_ns = self._clock.now_ns()
        self._paint(self._painted_ns)

    def _due(self) -> None:
        if self._news > _FAST_NEWS:
            self._app.set_timer(_FAST_EVERY_S - _EVERY_S, self.paint)
        else:
            self.paint()

    def _idle(self) -> None:
        # Right after a paint it would only delay the next reading.
        if self._since_painted_s() >= _IDLE_S:
            self.paint()

    def _since_painted_s(self) -> float:
        if self._painted_ns is None:
            return _IDLE_S
        return (self._clock.now_ns() - self._painted_ns) / NS_PER_S
