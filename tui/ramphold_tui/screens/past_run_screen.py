"""A past run: its trace with line, band and ceiling, and its checks."""

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll

from ramphold.control import run_queries
from ramphold.errors import RampholdError
from ramphold_tui.screens.dialog import Dialog
from ramphold_tui.view.elements import StyledLine, Tone
from ramphold_tui.view.load_plot import past_hold_plot, past_run_plot
from ramphold_tui.view.past_run import run_rows, run_title
from ramphold_tui.widgets import PressStrip, TextBlock, TracePlot, WordLine
from ramphold_tui.workspace import Workspace

_NAMES = "raw load  dots: line  dashes: band, ceiling"


class PastRunScreen(Dialog[None]):
    """One of several runs; Up and Down show the others.

    Args:
        workspace: how the daemon is asked.
        runs: numbers of the runs.
        place: which of them is shown first.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "dismiss", "back"),
        Binding("up", "turn(-1)", "run before"),
        Binding("down", "turn(1)", "run after"),
        Binding("pageup", "scroll(-4)", "checks before"),
        Binding("pagedown", "scroll(4)", "checks after"),
    ]

    def __init__(self, workspace: Workspace, runs: Sequence[int], place: int) -> None:
        super().__init__()
        self._workspace, self._runs, self._place = workspace, tuple(runs), place

    def compose(self) -> ComposeResult:
        """The press in one line; the run fills the rest."""
        yield PressStrip()
        yield WordLine(id="run-title")
        with Horizontal(id="traces"):
            yield TracePlot(id="whole", classes="told")
            yield TracePlot(id="hold-near", classes="told")
        with VerticalScroll(id="all-checks", can_focus=False):
            yield TextBlock(id="checks")
        yield WordLine(right=_NAMES, id="run-keys")

    def on_mount(self) -> None:
        """Read the run."""
        self._read_again()

    def action_turn(self, step: int) -> None:
        """Show another run."""
        self._place = max(0, min(self._place + step, len(self._runs) - 1))
        self._read_again()

    def action_scroll(self, rows: int) -> None:
        """Show other checks, where they do not all fit."""
        self.query_one("#all-checks").scroll_relative(y=rows, animate=False)

    def _read_again(self) -> None:
        self.run_worker(self._read(self._runs[self._place]), exclusive=True, group="reading")

    async def _read(self, number: int) -> None:
        keys = f"Esc: back  Up Down: {self._place + 1} of {len(self._runs)}  PgUp PgDn: checks"
        self.query_one("#run-keys", WordLine).left = keys
        # All of them before the answer: the screen may be closed when it comes.
        title, checks = self.query_one("#run-title", WordLine), self.query_one("#checks", TextBlock)
        whole, hold = (self.query_one(name, TracePlot) for name in ("#whole", "#hold-near"))
        ask = self._workspace.ask
        try:
            detail = await ask(run_queries.RUN, run_queries.RunParams(run=number))
            trace = await ask(run_queries.TRACE, run_queries.TraceParams(run=number))
        except RampholdError as error:
            checks.lines = (StyledLine(f"not shown: {error}", Tone.CAUTION),)
            return
        said = run_title(detail.run, detail.specimen.label)
        title.left = said.text
        title.set_tone(said.tone)
        whole.plot = past_run_plot(trace)
        hold.plot = past_hold_plot(trace)
        checks.lines = run_rows(detail.run)
