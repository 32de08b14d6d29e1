"""The press: load, cue, line, hold and limits, to be read with both hands on the lever."""

from textual import work
from textual.app import ComposeResult
from textual.events import Resize
from textual.geometry import Size

from ramphold.clock import NS_PER_S
from ramphold.control import run_methods
from ramphold.control.run_methods import PUMP, PumpAction, PumpParams
from ramphold.control.simulated_methods import CHOOSE_SAND, ChooseSandParams, SandQuality
from ramphold.core import Snapshot, Style
from ramphold.errors import RampholdError
from ramphold_tui.link import DaemonLink
from ramphold_tui.screens.choice_dialog import ChoiceDialog
from ramphold_tui.screens.place_screen import PlaceScreen
from ramphold_tui.view import keys
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import StyledLine, Tone
from ramphold_tui.view.load_history import LoadHistory
from ramphold_tui.view.load_plot import live_plot
from ramphold_tui.view.press_alarms import first_lines
from ramphold_tui.view.press_pane import PressView, press_view, status_view
from ramphold_tui.view.pursuit_strip import pursuit_strip
from ramphold_tui.widgets import (
    NO_METER,
    BigText,
    CueLine,
    Divider,
    MeterBar,
    PursuitBar,
    SideBySide,
    Stacked,
    TracePlot,
    WordLine,
    WrappedText,
)

# The trace changes slowly, and costs more to draw than all the rest.
_TRACE_EVERY_NS = NS_PER_S // 2


#: Below the first the numbers share no row, below the second the screen only says so.
_USUAL, _LEAST = Size(80, 24), Size(60, 20)
#: Rows of what stands beside the word, on a low screen and on others.
_BESIDE_LOW, _BESIDE = 2, 4
_UNITS = {"load": "lbf", "stress": "psi"}
_BY_HAND = ("own_hand", "pump", "open_valve")


