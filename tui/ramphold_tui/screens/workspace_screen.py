"""What the list of samples, worksheet and balance have in common: they work on one sample."""

from ramphold.control import sample_methods
from ramphold.errors import RampholdError
from ramphold_tui.screens.record_screen import RecordScreen
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.sample_form import sample_form


class WorkspaceScreen(RecordScreen):
    """A place that shows the workspace: the samples, and the one that is worked on."""

    async def fetch(self) -> None:
        """Read the samples and the chosen one."""
        await self.workspace.read()

    async def add_sample(self) -> None:
        """Ask for a sample that came in, and open it."""
        work = self.workspace
        if (operator := await work.operator()) is None:
            return
        form = sample_form(operator, work.numbers).filled(work.draft)
        if (wanted := await self.fill_in(form, work.draft)) is None:
            self.say("not received yet: what was typed is kept, F7 goes on with it")
            return
        received = await self.do(sample_methods.ADD_SAMPLE, wanted, "not received")
        if received is not None and received.sample is not None:
            work.draft.clear()
            await self.open_sample(received.sample)
            self.say(f"received: {received.laboratory_number}")

    async def open_sample(self, number: int) -> None:
        """Work on a sample."""
        try:
            await self.workspace.choose_sample(number)
        except RampholdError as error:
            self.say(f"not opened: {error}", Tone.CAUTION)
            return
        self.show_records()
