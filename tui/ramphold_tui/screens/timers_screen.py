"""Sieve timers: what is on the shaker and for how long, and what could go on next."""

from textual import work
from textual.app import ComposeResult

from ramphold.control import act, sample_methods, shaker_methods
from ramphold.sample import SampleState
from ramphold_tui.screens.record_screen import RecordScreen
from ramphold_tui.view import formats, keys, sieve_timers
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.widgets import BigText, MeterList, Rows, WordLine
from ramphold_tui.workspace import Workspace

# Older samples were shaken long ago.
_MOST_SAMPLES = 8
_OPEN = (SampleState.RECEIVED, SampleState.IN_TEST)


class TimersScreen(RecordScreen, here=keys.TIMERS):
    """Every timer as a bar, and the next to be done in large digits."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__(workspace)
        self._sieves: tuple[sieve_timers.SieveTimer, ...] = ()
        self._found: tuple[sieve_timers.WaitingForShaker, ...] = ()
        self._waiting: tuple[sieve_timers.WaitingForShaker, ...] = ()

    def content(self) -> ComposeResult:
        """The next timer in large digits, all as bars, and what waits."""
        yield WordLine("sieve timers", id="title")
        yield BigText(id="next-done")
        yield WordLine(id="next-label")
        yield MeterList(id="sieves", classes="told")
        yield WordLine("nothing waits for the shaker", id="header", classes="header")
        yield Rows(id="waiting", classes="told")

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Show the timers."""
        if bench.sieves != self._sieves:
            self._sieves = bench.sieves
            self.draw_records()
        head = sieve_timers.sieve_banner(bench.sieves, now_ns)
        big, label = self.query_one("#next-done", BigText), self.query_one("#next-label", WordLine)
        big.text, label.left = head.word, head.detail
        big.set_tone(head.tone)
        label.set_tone(head.tone)
        bars = self.query_one(MeterList)
        bars.meters = sieve_timers.sieve_meters(bench.sieves, now_ns)

    def pressed_again(self) -> None:
        """Start the chosen timer: it takes one key, pressed twice, from anywhere."""
        self.action_start_sieve()

    # --- keys ----------------------------------------------------------------------------------

    def action_go_on(self) -> None:
        """Start the chosen timer, or go on at the worksheet if nothing waits for the shaker."""
        if self._waiting:
            self.action_start_sieve()
        else:
            self.action_to_worksheet()

    @work(exclusive=True, group="asking")
    async def action_start_sieve(self) -> None:
        """Start the chosen timer; the shaker is running."""
        if not self._waiting:
            self.say("nothing waits for the shaker", Tone.CAUTION)
            return
        wanted = self._waiting[self.query_one(Rows).place]
        if (operator := await self.workspace.operator()) is None:
            return
        start = shaker_methods.StartShakingParams(
            sample=wanted.sample, specimen=wanted.specimen, operator=operator
        )
        if started := await self.do(shaker_methods.START_SHAKING, start, "timer not started"):
            self.say(f"timer started: {wanted.label}, {formats.clock(started.planned_s)}")

    @work(exclusive=True, group="asking")
    async def action_end_sieve(self) -> None:
        """Take off the stack that is done, or the next to be done."""
        if not self._sieves:
            self.say("nothing is on the shaker", Tone.CAUTION)
            return
        first = min(self._sieves, key=lambda one: one.end_ns)
        if (operator := await self.workspace.operator()) is None:
            return
        off = shaker_methods.EndShakingParams(shaking=first.shaking, operator=operator)
        if await self.do(shaker_methods.END_SHAKING, off, "not taken off"):
            self.say(f"taken off: {first.label}")

    # --- inside --------------------------------------------------------------------------------

    async def fetch(self) -> None:
        """Read what could go on the shaker."""
        ask, page = self.workspace.ask, act.PageParams(limit=_MOST_SAMPLES)
        found: list[sieve_timers.WaitingForShaker] = []
        for line in (await ask(sample_methods.SAMPLES, page)).samples:
            if line.state in _OPEN:
                wanted = sample_methods.SampleParams(sample=line.sample.sample or 0)
                found += sieve_timers.waiting_of_sample(await ask(sample_methods.SAMPLE, wanted))
        self._found = tuple(found)

    def draw_records(self) -> None:
        """Show what waits and is not on the shaker yet."""
        on = {one.specimen for one in self._sieves if one.specimen is not None}
        self._waiting = tuple(one for one in self._found if one.specimen not in on)
        head = "could go on the shaker now" if self._waiting else "nothing waits for the shaker"
        self.query_one("#header", WordLine).left = head
        self.query_one(Rows).rows = tuple(one.label for one in self._waiting)
        self.choose(self.query_one(Rows).place)
