"""Instruments: state, daily checks, the hands that the pacing knows, wear, the load's zero."""

from textual import work
from textual.app import ComposeResult
from textual.containers import VerticalScroll

from ramphold.control import act, bench_methods, hand_methods, instrument_methods
from ramphold.errors import RampholdError
from ramphold.sample import BenchRecord
from ramphold_tui.screens.question_dialog import QuestionDialog
from ramphold_tui.screens.record_screen import RecordScreen
from ramphold_tui.screens.zeroing import take_zero
from ramphold_tui.view import keys
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.hand_table import hand_lines, hand_name
from ramphold_tui.view.instrument_table import instruments_view
from ramphold_tui.view.trust_words import trust_lines, unusual_lines
from ramphold_tui.widgets import MeterList, TextBlock, WordLine
from ramphold_tui.workspace import Workspace

_EVERY_S = 1.0
_TAKE = "Take the load's zero now?"
_MEANING = (
    "The press must be released, with nothing on the load cell.\n"
    "Every load from now on is counted from this zero, and the zero is recorded."
)
_ANSWERS = {"take": "take the zero"}
_FORGET = (
    "Later runs of this hand on this press start like those of a new one.\n"
    "Runs that were made stay as they are, with what they started from."
)
#: Head, a hand, the new one and what is too coarse; with more, F shows all.
_LOW_HANDS = 4


class InstrumentsScreen(RecordScreen, here=keys.INSTRUMENTS):
    """Each instrument once a second, with its entries in the bench's book."""

    _book: BenchRecord | None = None

    def __init__(self, workspace: Workspace) -> None:
        super().__init__(workspace)
        self._utc_ns = 0
        self._hands: hand_methods.HandsKnown | None = None
        self._looking = False

    def content(self) -> ComposeResult:
        """Facts, checks, hands, wear."""
        yield WordLine("instruments", id="title")
        with VerticalScroll(id="all", can_focus=False):
            yield TextBlock(id="facts", classes="told")
            yield WordLine("daily checks", classes="header")
            yield TextBlock(id="daily", classes="told")
            yield WordLine("hands", "gain of a usual press ± sd", classes="header")
            yield TextBlock(id="hands", classes="told")
            yield WordLine("wear", classes="header")
            yield MeterList(id="wear", classes="told")
            yield WordLine("trust", classes="header")
            yield TextBlock(id="trust", classes="told")

    def on_mount(self) -> None:
        """Read the instruments again and again while they are in sight."""
        self.set_interval(_EVERY_S, self._look_again)

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Note the time, and show how far the bench can be trusted."""
        self._utc_ns = bench.utc_ns(now_ns)
        self.query_one("#trust", TextBlock).lines = trust_lines(bench.trust) + unusual_lines(bench)

    def action_scroll(self, key: str) -> None:
        """Show what stands above or below, where it does not all fit."""
        rows = 4 if key == "down" else -4
        self.query_one("#all").scroll_relative(y=rows, animate=False)

    @work(exclusive=True, group="asking")
    async def action_zero(self) -> None:
        """Take the load's zero, once the operator confirmed that nothing is on the cell."""
        if self.known.running:
            said = "zero not taken: a run is live, and keeps the zero that it began with"
            self.say(said, Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is None:
            return
        if await self.app.push_screen_wait(QuestionDialog(_TAKE, _MEANING, _ANSWERS)) is None:
            return
        await take_zero(self, operator)

    @work(exclusive=True, group="asking")
    async def action_forget(self) -> None:
        """Forget a hand, once the operator confirmed it."""
        known = self._hands.hands if self._hands else ()
        if not known:
            self.say("no hand is known yet: a complete run teaches the first")
            return
        if (operator := await self.workspace.operator()) is None:
            return
        chosen = await self.pick("Forget which hand?", [hand_name(one) for one in known])
        if chosen is None:
            return
        name = hand_name(known[chosen])
        question = QuestionDialog(f"Forget the hand of {name}?", _FORGET, {"forget": "forget it"})
        if await self.app.push_screen_wait(question) is None:
            return
        wanted = hand_methods.ForgetHandParams(
            operator=operator, hand=known[chosen].hand, press=known[chosen].press
        )
        if await self.do(hand_methods.FORGET_HAND, wanted, "not forgotten") is not None:
            self.say(f"forgotten: the hand of {name}")

    # --- inside --------------------------------------------------------------------------------

    async def fetch(self) -> None:
        """Read the bench's book, and the hands."""
        self._book = await self.workspace.ask(bench_methods.BENCH_RECORD, act.NoParams())
        self._hands = await self.workspace.ask(hand_methods.HANDS, act.NoParams())

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
        if not self.is_whole:
            return  # the screen was closed meanwhile
        view = instruments_view(found.instruments, self._book, self._utc_ns)
        hands = hand_lines(self._hands) if self._hands else ()
        if self.has_class("-low") and len(hands) > _LOW_HANDS:
            hands = hands[: _LOW_HANDS - 1]
        for name, lines in (("#facts", view.facts), ("#daily", view.checks), ("#hands", hands)):
            self.query_one(name, TextBlock).lines = lines
        self.query_one(MeterList).meters = view.wear
