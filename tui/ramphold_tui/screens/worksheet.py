"""The worksheet: the samples and where they stand."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Footer

from ramphold.control import sample_methods as methods
from ramphold.errors import RampholdError
from ramphold_tui import keys, worksheet
from ramphold_tui.bench import Bench
from ramphold_tui.bindings import bindings
from ramphold_tui.link import Link
from ramphold_tui.screens.place import CAUTION, Place
from ramphold_tui.view import strip_view
from ramphold_tui.widgets import Rows, WordLine

__all__ = ["WorksheetScreen"]


class WorksheetScreen(Place):
    """The samples, newest first.

    Args:
        link: how the daemon is asked.
    """

    HERE = keys.WORKSHEET
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(keys.WORKSHEET)]

    def __init__(self, link: Link) -> None:
        super().__init__()
        self._link = link
        self._read_at: int | None = None

    def compose(self) -> ComposeResult:
        """The press in one line, the samples."""
        yield WordLine(classes="strip")
        yield WordLine(worksheet.SAMPLES_HEADER, id="samples-header", classes="header")
        yield Rows(id="samples")
        yield WordLine(CAUTION, id="said")
        yield Footer(compact=True, show_command_palette=False)

    def show(self, bench: Bench, now_ns: int) -> None:
        """Say what is known now; ask again where a record was added since."""
        strip = self.query_one(".strip", WordLine)
        strip.left, strip.right, tone = strip_view(bench, now_ns)
        strip.set_tone(tone)
        if self.is_current and self._read_at != bench.news_of_records:
            self._read_at = bench.news_of_records
            self.run_worker(self._read(), exclusive=True, group="reading")

    async def _read(self) -> None:
        try:
            found = await self._link.ask(methods.SAMPLES, methods.PageOfSamples())
        except RampholdError:
            return  # the link says so itself, and what was read last stays in sight
        self.query_one(Rows).rows = tuple(worksheet.sample_row(line) for line in found.samples)
