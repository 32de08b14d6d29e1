"""The samples, newest first, with the next step of each."""

from textual import work
from textual.app import ComposeResult

from ramphold.control import sample_methods
from ramphold.control.sample_methods import SampleLine
from ramphold_tui.screens.workspace_screen import WorkspaceScreen
from ramphold_tui.view import keys, worksheet_parts
from ramphold_tui.view.forms import correction_form, reason_form
from ramphold_tui.view.sample_form import CORRECTABLE
from ramphold_tui.widgets import Rows, WordLine
from ramphold_tui.workspace import Workspace


class SamplesScreen(WorkspaceScreen, here=keys.SAMPLES):
    """The list of samples, where one is opened, received or corrected."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__(workspace)
        self._sheets: dict[int, sample_methods.SampleSheet] = {}

    def content(self) -> ComposeResult:
        """The samples."""
        yield WordLine(worksheet_parts.SAMPLES_HEADER, classes="header")
        yield Rows(id="samples", classes="told")

    async def fetch(self) -> None:
        """Read the samples, show them at once, and then read the next step of each."""
        await super().fetch()
        self.show_records()
        self._sheets = await self.workspace.read_sheets()

    def draw_records(self) -> None:
        """Show the samples as rows."""
        rows = self.query_one(Rows)
        rows.rows = tuple(
            worksheet_parts.sample_row(line, self._sheets.get(line.sample.sample or 0))
            for line in self.workspace.samples
        ) or ("no sample yet: F7 receives one",)
        rows.choose(rows.place)

    # --- keys ----------------------------------------------------------------------------------

    def touched_again(self) -> None:
        """Open the touched sample."""
        self.action_open()

    @work(exclusive=True, group="asking")
    async def action_open(self) -> None:
        """Open the worksheet of the chosen sample."""
        if line := self._chosen():
            await self.open_sample(line.sample.sample or 0)
            self.app.switch_screen("worksheet")

    @work(exclusive=True, group="asking")
    async def action_new(self) -> None:
        """Receive a sample."""
        before = self.workspace.sample
        await self.add_sample()
        if self.workspace.sample != before:
            self.choose(0)
            self.app.switch_screen("worksheet")

    @work(exclusive=True, group="asking")
    async def action_correct(self) -> None:
        """Correct what is recorded of the chosen sample, with a reason."""
        if line := self._chosen():
            await self._correct(line)

    def _chosen(self) -> SampleLine | None:
        place = self.query_one(Rows).place
        return next(iter(self.workspace.samples[place:]), None)

    async def _correct(self, line: SampleLine) -> None:
        if (operator := await self.workspace.operator()) is None:
            return
        one, names = line.sample, list(CORRECTABLE)
        values = {name: getattr(one, name) for name in names} | {"tests": ", ".join(one.tests)}
        title = f"{one.laboratory_number}: what was wrong?"
        options = [f"{CORRECTABLE[name]}: {values[name]}" for name in names]
        chosen = await self.pick(title, options)
        if chosen is None:
            self.say("nothing was corrected")
            return
        name = names[chosen]
        form = correction_form(f"{title} What is right?", CORRECTABLE[name], str(values[name]))
        value = await self.fill_in(form)
        reason = None
        if value is not None:
            about = f"{CORRECTABLE[name]} is {value}, not {values[name]}: why?"
            reason = await self.fill_in(reason_form(about))
        if value is None or reason is None:
            self.say("nothing was corrected")
            return
        wanted = sample_methods.CorrectSampleParams(
            sample=one.sample or 0, field=name, value=value, reason=reason, operator=operator
        )
        if await self.do(sample_methods.CORRECT_SAMPLE, wanted, "not corrected"):
            self.say(f"corrected: {CORRECTABLE[name]} is {value}")
