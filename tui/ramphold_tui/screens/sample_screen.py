"""What samples, worksheet and balance have in common: the sample that is worked on."""

from ramphold.control import sample_methods
from ramphold.errors import RampholdError
from ramphold_tui.screens.record_screen import RecordScreen
from ramphold_tui.screens.sample_dialogs import SampleDialog
from ramphold_tui.view.elements import Tone

__all__ = ["SampleScreen"]


class SampleScreen(RecordScreen):
    """A place that shows what was read of the samples."""

    async def fetch(self) -> None:
        """Ask for the samples and the chosen one."""
        await self.workspace.read()

    async def add_sample(self) -> None:
        """Ask for a sample that came in, and open it."""
        if (operator := await self.workspace.operator()) is None:
            return
        dialog = SampleDialog(operator, self.workspace.numbers, self.workspace.draft)
        if (wanted := await self.app.push_screen_wait(dialog)) is None:
            self.say("not received yet: what was typed is kept, F7 goes on with it")
            return
        received = await self.do(sample_methods.ADD_SAMPLE, wanted, "not received")
        if received is not None and received.sample is not None:
            self.workspace.draft.clear()
            await self.open_sample(received.sample)
            self.say(f"received: {received.laboratory_number}")

    async def open_sample(self, number: int) -> None:
        """Work on a sample."""
        try:
            await self.workspace.choose_sample(number)
        except RampholdError as error:
            self.say(f"not opened: {error}", Tone.CAUTION)
            return
        self.show_lines()
