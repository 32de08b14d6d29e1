"""At the balance: the live mass, and what it is to fill, both in letters read from two metres."""

from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.timer import Timer

from ramphold.control import mass_methods
from ramphold.errors import RampholdError
from ramphold.sample import WeighingPlace as Weighed
from ramphold_tui.bindings import bindings
from ramphold_tui.screens.dialogs import MassDialog
from ramphold_tui.screens.parts_screen import PartsScreen
from ramphold_tui.screens.place_screen import CAUTION
from ramphold_tui.view import balance_pane, formats, keys, weighing_words, worksheet_parts
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.worksheet_parts import WorksheetPart
from ramphold_tui.widgets import BigText, KeyBar, MeterBar, PressStrip, Rows, WordLine
from ramphold_tui.workspace import Workspace

__all__ = ["BalanceScreen"]

_TOLD_S = 2.0


class BalanceScreen(PartsScreen):
    """The balance, and one key that keeps what it shows as what is to be weighed next."""

    HERE = keys.BALANCE
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(keys.BALANCE)]

    _answered: Timer | None = None

    def __init__(self, workspace: Workspace) -> None:
        super().__init__(workspace)
        self._present_g: float | None = None
        self._utc_ns = 0
        self._kept_g: float | None = None
        self._answer: tuple[str, Tone] | None = None

    def compose(self) -> ComposeResult:
        """The press in one line, the balance, what its mass fills, the parts still to do."""
        yield PressStrip()
        with Vertical(id="balance"):
            yield WordLine("balance g", id="mass-name")
            yield BigText(id="mass")
        with Vertical(id="filling", classes="told"):
            yield WordLine(id="fills")
            yield BigText(id="what")
            yield MeterBar(id="charge")
        yield WordLine(worksheet_parts.HEADER, id="weigh-header", classes="header")
        yield Rows(id="parts", classes="told")
        yield WordLine(CAUTION, id="said")
        yield KeyBar(keys.BALANCE)

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Say what is known now."""
        age_s = None if bench.mass_ns is None else (now_ns - bench.mass_ns) / 1e9
        digits, state = balance_pane.balance_view(bench.mass, age_s)
        mass, name = self.query_one("#mass", BigText), self.query_one("#mass-name", WordLine)
        said = [part for part in (state.word, state.detail) if part]
        mass.text, name.right = digits, "  ".join(said)
        mass.set_tone(state.tone)
        name.set_tone(state.tone)
        before_g, self._present_g = self._present_g, bench.mass.mass_g if bench.mass else None
        if self._kept_g is not None and before_g == self._kept_g != self._present_g:
            self._go_on()  # it was taken off: what comes next matters more
        self._utc_ns = bench.utc_ns(now_ns)
        self._show_fills()
        self._show_charge()

    def listed(self) -> tuple[WorksheetPart, ...]:
        """The parts with something to do, and the chosen one."""
        chosen = self.workspace.key
        return tuple(
            one for one in self.workspace.lines if one.step is not None or one.key == chosen
        )

    def draw_records(self) -> None:
        """The parts that go on, and what the mass fills."""
        rows, lines, line = self.query_one(Rows), self.listed(), self.workspace.line
        rows.rows = tuple(worksheet_parts.flat_row(one) for one in lines)
        rows.chosen = lines.index(line) if line in lines else None
        place = line.step.place if line is not None and line.step is not None else None
        word = "NOTHING" if place is None else weighing_words.big_words(place)
        tone = Tone.FADED if place is None else Tone.ACT
        if self._answer is not None:
            word, tone = self._answer
        what = self.query_one("#what", BigText)
        what.text = word
        what.set_tone(tone)
        self._show_fills()
        self._show_charge()

    def _show_fills(self) -> None:
        fills = self.query_one("#fills", WordLine)
        fills.left = balance_pane.fills(self.workspace.line, self._utc_ns)
        fills.right = (
            self.workspace.sheet.record.sample.laboratory_number if self.workspace.sheet else ""
        )

    def _show_charge(self) -> None:
        meter = self.query_one(MeterBar)
        meter.meter = balance_pane.charge_meter(self.workspace.line, self._present_g)
        meter.display = meter.meter != balance_pane.NO_CHARGE

    # --- keys ----------------------------------------------------------------------------------

    @work(exclusive=True, group="asking")
    async def action_capture(self) -> None:
        """Keep the mass on the balance as what is to be weighed next."""
        line, place = self.workspace.line, self._place()
        if line is None or place is None:
            self.say(balance_pane.fills(line), Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is not None:
            await self._weigh(line, place, operator)

    @work(exclusive=True, group="asking")
    async def action_by_hand(self) -> None:
        """Type a mass, or keep with a reason what was refused."""
        line, place = self.workspace.line, self._place()
        if line is None or place is None:
            self.say(balance_pane.fills(line), Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is None:
            return
        title = f"By hand: {worksheet_parts.weighed(line, place)}"
        why = "only to keep a mass that is refused without one"
        typed = await self.app.push_screen_wait(MassDialog(title, why, needed=False))
        if typed is None:
            self.say("nothing was kept")
            return
        await self._weigh(line, place, operator, mass_g=typed.mass_g, anyway=typed.reason)

    async def _weigh(
        self,
        line: WorksheetPart,
        place: Weighed,
        operator: str,
        *,
        mass_g: float | None = None,
        anyway: str | None = None,
    ) -> None:
        wanted = mass_methods.WeighParams(
            sample=None if place.specimen else self.workspace.sample,
            test=place.test,
            item=place.item,
            load=place.load,
            specimen=place.specimen,
            mass_g=mass_g,
            anyway=anyway,
            operator=operator,
        )
        try:
            kept = await self.workspace.ask(mass_methods.WEIGH, wanted)
        except RampholdError as error:
            self._kept_g = None
            self._answer_with("NOT KEPT", Tone.CAUTION)
            self.say(f"not kept: {error}", Tone.CAUTION)
            return
        self._kept_g = kept.mass_g
        self._answer_with("KEPT", Tone.CALM)
        name = worksheet_parts.weighed(line, place)
        self.say(f"kept: {formats.mass(kept.mass_g)} g as {name}")
        await self.read()

    def _place(self) -> Weighed | None:
        line = self.workspace.line
        return line.step.place if line is not None and line.step is not None else None

    def _answer_with(self, word: str, tone: Tone) -> None:
        """Say for a moment, where it is read from afar, how it went."""
        self._answer = (word, tone)
        if self._answered is not None:
            self._answered.stop()
        self._answered = self.set_timer(_TOLD_S, self._go_on)
        self.show_lines()

    def _go_on(self) -> None:
        self._answer = self._kept_g = None
        self.show_lines()
