"""The balance: the live mass and what it is for, in letters that are read from two metres."""

import asyncio

from msgspec import structs
from textual import work
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.timer import Timer

from ramphold.control import mass_methods
from ramphold.control.simulated_methods import LOAD_BALANCE, LoadBalanceParams, OnBalance
from ramphold.errors import RampholdError
from ramphold_tui.screens.parts_screen import PartsScreen
from ramphold_tui.view import balance_pane, formats, keys, worksheet_parts
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.forms import MassTyped, mass_form
from ramphold_tui.view.step_words import large_place, starts_run
from ramphold_tui.view.worksheet_parts import WorksheetPart
from ramphold_tui.widgets import BigText, MeterBar, Rows, WordLine
from ramphold_tui.workspace import Workspace

_ANSWERED_S = 2.0
_PINCHES = {"plus": OnBalance.MORE, "minus": OnBalance.LESS}
_SIMULATED = ("put_on", "pinch", "clear")


class BalanceScreen(PartsScreen, here=keys.BALANCE):
    """The balance, and one key that keeps its mass as the one asked for."""

    _answered: Timer | None = None

    def __init__(self, workspace: Workspace) -> None:
        super().__init__(workspace)
        self._present_g: float | None = None
        self._bench, self._now_ns = BenchState(), 0
        self._kept_g: float | None = None
        self._answer: tuple[str, Tone] | None = None
        self._loading = asyncio.Lock()  # while a simulated balance does not show its load yet

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only a simulated balance is loaded by keys."""
        del parameters
        return self.simulated or action not in _SIMULATED

    def content(self) -> ComposeResult:
        """The balance, what its mass is for, the parts still to do."""
        with Vertical(id="balance"):
            yield WordLine("balance g", id="mass-name")
            yield BigText(id="mass")
        with Vertical(id="filling", classes="told"):
            yield WordLine(id="fills")
            yield BigText(id="what")
            yield MeterBar(id="charge")
        yield WordLine(worksheet_parts.HEADER, id="weigh-header", classes="header")
        yield Rows(id="parts", classes="told")

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Show the mass."""
        age_s = None if bench.mass_ns is None else (now_ns - bench.mass_ns) / 1e9
        digits, state = balance_pane.balance_view(bench.mass, age_s)
        mass, name = self.query_one("#mass", BigText), self.query_one("#mass-name", WordLine)
        said = [part for part in (state.word, state.detail) if part]
        mass.text, name.right = digits, "  ".join(said)
        mass.set_tone(state.tone)
        name.set_tone(state.tone)
        before_g, self._present_g = self._present_g, bench.mass.mass_g if bench.mass else None
        if self._kept_g is not None and before_g == self._kept_g != self._present_g:
            self._go_on()  # it was taken off, so the next mass matters more
        self._bench, self._now_ns = bench, now_ns
        self._show_fills()

    def listed(self) -> tuple[WorksheetPart, ...]:
        """The parts that have a next step, and the chosen one."""
        parts, chosen = self.workspace.parts, self.workspace.key
        return tuple(one for one in parts if one.step is not None or one.key == chosen)

    def draw_records(self) -> None:
        """Show the parts still to do, and what the mass is for."""
        rows, parts, part = self.query_one(Rows), self.listed(), self.workspace.part
        rows.rows = tuple(worksheet_parts.flat_row(one) for one in parts)
        rows.chosen = parts.index(part) if part in parts else None
        place = self.workspace.place
        word = "NOTHING" if place is None else large_place(place)
        tone = Tone.FADED if place is None else Tone.ACT
        if self._answer is not None:
            word, tone = self._answer
        what = self.query_one("#what", BigText)
        what.text = word
        what.set_tone(tone)
        self._show_fills()

    def _show_fills(self) -> None:
        fills, sheet = self.query_one("#fills", WordLine), self.workspace.sheet
        part = self.workspace.part
        fills.left = balance_pane.enter_keeps(part, self._bench.sieves, self._now_ns)
        fills.right = sheet.record.sample.laboratory_number if sheet else ""
        meter = self.query_one(MeterBar)
        meter.meter = balance_pane.charge_meter(part, self._present_g)
        meter.display = meter.meter != balance_pane.NO_CHARGE

    # --- keys ----------------------------------------------------------------------------------

    @work(exclusive=True, group="asking")
    async def action_capture(self) -> None:
        """Keep the mass on the balance as the one asked for; with nothing to weigh, go on."""
        part = self.workspace.part
        if self.workspace.place is not None:
            async with self._loading:
                await self._weigh(by_hand=False)
        elif part is not None and starts_run(part.step):
            self.action_start_run()
        else:
            await self.go_on("worksheet")

    @work(exclusive=True, group="asking")
    async def action_by_hand(self) -> None:
        """Type a mass, or keep a refused one by giving a reason."""
        await self._weigh(by_hand=True)

    @work(exclusive=True, group="loading")
    async def action_put_on(self) -> None:
        """Put on the simulated balance what is asked for: a charge, a pan, what a sieve holds."""
        part, place = self.workspace.part, self.workspace.place
        if part is None or place is None:
            self.say(balance_pane.enter_keeps(part), Tone.CAUTION)
            return
        aim = part.step.charge if part.step is not None else None
        await self._load(
            LoadBalanceParams(
                act=OnBalance.PUT,
                **structs.asdict(place),
                target_g=None if aim is None else aim.target_g,
            )
        )

    @work(exclusive=True, group="loading")
    async def action_pinch(self, key: str) -> None:
        """Add a pinch to the simulated balance, or take it away."""
        await self._load(LoadBalanceParams(act=_PINCHES[key]))

    @work(exclusive=True, group="loading")
    async def action_clear(self) -> None:
        """Empty the simulated balance."""
        await self._load(LoadBalanceParams(act=OnBalance.CLEAR))

    async def _load(self, wanted: LoadBalanceParams) -> None:
        try:
            async with self._loading:
                loaded = await self.workspace.ask(LOAD_BALANCE, wanted)
        except RampholdError as error:
            self.say(f"the balance was not loaded: {error}", Tone.CAUTION)
            return
        self.say(f"{formats.mass(loaded.mass_g)} g on the simulated balance")

    async def _weigh(self, *, by_hand: bool) -> None:
        part, place = self.workspace.part, self.workspace.place
        if part is None or place is None:
            self.say(balance_pane.enter_keeps(part), Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is None:
            return
        name = worksheet_parts.weighed(part, place)
        typed: MassTyped | None = MassTyped(mass_g=None, reason=None)
        if by_hand:
            why = "only to keep a mass that is refused without one"
            typed = await self.fill_in(mass_form(f"By hand: {name}", why, needed=False))
        if typed is None:
            self.say("nothing was kept")
            return
        wanted = mass_methods.WeighParams(
            sample=None if place.specimen else self.workspace.sample,
            **structs.asdict(place),
            mass_g=typed.mass_g,
            anyway=typed.reason,
            operator=operator,
        )
        kept = await self.do(mass_methods.WEIGH, wanted, "not kept")
        self._kept_g = None if kept is None else kept.mass_g
        if kept is None:
            self._answer_with("NOT KEPT", Tone.CAUTION)
        else:
            self._answer_with("KEPT", Tone.CALM)
            self.say(f"kept: {formats.mass(kept.mass_g)} g as {name}")

    def _answer_with(self, word: str, tone: Tone) -> None:
        """Say the outcome for a moment, in letters that are read from afar."""
        self._answer = (word, tone)
        if self._answered is not None:
            self._answered.stop()
        self._answered = self.set_timer(_ANSWERED_S, self._go_on)
        self.show_records()

    def _go_on(self) -> None:
        self._answer = self._kept_g = None
        self.show_records()
