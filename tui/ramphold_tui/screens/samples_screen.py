"""The samples, newest first, with what is next for each."""

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType

from ramphold.control import sample_methods
from ramphold_tui.bindings import bindings
from ramphold_tui.screens.choice_dialog import ChoiceDialog
from ramphold_tui.screens.dialogs import ReasonDialog, TextDialog
from ramphold_tui.screens.place_screen import CAUTION
from ramphold_tui.screens.sample_screen import SampleScreen
from ramphold_tui.view import keys, worksheet_parts
from ramphold_tui.view.form_fields import Field, text
from ramphold_tui.view.sample_fields import CORRECTABLE
from ramphold_tui.widgets import KeyBar, PressStrip, Rows, WordLine
from ramphold_tui.workspace import Workspace

__all__ = ["SamplesScreen"]


class SamplesScreen(SampleScreen):
    """The list from which a sample is opened, and to which one is added."""

    HERE = keys.SAMPLES
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(keys.SAMPLES)]

    def __init__(self, workspace: Workspace) -> None:
        super().__init__(workspace)
        self._sheets: dict[int, sample_methods.SampleSheet] = {}
        self._place = 0

    def compose(self) -> ComposeResult:
        """The press in one line, the samples."""
        yield PressStrip()
        yield WordLine(worksheet_parts.SAMPLES_HEADER, classes="header")
        yield Rows(id="samples", classes="told")
        yield WordLine(CAUTION, id="said")
        yield KeyBar(keys.SAMPLES)

    async def fetch(self) -> None:
        """Ask for the samples, which are shown at once, and for what is next for each."""
        await super().fetch()
        self.show_lines()
        self._sheets = await self.workspace.read_sheets()

    def draw_records(self) -> None:
        """The samples as rows."""
        rows = self.query_one(Rows)
        self._place = max(0, min(self._place, len(self.workspace.samples) - 1))
        rows.rows = tuple(
            worksheet_parts.sample_row(line, self._sheets.get(line.sample.sample or 0))
            for line in self.workspace.samples
        ) or ("no sample yet: F7 receives one",)
        rows.chosen = self._place

    # --- keys ----------------------------------------------------------------------------------

    def action_choose(self, key: str) -> None:
        """Choose the sample above or below."""
        self._place += 1 if key == "down" else -1
        self.show_lines()

    @on(Rows.Touched)
    def choose_row(self, event: Rows.Touched) -> None:
        """Choose the sample that was touched; touched again it is opened."""
        if event.row == self._place:
            self.action_open()
        self._place = event.row
        self.show_lines()

    @work(exclusive=True, group="asking")
    async def action_open(self) -> None:
        """Open the worksheet of the chosen sample."""
        for line in self.workspace.samples[self._place : self._place + 1]:
            await self.open_sample(line.sample.sample or 0)
            self.app.switch_screen("worksheet")

    @work(exclusive=True, group="asking")
    async def action_new(self) -> None:
        """Receive a sample."""
        before = self.workspace.sample
        await self.add_sample()
        if self.workspace.sample != before:
            self._place = 0
            self.app.switch_screen("worksheet")

    @work(exclusive=True, group="asking")
    async def action_correct(self) -> None:
        """Put right what was said of the chosen sample, with a reason."""
        for line in self.workspace.samples[self._place : self._place + 1]:
            await self._correct(line)

    async def _correct(self, line: sample_methods.SampleLine) -> None:
        if (operator := await self.workspace.operator()) is None:
            return
        one, names = line.sample, list(CORRECTABLE)
        values = {name: getattr(one, name) for name in names} | {"tests": ", ".join(one.tests)}
        title = f"{one.laboratory_number}: what was wrong?"
        options = [f"{CORRECTABLE[name]}: {values[name]}" for name in names]
        chosen = await self.app.push_screen_wait(ChoiceDialog(title, options))
        if chosen is None:
            self.say("nothing was corrected")
            return
        name = names[chosen]
        field = Field(name="value", label=CORRECTABLE[name], filled=str(values[name]),
                      check=text("value", least=0, most=1000))  # fmt: skip
        value = await self.app.push_screen_wait(TextDialog(f"{title} What is right?", field))
        reason = None
        if value is not None:
            about = f"{CORRECTABLE[name]} is {value}, not {values[name]}: why?"
            reason = await self.app.push_screen_wait(ReasonDialog(about))
        if value is None or reason is None:
            self.say("nothing was corrected")
            return
        wanted = sample_methods.CorrectSampleParams(
            sample=one.sample or 0, field=name, value=value, reason=reason, operator=operator
        )
        if await self.do(sample_methods.CORRECT_SAMPLE, wanted, "not corrected"):
            self.say(f"corrected: {CORRECTABLE[name]} is {value}")
