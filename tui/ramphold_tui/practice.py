"""The screen of an exercise: one run by the user's hand, closed when it has ended."""

from dataclasses import dataclass
from pathlib import Path

from ramphold.clock import Clock, SystemClock
from ramphold.core import ENDED
from ramphold_tui.app import RampholdApp, use_marks_of_terminal
from ramphold_tui.screens import GaugeScreen, PlaceScreen, PressScreen
from ramphold_tui.view.bench_state import Heard
from ramphold_tui.widgets import WordLine

# Long enough to read how the run ended.
_CLOSE_AFTER_S = 4.0
_ELSEWHERE = frozenset({"go", "find", "initials"})


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeLever:
    """What pulls the lever: its name, how it is used, and what it shows, in a row."""

    name: str
    use: str
    shows: str


class PracticeApp(RampholdApp):
    """The press alone: as on any screen, or as gauge and clock.

    Args:
        socket_path: where the daemon listens.
        clock: the time.
        cued: whether to show the cues.
        lever: what pulls the lever.
    """

    def __init__(
        self, socket_path: Path, clock: Clock, *, cued: bool, lever: PracticeLever
    ) -> None:
        super().__init__(socket_path, clock)
        kind = PressScreen if cued else GaugeScreen
        self._press = kind(self._link, self._history)
        self._press.levers, self._press.pull_words = (lever.name,), lever.use
        self._press.after_run = "the exercise goes on by itself, or says why not"
        self._shows = lever.shows
        self._began = self._run_over = False

    def _places(self) -> dict[str, PlaceScreen]:
        return {"press": self._press}

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """An exercise has no other place, and nobody in it to name."""
        return action not in _ELSEWHERE and super().check_action(action, parameters)

    def take_in(self, heard: Heard) -> None:
        """Take the lever as soon as there is a run, and close when it has ended."""
        super().take_in(heard)
        snapshot = self.bench.snapshot
        if snapshot is None or not self._press.is_whole:
            return
        if not self._began:
            self._began = True
            self._press.mount(WordLine(self._shows, id="lever"), before="#said")
            self._press.action_own_hand()
        elif snapshot.state in ENDED and not self._run_over:
            self._run_over = True
            self.set_timer(_CLOSE_AFTER_S, self.exit)


def make_practice_app(socket_path: Path, *, cued: bool, lever: PracticeLever) -> PracticeApp:
    """The screen of one run on the daemon that listens at `socket_path`."""
    use_marks_of_terminal()
    return PracticeApp(socket_path, SystemClock(), cued=cued, lever=lever)
