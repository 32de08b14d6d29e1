"""Results: the class of a sample, its fines by stress, and every run."""

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.events import Resize, ScreenResume

from ramphold.control import act, run_queries, sample_methods
from ramphold.control.sample_methods import SampleLine, SampleParams
from ramphold.errors import CommandRefused
from ramphold_tui.screens.past_run_screen import PastRunScreen
from ramphold_tui.screens.record_screen import RecordScreen
from ramphold_tui.view import keys, results_table
from ramphold_tui.view.elements import StyledLine, Tone
from ramphold_tui.view.press_alarms import first_lines
from ramphold_tui.view.results_table import ResultRow, ResultsView
from ramphold_tui.widgets import BigText, FinesPlot, Rows, TextBlock, WordLine, WrappedText
from ramphold_tui.workspace import Workspace

_MOST_SAMPLES, _MOST_RUNS = 50, 200
# Rows above and below figure and runs, and the fewest runs in sight.
_AROUND, _LEAST_RUNS = 12, 3


class ResultsScreen(RecordScreen, here=keys.RESULTS):
    """The results of a sample, at first of the one that is worked on, and the way to each run."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__(workspace)
        self._worked_on: int | None = None
        self._samples: tuple[SampleLine, ...] = ()
        self._first = True
        #: Number of the sample; None for all runs of the bench.
        self._sample: int | None = None
        self._view: ResultsView | None = None
        self._rows: tuple[ResultRow, ...] = ()

    def content(self) -> ComposeResult:
        """The class, the figure, the runs."""
        yield WordLine(id="title")
        with Horizontal(id="class-box"):
            yield BigText(id="class", classes="told")
            yield WrappedText(id="class-words", classes="told")
        yield FinesPlot(id="fines", classes="told")
        yield WordLine(results_table.HEADER, classes="header")
        yield Rows(id="runs", classes="told")
        yield WrappedText(id="because", classes="told")

    @on(ScreenResume)
    def follow_workspace(self) -> None:
        """Show the sample that is worked on, if it has changed since the last time."""
        if self.workspace.sample != self._worked_on:
            self._worked_on = self._sample = self.workspace.sample
            self.read_again()

    def on_resize(self, event: Resize) -> None:
        """Divide the height anew, and say of the class what there is room for."""
        del event
        self._share_height()
        self.call_after_refresh(self._show_words)

    # --- keys ----------------------------------------------------------------------------------

    def action_turn(self, key: str) -> None:
        """Show the sample before or after; all runs come after the oldest sample."""
        pages = [line.sample.sample for line in self._samples] + [None]
        place = pages.index(self._sample) if self._sample in pages else 0
        self._sample = pages[(place + (1 if key == "right" else -1)) % len(pages)]
        self.choose(0)
        self.read_again()

    def action_open_run(self) -> None:
        """Show the chosen run: its trace and its checks."""
        runs = tuple(row.run for row in self._rows if row.run is not None)
        row = self._row()
        if row is None or row.run is None:
            self.say("this specimen has no run yet", Tone.CAUTION)
            return
        self.app.push_screen(PastRunScreen(self.workspace, runs, runs.index(row.run)))

    def touched_again(self) -> None:
        """Open the touched run."""
        self.action_open_run()

    # --- inside --------------------------------------------------------------------------------

    async def fetch(self) -> None:
        """Read the samples, and the shown one or all runs."""
        page = act.PageParams(limit=_MOST_SAMPLES)
        self._samples = (await self.workspace.ask(sample_methods.SAMPLES, page)).samples
        if self._first and self._samples:
            self._first, self._sample = False, self._sample or self._samples[0].sample.sample
        if self._sample is None:
            runs = await self.workspace.ask(run_queries.RUNS, act.PageParams(limit=_MOST_RUNS))
            self._view = results_table.all_runs_view(runs.runs)
        else:
            self._view = await self._of_sample(self._sample)

    async def _of_sample(self, sample: int) -> ResultsView:
        wanted = SampleParams(sample=sample)
        record = (await self.workspace.ask(sample_methods.SAMPLE, wanted)).record
        try:
            ahead = await self.workspace.ask(sample_methods.NEXT_STRESS, wanted)
        except CommandRefused:
            ahead = None  # an edition without classes has none
        return results_table.results_view(record, ahead)

    def draw_records(self) -> None:
        """Show what was read last."""
        self.query_one("#title", WordLine).right = self._page()
        if (view := self._view) is None:
            return
        self.query_one("#title", WordLine).left = f"results  {view.title}"
        self.query_one("#class", BigText).text = view.crush_class
        self._show_words()
        self.query_one(FinesPlot).figure = view.figure
        self._rows = view.rows
        self.query_one(Rows).rows = tuple(row.text for row in view.rows)
        self._share_height()
        self.choose(self.query_one(Rows).place)

    def choose(self, row: int) -> None:
        """Choose a run, and show why it counts or does not."""
        super().choose(row)
        chosen = self._row()
        because = chosen.because if chosen else "no run yet"
        self.query_one("#because", TextBlock).lines = (StyledLine(because, Tone.FADED),)

    def _row(self) -> ResultRow | None:
        place = self.query_one(Rows).chosen
        return None if place is None else self._rows[place]

    def _page(self) -> str:
        if not self._samples:
            return "no sample yet"
        numbers = [line.sample.sample for line in self._samples]
        if self._sample not in numbers:
            return "Left Right: samples"
        return f"Left Right: {numbers.index(self._sample) + 1} of {len(numbers)}"

    def _show_words(self) -> None:
        block = self.query_one("#class-words", TextBlock)
        if self._view is not None:
            block.lines = first_lines(self._view.words, block.size.width, block.size.height)

    def _share_height(self) -> None:
        figure, plot = self.query_one(FinesPlot).figure, self.query_one(FinesPlot)
        stresses = len(figure.rows) if figure else 0
        room = self.size.height - _AROUND - _LEAST_RUNS
        roomy, tight = 2 * stresses + 1, stresses + 1
        height = roomy if roomy <= room * 2 // 3 else min(tight, room)
        plot.styles.height = max(0, height) if stresses else 0
