"""Instruments: their state, the daily checks, wear, and the load's zero."""

from textual import work
from textual.app import ComposeResult

from ramphold.control import act, bench_methods, instrument_methods
from ramphold.errors import RampholdError
from ramphold.method.daily_check import CheckVerdict
from ramphold.sample import BenchRecord, DailyCheckMade
from ramphold_tui.screens.question_dialog import QuestionDialog
from ramphold_tui.screens.record_screen import RecordScreen
from ramphold_tui.view import keys
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.forms import reason_form
from ramphold_tui.view.instrument_table import instruments_view
from ramphold_tui.widgets import MeterList, TextBlock, WordLine
from ramphold_tui.workspace import Workspace

_EVERY_S = 1.0
_TAKE = "Take the load's zero now?"
_MEANING = (
    "The press must be released, with nothing on the load cell.\n"
    "Every load from now on is counted from this zero, and the zero is recorded."
)
_ANSWERS = {"take": "take the zero"}


class InstrumentsScreen(RecordScreen, here=keys.INSTRUMENTS):
    """Each instrument once a second, with its entries in the bench's book."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__(workspace)
        self._running, self._utc_ns = False, 0
        self._book: BenchRecord | None = None
        self._looking = False

    def content(self) -> ComposeResult:
        """Facts, checks, wear."""
        yield WordLine("instruments", id="title")
        yield TextBlock(id="facts", classes="told")
        yield WordLine("daily checks", classes="header")
        yield TextBlock(id="daily", classes="told")
        yield WordLine("wear", classes="header")
        yield MeterList(id="wear", classes="told")

    def on_mount(self) -> None:
        """Read the instruments again and again while they are in sight."""
        self.set_interval(_EVERY_S, self._look_again)

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Note the time, and whether a run is live."""
        self._running, self._utc_ns = bench.running, bench.utc_ns(now_ns)

    @work(exclusive=True, group="asking")
    async def action_zero(self) -> None:
        """Take the load's zero, once the operator confirmed that nothing is on the cell."""
        if self._running:
            said = "zero not taken: a run is live, and keeps the zero that it began with"
            self.say(said, Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is None:
            return
        if await self.app.push_screen_wait(QuestionDialog(_TAKE, _MEANING, _ANSWERS)) is None:
            return
        made = await self._take_zero(operator)
        if made is not None and made.verdict == CheckVerdict.FAILED:
            await self._insist(made, operator)
        elif made is not None:
            off = f"{made.off_pct:+.3f} % of the full range from the one before"
            self.say(f"zero taken: {off}")

    # --- inside --------------------------------------------------------------------------------

    async def _take_zero(self, operator: str, anyway: str | None = None) -> DailyCheckMade | None:
        wanted = bench_methods.ZeroLoadParams(operator=operator, anyway=anyway)
        return await self.do(bench_methods.ZERO_LOAD, wanted, "zero not taken")

    async def _insist(self, refused: DailyCheckMade, operator: str) -> None:
        """Offer to take a zero that is over its limit, with a reason."""
        moved = f"{refused.off_pct:+.3f} % of the full range, over its limit"
        title = f"NOT TAKEN: the zero moved by {moved}.\nTo take it all the same, give a reason."
        reason = await self.fill_in(reason_form(title))
        if reason is None:
            self.say(f"zero NOT taken: it moved by {moved}", Tone.CAUTION)
        elif (made := await self._take_zero(operator, reason)) is not None:
            # By now it may be within its limits again.
            over = "" if made.anyway is None else " over its limit"
            self.say(f"zero taken{over}: it reads {made.measured:.6g}")

    async def fetch(self) -> None:
        """Read the bench's book."""
        self._book = await self.workspace.ask(bench_methods.BENCH_RECORD, act.NoParams())

    def draw_records(self) -> None:
        """Read the instruments at once."""
        self._look_again()

    def _look_again(self) -> None:
        # While a slow answer is awaited, no second question is asked.
        if self.is_current and not self._looking:
            self._looking = True
            self.run_worker(self._look(), group="looking")

    async def _look(self) -> None:
        try:
            found = await self.workspace.ask(instrument_methods.INSTRUMENTS, act.NoParams())
        except RampholdError:
            return  # the link says so itself, and what was read last stays in sight
        finally:
            self._looking = False
        if self._book is None:
            return  # it is being read, and this is called again then
        view = instruments_view(found.instruments, self._book, self._utc_ns)
        for name, lines in (("#facts", view.facts), ("#daily", view.checks)):
            region = self.query_one(name, TextBlock)
            region.lines = lines
            region.styles.height = len(lines)
        self.query_one(MeterList).meters = view.wear
