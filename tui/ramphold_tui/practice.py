"""The screen of an exercise: one run by the user's hand, closed when it has ended."""

from pathlib import Path

from textual import on

from ramphold.clock import Clock, SystemClock
from ramphold.core import ENDED
from ramphold_tui.app import RampholdApp, use_marks_of_terminal
from ramphold_tui.messages import News
from ramphold_tui.screens import GaugeScreen, PlaceScreen, PressScreen

# Long enough to read how the run ended.
_CLOSE_AFTER_S = 4.0


class PracticeApp(RampholdApp):
    """The press alone: as on any screen, or as gauge and clock.

    Args:
        socket_path: where the daemon listens.
        clock: the time.
        cued: whether to show the cues.
    """

    def __init__(self, socket_path: Path, clock: Clock, *, cued: bool) -> None:
        super().__init__(socket_path, clock)
        kind = PressScreen if cued else GaugeScreen
        self._press = kind(self._link, self._history)
        self._began = self._closing = False

    def _places(self) -> dict[str, PlaceScreen]:
        return {"press": self._press}

    def action_go(self, name: str) -> None:
        """Stay: an exercise has no other place."""

    @on(News)
    def follow(self) -> None:
        """Take the lever as soon as there is a run, and close when it has ended."""
        snapshot = self.bench.snapshot
        if snapshot is None:
            return
        if not self._began:
            self._began = True
            self._press.action_own_hand()
        elif snapshot.state in ENDED and not self._closing:
            self._closing = True
            self.set_timer(_CLOSE_AFTER_S, self.exit)


def make_practice_app(socket_path: Path, *, cued: bool) -> PracticeApp:
    """The screen of one run on the daemon that listens at `socket_path`."""
    use_marks_of_terminal()
    return PracticeApp(socket_path, SystemClock(), cued=cued)
