"""What samples, worksheet and balance have in common: the desk, and how the daemon is asked.

Everything is done by the daemon, which confirms or refuses; either is said in its own words.
"""

from typing import TypeVar

from msgspec import Struct
from textual import on
from textual.events import ScreenResume

from ramphold.control import sample_methods as samples
from ramphold.control.methods import Method
from ramphold.errors import RampholdError
from ramphold_tui.bench import Bench
from ramphold_tui.desk import Desk
from ramphold_tui.screens.place import Place
from ramphold_tui.screens.sample_dialogs import SampleDialog
from ramphold_tui.shown import Tone
from ramphold_tui.view import strip_view
from ramphold_tui.widgets import WordLine

__all__ = ["AtDesk"]

P = TypeVar("P", bound=Struct)
R = TypeVar("R")


class AtDesk(Place):
    """A place that shows what was read of the samples.

    Args:
        desk: what was read.
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self._read_at: int | None = None

    def show(self, bench: Bench, now_ns: int) -> None:
        """Say how the press is, and ask again where a record was added since."""
        strip = self.query_one(".strip", WordLine)
        strip.left, strip.right, tone = strip_view(bench, now_ns)
        strip.set_tone(tone)
        if self.is_current and bench.lost is None and self._read_at != bench.news_of_records:
            self._read_at = bench.news_of_records
            self.run_worker(self.read(), exclusive=True, group="reading")

    @on(ScreenResume)
    def show_again(self) -> None:
        """Another place may have gone on."""
        self.show_lines()

    def show_lines(self) -> None:
        """Say what was read last, unless the screen has no widgets yet, or any more."""
        if self.children:
            self.draw_desk()

    def draw_desk(self) -> None:
        """Say what was read last."""
        raise NotImplementedError

    async def read(self) -> None:
        """Read the sample anew, and show it."""
        try:
            await self.desk.read()
        except RampholdError:
            return  # the link says so itself, and what was read last stays in sight
        self.show_lines()

    async def do(self, method: Method[P, R], params: P, refused: str = "not done") -> R | None:
        """Have the daemon do something; None where it does not, which is said with its reason."""
        try:
            done = await self.desk.ask(method, params)
        except RampholdError as error:
            self.say(f"{refused}: {error}", Tone.CAUTION)
            return None
        await self.read()
        return done

    async def add_sample(self) -> None:
        """Ask for a sample that came in, and open it."""
        if (operator := await self.desk.operator()) is None:
            return
        dialog = SampleDialog(operator, self.desk.numbers, self.desk.draft)
        if (wanted := await self.app.push_screen_wait(dialog)) is None:
            self.say("not received yet: what was typed is kept, F7 goes on with it")
            return
        received = await self.do(samples.ADD_SAMPLE, wanted, "not received")
        if received is not None and received.sample is not None:
            self.desk.draft.clear()
            await self.open_sample(received.sample)
            self.say(f"received: {received.laboratory_number}")

    async def open_sample(self, number: int) -> None:
        """Work on a sample."""
        try:
            await self.desk.choose_sample(number)
        except RampholdError as error:
            self.say(f"not opened: {error}", Tone.CAUTION)
            return
        self.show_lines()