class PressScreen(PlaceScreen, here=keys.PRESS):
    """The load against its line.

    Args:
        link: how the daemon is asked.
        history: the load since the ramp began.

    Attributes:
        levers: what may pull the lever of a simulated press: `key`, `wheel`.
        pull_words: how the lever is pulled.
        after_run: what follows a run, where that is no work at the bench.
    """

    levers: tuple[str, ...] = ("key", "wheel")
    pull_words = "hold Space to squeeze"
    after_run = ""

    def __init__(self, link: DaemonLink, history: LoadHistory) -> None:
        super().__init__()
        self._link, self._history = link, history
        self._traced_ns: int | None = None
        self._lbf_first = False
        self._own_hand = False

    def content(self) -> ComposeResult:
        """Rows from what is read first to what is read last."""
        yield WordLine(id="status")
        with SideBySide(id="digits"):
            with Stacked(id="stress-box"):
                yield WordLine("stress psi", id="stress-name")
                yield BigText(id="stress")
            yield Divider(id="digits-rule")
            with Stacked(id="load-box"):
                yield WordLine("load lbf", id="load-name")
                yield BigText(id="load")
        yield WordLine(id="deviation", classes="told")
        yield PursuitBar(id="pursuit", classes="told")
        yield BigText(id="cue")
        yield CueLine(id="cue-detail")
        yield WrappedText(id="next")
        yield WrappedText(id="beside")
        with SideBySide(id="below"):
            with Stacked(id="meters"):
                yield MeterBar(id="hold", classes="told")
                yield MeterBar(id="ceiling", classes="told")
                yield MeterBar(id="rating", classes="told")
            yield TracePlot(id="trace", classes="told")
        yield WordLine(id="too-small")

    def on_resize(self, event: Resize) -> None:
        """Show what a small terminal has room for, and of a smaller one the size it needs."""
        width, height = event.size
        self.set_class(width < _USUAL.width or height < _USUAL.height, "-small")
        self.set_class(width < _LEAST.width or height < _LEAST.height, "-tiny")

    def show(self, bench: BenchState, now_ns: int) -> None:
        """Show load, cue, line and limits."""
        view = press_view(bench, now_ns)
        status = self.query_one("#status", WordLine)
        status.left, status.right = status_view(bench)
        self._show_digits(view, bench.snapshot)
        cue, detail = self.query_one("#cue", BigText), self.query_one("#cue-detail", CueLine)
        cue.text, detail.banner = view.banner.word, view.banner
        cue.set_tone(view.banner.tone)
        detail.set_tone(view.banner.tone)
        meters = {meter.label: meter for meter in view.meters}
        for name in ("hold", "ceiling", "rating"):
            self.query_one(f"#{name}", MeterBar).meter = meters.get(name, NO_METER)
        ended = bench.snapshot is not None and not bench.running
        then = (ended and self.after_run) or view.banner.next
        following = f"next: {then}" if then else ""
        self.query_one("#next", WrappedText).lines = (StyledLine(following),)
        rows = _BESIDE_LOW if self.size.height < _USUAL.height + _BESIDE else _BESIDE
        beside = self.query_one("#beside", WrappedText)
        beside.lines = first_lines(view.beside, beside.size.width, rows)
        self.set_class(bool(view.beside), "-crowded")
        if self.has_class("-tiny"):
            self.query_one("#too-small", WordLine).left = self._too_small(view)
        self.set_class(view.waiting, "-waiting")
        self.set_class(not view.deviation, "-no-line")
        if self._traced_ns is None or now_ns - self._traced_ns >= _TRACE_EVERY_NS:
            self._traced_ns = now_ns
            self.query_one(TracePlot).plot = live_plot(bench, self._history.points())

    async def action_go_on(self) -> None:
        """Go on with the next step of the specimen; stay while its run is followed."""
        if self.known.running:
            self.say("the run is followed to its end: F9 ends its record, not the press")
        elif self.app.is_screen_installed("worksheet"):
            await self.app.run_action("app.go('worksheet')")

    @work(exclusive=True)
    async def action_change_style(self) -> None:
        """Pace in the other style from now on."""
        other = Style.SQUEEZE if self._paced_in_strokes else Style.STROKES
        try:
            await self._link.ask(
                run_methods.CHOOSE_STYLE, run_methods.ChooseStyleParams(style=other)
            )
        except RampholdError as error:
            self.say(f"style not changed: {error}", Tone.CAUTION)
            return
        self.say(f"paced in style {other} from now on")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A real press has only its own lever and valve."""
        del parameters
        if action == "go_on":
            return not self.after_run
        if action == "choose_sand":
            return self.simulated
        if action in _BY_HAND:
            led = self._own_hand and (action != "pump" or "key" in self.levers)
            return self.simulated and (led or action == "own_hand")
        return True

    @work(exclusive=True, group="hand")
    async def action_own_hand(self) -> None:
        """Take the lever of the simulated press, or leave it to its operator."""
        if not await self._by_hand(PumpAction.LEAVE if self._own_hand else PumpAction.TAKE):
            return
        if self._own_hand:
            self.say(f"the lever is in your hand: {self.pull_words}; V opens the valve")
        else:
            self.say("the lever is in the hand of the simulated operator")

    @work(exclusive=True, group="hand")
    async def action_pump(self) -> None:
        """Pull on for a moment, or make a stroke, as the run is paced."""
        act = PumpAction.STROKE if self._paced_in_strokes else PumpAction.SQUEEZE
        await self._by_hand(act)

    def on_mouse_scroll_up(self) -> None:
        """Pull a little further for each notch of a wheel, with the lever in hand."""
        if self._own_hand and "wheel" in self.levers:
            self.run_worker(self._by_hand(PumpAction.SLIP), group="wheel")

    @work(exclusive=True, group="hand")
    async def action_open_valve(self) -> None:
        """Let the load go."""
        await self._by_hand(PumpAction.RELEASE)

    @work(exclusive=True, group="sand")
    async def action_choose_sand(self) -> None:
        """Choose the sand that the next cell of the simulated press holds."""
        there = tuple(SandQuality)
        dialog = ChoiceDialog("Which sand does the next cell hold?", there)
        if (chosen := await self.app.push_screen_wait(dialog)) is None:
            return
        try:
            found = await self._link.ask(CHOOSE_SAND, ChooseSandParams(quality=there[chosen]))
        except RampholdError as error:
            self.say(f"the sand stays: {error}", Tone.CAUTION)
            return
        self.say(f"{found.quality} sand: {found.ten_pct_psi:.0f} psi crush a tenth of it")

    @property
    def _paced_in_strokes(self) -> bool:
        snapshot = self.known.snapshot
        return snapshot is not None and snapshot.style is Style.STROKES

    async def _by_hand(self, act: PumpAction) -> bool:
        try:
            own = (await self._link.ask(PUMP, PumpParams(act=act))).own
        except RampholdError as error:
            self.say(f"not pumped: {error}", Tone.CAUTION)
            return False
        if own != self._own_hand:
            self._own_hand = own
            self.show_keys()
        return True

    def _show_digits(self, view: PressView, snapshot: Snapshot | None) -> None:
        first, second = (view.load, view.stress)[:: 1 if view.lbf_first else -1]
        names = ("load", "stress")[:: 1 if view.lbf_first else -1]
        for name, text in zip(names, (first, second), strict=True):
            digits = self.query_one(f"#{name}", BigText)
            digits.text = text
            digits.set_tone(view.tone)
            digits.set_class(name == names[1], "-second")
            self.query_one(f"#{name}-box").set_class(name == names[1], "-second")
        if view.lbf_first != self._lbf_first:
            self._lbf_first = view.lbf_first
            first_box, rule = self.query_one(f"#{names[0]}-box"), self.query_one(Divider)
            self.query_one("#digits").move_child(first_box, before=0)
            self.query_one("#digits").move_child(rule, after=first_box)
        # With room for one number alone the other stands beside its name, in small letters.
        beside = f"{second} {_UNITS[names[1]]}" if self.has_class("-small") else ""
        title = self.query_one(f"#{names[0]}-name", WordLine)
        title.right = "  ".join(part for part in (beside, view.caption) if part)
        # The seconds of a hold stand where its large digits would: they must not seem to be it.
        without_digits = view.waiting and self.has_class("-small")
        what = f"{first} {_UNITS[names[0]]}" if without_digits else ""
        title.left = what or f"{names[0]} {_UNITS[names[0]]}"
        self.query_one(f"#{names[1]}-name", WordLine).right = ""
        deviation = self.query_one("#deviation", WordLine)
        # The bar under it is about the moment at which the hand answers.
        now = f"now {view.deviation}" if view.deviation else ""
        deviation.left = "   ".join(part for part in (now, view.rate) if part)
        deviation.right = view.line
        bar = self.query_one(PursuitBar)
        # Its own width is nothing while it is hidden.
        bar.strip = pursuit_strip(
            snapshot if view.deviation else None,
            self.size.width - 2 * bar.styles.margin.left,
            rests=view.rests,
        )

    def _too_small(self, view: PressView) -> str:
        size = f"{self.size.width}x{self.size.height}"
        need = f"{_LEAST.width}x{_LEAST.height} needed, this is {size}"
        return f"{need}: {view.banner.word}, {view.load} lbf"
