"""What all places but the press have in common: they are read anew when a record was added.

Everything is done by the daemon, which confirms or refuses; either is said in its own words.
"""

from typing import TypeVar

from msgspec import Struct
from textual import on
from textual.events import ScreenResume

from ramphold.control.act import Method
from ramphold.errors import RampholdError
from ramphold_tui.screens.place_screen import PlaceScreen
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.workspace import Workspace

__all__ = ["RecordScreen"]

P = TypeVar("P", bound=Struct)
R = TypeVar("R")


class RecordScreen(PlaceScreen):
    """A place that shows what was read of the daemon's records.

    Args:
        workspace: how the daemon is asked, and what was read of the samples.
    """

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.workspace = workspace
        self._read_at: int | None = None

    def show_always(self, bench: BenchState, now_ns: int) -> None:
        """Ask again where a record was added since."""
        super().show_always(bench, now_ns)
        if self.is_current and bench.lost is None and self._read_at != bench.news_of_records:
            self._read_at = bench.news_of_records
            self.read_again()

    @on(ScreenResume)
    def show_again(self) -> None:
        """Another place may have gone on."""
        self.show_lines()

    def show_lines(self) -> None:
        """Say what was read last, unless the screen has no widgets yet, or loses them."""
        if self.children and self.app.is_running:
            self.draw_records()

    def draw_records(self) -> None:
        """Say what was read last."""
        raise NotImplementedError

    async def fetch(self) -> None:
        """Ask for what is shown; raises as `DaemonLink.ask`."""
        raise NotImplementedError

    async def read(self) -> None:
        """Ask for what is shown, and show it."""
        try:
            await self.fetch()
        except RampholdError:
            return  # the link says so itself, and what was read last stays in sight
        self.show_lines()

    def read_again(self) -> None:
        """Have it read, giving up what is being read."""
        self.run_worker(self.read(), exclusive=True, group="reading")

    async def do(self, method: Method[P, R], params: P, refused: str = "not done") -> R | None:
        """Have the daemon do something; None where it does not, which is said with its reason."""
        try:
            done = await self.workspace.ask(method, params)
        except RampholdError as error:
            self.say(f"{refused}: {error}", Tone.CAUTION)
            return None
        await self.read()
        return done
